"""
Whether each member of a clash is needed: a plan of all others is looked for, near the plans of members before it.

A set of demands that clashes comes in; the same goes out without what it clashes without as well. The answers stay in
the inquiry.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from allocator.explaining.asking import OPEN, Answer
from allocator.explaining.demands import Demand, Kind, circuit_of, demand_of
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.sketch import Case
from allocator.explaining.swapping import swapped, with_relay_of, with_way_of
from allocator.plan.plan import Plan

TRADES: Mapping[Kind, Callable[[Plan, Case, str, str], Plan | None]] = {"circuit": swapped, "relay": with_relay_of}
"""How a circuit whose demand is kept again trades with one whose demand is dropped; all others trade their ways."""


def settled_in_part(inquiry: Inquiry, names: Names, share: float) -> Names:
    """Settle members in a share of the time: rules first, then circuits, whose plans come from each other, then all."""
    demands = inquiry.demands
    switches = {demand_of(circuit.control) for circuit in inquiry.requirements.circuits if circuit.control}
    with inquiry.clock.part(share):
        names = settled(inquiry, names, lambda name: demands[name].circuit is None and demands[name].kind != "circuit")
        names = settled(inquiry, names, lambda name: demands[name].kind == "circuit" and name not in switches)
        return settled(inquiry, names)


def settled(inquiry: Inquiry, names: Names, asked: Callable[[str], bool] = lambda name: True) -> Names:
    """Look for a plan without each member of a clash; a member without which there is none either is dropped."""
    waiting = [name for name in inquiry.one_by_one(names) if asked(name)]
    while waiting and inquiry.clock.left_s > 0:
        if answer_without(inquiry, names, waiting[0]).is_no:
            names = inquiry.holding(names - {waiting[0]})
            waiting = [name for name in waiting[1:] if name in names]
        else:
            waiting = waiting[1:]
    return names


def answer_without(inquiry: Inquiry, names: Names, name: str) -> Answer:
    """Ask whether a set holds without one of its members; the answer may come from a plan without another one."""
    rest = inquiry.holding(names - {name})
    if inquiry.clock.left_s <= 0:
        return inquiry.answers.get(rest, OPEN)
    if rest not in inquiry.answers:
        found = _traded(inquiry, names, inquiry.demands[name])
        if found is not None:
            inquiry.answers[rest] = Answer(found)
    return inquiry.answer(rest)


def _traded(inquiry: Inquiry, names: Names, demand: Demand) -> Plan | None:
    """Make a plan without a demand of one circuit from those without the same demand of other circuits."""
    trade = TRADES.get(demand.kind, with_way_of)
    mine = circuit_of(demand)
    case = inquiry.case(inquiry.holding(names - {demand.name})) if mine else None
    if case is None:
        return None
    alike = [other for other in sorted(names - {demand.name}) if inquiry.demands[other].kind == demand.kind]
    for other in alike:
        plan = inquiry.answers.get(inquiry.holding(names - {other}), OPEN).plan
        found = None if plan is None else trade(plan, case, circuit_of(inquiry.demands[other]), mine)
        if found is not None:
            return found
    return None
