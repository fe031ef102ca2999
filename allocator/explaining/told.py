"""
A clash in words and as data: what the command line prints when there is no plan.

A ``Clash`` comes in; the lines of a message and plain data go out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from allocator.errors import Fault
from allocator.explaining.accounts.account import counted
from allocator.explaining.clash import Clash
from allocator.explaining.demands import Demand, circuit_of
from allocator.explaining.remedies import Remedy
from allocator.plan.measures import counts_of
from allocator.sizing.overfull import overloads
from allocator.sizing.sized import Sized

MOST_NAMED = 12
FEWEST_ALIKE = 3
MOST_FURTHER = 3
OF_MANY = {"is": "are", "has": "have", "accepts": "accept", "wants": "want"}
PLACE = re.compile(r'(?P<file>.+), row (?P<row>\d+)(?:, field "(?P<field>[^"]+)".*)?', re.DOTALL)
INDENT = "\n         "
"""Lines one below the other, behind the word at the head of the block."""


def clash_fault(clash: Clash, sized: Sized | None = None) -> Fault:
    """Return a clash as the block of lines that says why no plan can be made; with the sizing, its amperes added up."""
    demands = [member.demand for member in clash.members]
    number, lines = len(demands), list(_members(demands))
    what = "this requirement cannot be met" if number == 1 else f"these {number} requirements cannot be met together"
    if len(lines) < number:
        what += f" (told in {counted(len(lines), 'line')})"
    circuits = frozenset(name for demand in demands if (name := circuit_of(demand)))
    sums = () if sized is None else overloads(sized, circuits)
    return Fault(
        "cannot-be-met",
        f"no plan can be made: {what}",
        known=INDENT.join([*lines, *(f"the sum: {fault.known}" for fault in sums), *_proof(clash), *_further(clash)]),
        hint=INDENT.join(map(remedy_text, clash.remedies)),
    )


def _members(demands: Sequence[Demand]) -> Iterator[str]:
    """Yield a line for each demand, rules first; circuits of which the same is said stand in one."""
    named = {demand.circuit for demand in demands if demand.circuit}
    also = [demand for demand in demands if demand.kind == "circuit" and circuit_of(demand) in named]
    for alike in _groups([demand for demand in demands if demand not in also]):
        yield f"{_words(alike)} ({_place(alike)})"
    if also:
        yield f"and {_listed(also)} {'has' if len(also) == 1 else 'have'} a way at all"


def _groups(demands: Sequence[Demand]) -> list[list[Demand]]:
    """Return demands in groups of which one line tells: rules one by one, then circuits, alike ones together."""
    alike: dict[str, list[Demand]] = {}
    for demand in sorted(demands, key=lambda demand: (circuit_of(demand) != "", demand.kind == "circuit")):
        alike.setdefault(_said(demand) if circuit_of(demand) else demand.name, []).append(demand)
    single = [[demand] for group in alike.values() if len(group) < FEWEST_ALIKE for demand in group]
    return sorted([*single, *(group for group in alike.values() if len(group) >= FEWEST_ALIKE)], key=_is_of_ways)


def _is_of_ways(alike: Sequence[Demand]) -> bool:
    return alike[0].kind == "circuit"


def _said(demand: Demand) -> str:
    """Return what is said of the circuit of a demand."""
    return demand.words.removeprefix(f'circuit "{circuit_of(demand)}" ')


def _words(alike: Sequence[Demand]) -> str:
    if len(alike) == 1:
        return alike[0].words
    verb, _, rest = _said(alike[0]).partition(" ")
    each = " each" if _is_of_ways(alike) else ""
    return f"{len(alike)} circuits {OF_MANY.get(verb, verb)} {rest}{each}: {_listed(alike)}"


def _listed(demands: Sequence[Demand]) -> str:
    names = [circuit_of(demand) for demand in demands]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _place(alike: Sequence[Demand]) -> str:
    """Return where demands stand; of several in one column of one file, that file, their rows and the column."""
    if len(alike) == 1:
        return alike[0].where
    places = [PLACE.fullmatch(demand.where) for demand in alike]
    found = [(place["file"], place["field"], place["row"]) for place in places if place]
    if len(found) < len(alike) or len({(file, field) for file, field, _ in found}) > 1:
        return f"first: {alike[0].where}"
    file, field, _ = found[0]
    return f"{file}, rows {', '.join(row for _, _, row in found)}" + (f', field "{field}"' if field else "")


def _proof(clash: Clash) -> Iterator[str]:
    number = len(clash.members)
    if clash.is_irreducible:
        without = "without it" if number == 1 else "each is needed: without any one of them"
        yield f"{without} there is a plan, found and checked"
    else:
        waiting = [member.demand for member in clash.members if not member.is_shown]
        if len(waiting) < number:
            yield (
                f"{number - len(waiting)} of them are shown to be needed: without any one of those there is a plan, "
                "found and checked"
            )
        yield f"not shown to be needed in the time: {'; '.join(map(_words, _groups(waiting)))}"
    in_time = " in the time" if clash.was_cut else ""
    if clash.is_smallest:
        yield "no smaller set clashes: proven"
    elif clash.fewest > 1:
        sizes = f"{clash.fewest} to {number - 1}" if clash.fewest < number - 1 else f"{clash.fewest}"
        proven = f"no set of fewer than {clash.fewest} clashes: proven"
        yield f"{proven}; whether one of {sizes} does was not settled{in_time}"
    else:
        yield f"whether a smaller set clashes was not settled{in_time}"
    yield f"proof: {clash.refuted_by}; {_proved_anew(clash)}{in_time if not clash.proved_again else ''}"


def _proved_anew(clash: Clash) -> str:
    """Say what fresh models of just these demands gave; a relaxation has every plan among its solutions."""
    if clash.proved_again:
        return "proved again in a fresh model: the whole model of these alone, built anew, has no solution either"
    if clash.proved_anew:
        return (
            "proved again in a fresh model: a relaxation of these alone, built anew, has no solution either, and would "
            "have one if there were a plan; the whole model was not settled"
        )
    return "not proved again in a fresh model"


def _further(clash: Clash) -> Iterator[str]:
    for demands in clash.further[:MOST_FURTHER]:
        rules = [demand.words for demand in demands if demand.kind != "circuit"]
        circuits = [demand for demand in demands if demand.kind == "circuit"]
        yield "also in the way: " + "; ".join([*rules, *([_listed(circuits)] if circuits else [])])
    more = len(clash.further) - MOST_FURTHER
    if more > 0:
        yield f"and {more} more set{'' if more == 1 else 's'} of requirements that clash (all with --json)"


def remedy_text(remedy: Remedy) -> str:
    """Return one way out in a line, with what the plan then has."""
    words = " and ".join(words for _, words in remedy.eased)
    has_steps = any(
        demand.kind == "cap" or any(len(ladder) > 1 for ladder in demand.ladders) for demand, _ in remedy.eased
    )
    if not remedy.is_on_offer:
        return f"{words}, for which the catalogue has no part yet: with one, a plan with {values_text(remedy)}"
    least = ", the least that does" if remedy.is_least and has_steps else ""
    return f"{words}{least}: a plan with {values_text(remedy)}"


def values_text(remedy: Remedy) -> str:
    """Return the counts of the plan of a remedy, of which no effort went into making it small."""
    counts = counts_of(remedy.plan)
    is_fewest = any(result.goal == "bays" and result.value == result.bound for result in remedy.plan.goals)
    found = "" if is_fewest else ", as first found"
    return f"{counted(counts.bays, 'bay')} and {counted(counts.strip_pieces, 'feed entry')}{found}"


def clash_data(clash: Clash) -> dict[str, Any]:
    """Return a clash as plain data."""
    return {
        "members": [{**_demand_data(member.demand), "shown_to_be_needed": member.is_shown} for member in clash.members],
        "refuted_by": clash.refuted_by,
        "proved_anew": clash.proved_anew,
        "proved_again": clash.proved_again,
        "proven_smallest": clash.is_smallest,
        "proven_at_least": clash.fewest,
        "remedies": [
            {
                "eased": [{**_demand_data(demand), "instead": words} for demand, words in remedy.eased],
                "least": remedy.is_least,
                "on_offer": remedy.is_on_offer,
                "weight": remedy.weight,
                "goals": {result.goal: str(result.value) for result in remedy.plan.goals},
            }
            for remedy in clash.remedies
        ],
        "further": [[_demand_data(demand) for demand in demands] for demands in clash.further],
        "cut_by_time": clash.was_cut,
    }


def _demand_data(demand: Demand) -> dict[str, Any]:
    return {"requirement": demand.name, "kind": demand.kind, "words": demand.words, "where": demand.where}
