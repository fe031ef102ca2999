"""
A clash in words and as data: what the command line prints when there is no plan.

A ``Clash`` comes in; the lines of a message and plain data go out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from allocator.errors import Fault
from allocator.explaining.clash import Clash
from allocator.explaining.demands import Demand
from allocator.explaining.remedies import Remedy

MOST_NAMED = 12
INDENT = "\n         "
"""Lines one below the other, behind the word at the head of the block."""


def clash_fault(clash: Clash) -> Fault:
    """Return a clash as the block of lines that says why no plan can be made."""
    demands = [member.demand for member in clash.members]
    number = len(demands)
    what = "this requirement cannot be met" if number == 1 else f"these {number} requirements cannot be met together"
    return Fault(
        "cannot-be-met",
        f"no plan can be made: {what}",
        known=INDENT.join([*_members(demands), *_proof(clash), *_further(clash)]),
        hint=INDENT.join(map(remedy_text, clash.remedies)),
    )


def _members(demands: Sequence[Demand]) -> Iterator[str]:
    """Yield a line for each demand; circuits of which only their way counts stand in one."""
    named = {demand.circuit for demand in demands if demand.circuit}
    plain = [demand for demand in demands if demand.kind == "circuit"]
    for demand in demands:
        if demand.kind != "circuit":
            yield f"{demand.words} ({demand.where})"
    alone = [demand for demand in plain if demand.name.removeprefix("circuit ") not in named]
    if len(alone) <= 2:
        yield from (f"{demand.words} ({demand.where})" for demand in alone)
    else:
        yield f"{len(alone)} circuits have a way each: {_listed(alone)} ({_rows(alone)})"
    if len(alone) < len(plain):
        also = [demand.name.removeprefix("circuit ") for demand in plain if demand not in alone]
        yield f"and {', '.join(also)} {'has' if len(also) == 1 else 'have'} a way at all"


def _listed(demands: Sequence[Demand]) -> str:
    names = [demand.name.removeprefix("circuit ") for demand in demands]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _rows(demands: Sequence[Demand]) -> str:
    """Return the places of circuits of one file as its name and their rows."""
    places = [demand.where.rpartition(", row ") for demand in demands]
    if all(row.isdigit() for _, _, row in places) and len({file for file, _, _ in places}) == 1:
        return f"{places[0][0]}, rows {', '.join(row for _, _, row in places)}"
    return f"first: {demands[0].where}"


def _proof(clash: Clash) -> Iterator[str]:
    number = len(clash.members)
    if clash.is_irreducible:
        without = "without it" if number == 1 else "each is needed: without any one of them"
        yield f"{without} there is a plan, found and checked"
    else:
        open_ones = [member.demand.words for member in clash.members if not member.is_shown]
        yield f"not shown to be needed in the time: {'; '.join(open_ones)}"
    if clash.is_smallest:
        yield "no smaller set cannot be met: proven"
    else:
        yield "whether a smaller set cannot be met either was not settled" + (" in the time" if clash.was_cut else "")
    again = "; the whole model of these alone, built anew, has no solution either" if clash.proved_again else ""
    yield f"proof: {clash.refuted_by}{again}"


def _further(clash: Clash) -> Iterator[str]:
    for demands in clash.further:
        rules = [demand.words for demand in demands if demand.kind != "circuit"]
        circuits = [demand for demand in demands if demand.kind == "circuit"]
        yield "also in the way: " + "; ".join([*rules, *([_listed(circuits)] if circuits else [])])


def remedy_text(remedy: Remedy) -> str:
    """Return one way out in a line, with what the plan then has."""
    words = " and ".join(words for _, words in remedy.eased)
    has_steps = any(
        demand.kind == "cap" or any(len(ladder) > 1 for ladder in demand.ladders) for demand, _ in remedy.eased
    )
    least = ", the least that does" if remedy.is_least and has_steps else ""
    least += "" if remedy.is_on_offer else " (by no part on offer)"
    return f"{words}{least}: a plan with {values_text(remedy)}"


def values_text(remedy: Remedy) -> str:
    """Return the counts of the plan of a remedy."""
    plan = remedy.plan
    bays = {carrier.id: carrier.bays for carrier in plan.requirements.catalogue.carriers}
    number = sum(bays[item.carrier] for item in plan.carriers)
    pieces = len(plan.pieces)
    return f"{number} bay{'' if number == 1 else 's'} and {pieces} strip piece{'' if pieces == 1 else 's'}"


def clash_data(clash: Clash) -> dict[str, Any]:
    """Return a clash as plain data."""
    return {
        "members": [{**_demand_data(member.demand), "shown_to_be_needed": member.is_shown} for member in clash.members],
        "refuted_by": clash.refuted_by,
        "proved_again": clash.proved_again,
        "proven_smallest": clash.is_smallest,
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
