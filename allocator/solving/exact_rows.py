"""
The order of ways in one row where pins or hot neighbours say so: a small exact model of that row.

Comes from ``row_order.py``; goes back as (way, need, piece), or as None where no order keeps all rules.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.frame import RowSlot
from allocator.solving.engine import Clock, solve
from allocator.solving.placement import Placement

ORDERING_EFFORT = 20.0
ORDERING_S = 120.0


def pinned_ways(placement: Placement, slot: RowSlot) -> Mapping[str, int]:
    """Return the way of every need of this row whose pin names one."""
    pins = placement.frame.pins
    needs = [need for feed in placement.frame.sized.feeds for need in placement.needs_at.get((slot, feed), ())]
    return {need: first for need in needs if need in pins and (first := pins[need].first) is not None}


def order_exactly(placement: Placement, slot: RowSlot) -> list[tuple[int, str, int]] | None:
    """
    Return (way, need, number of its piece) of a row, ways ascending, as near to the user's order as the rules allow.

    None where no order keeps the pins, the limit of every piece and hot ways apart.

    Raises
    ------
    RuntimeError
        If the row could be neither ordered nor refused within its effort.
    """
    pinned = pinned_ways(placement, slot)
    frame = placement.frame
    feeds = [feed for feed in frame.sized.feeds if placement.needs_at.get((slot, feed))]
    ways = range(1, frame.ways(slot) + 1)
    model = cp_model.CpModel()
    at: dict[tuple[str, int], IntVar] = {}
    for feed in feeds:
        for need in placement.needs_at[slot, feed]:
            for way in ways:
                at[need, way] = model.new_bool_var(f"{need} {way}")
            model.add_exactly_one(at[need, way] for way in ways)
            if need in pinned:
                model.add(at[need, pinned[need]] == 1)
    for way in ways:
        model.add_at_most_one(variable for (_, w), variable in at.items() if w == way)
    begins = {feed: _pieces(model, placement, slot, feed, at) for feed in feeds}
    _hot_apart(model, placement, ways, at)
    rank = {need.id: number for number, need in enumerate(frame.sized.needs)}
    model.minimize(LinearExpr.sum([way * (len(rank) - rank[need]) * variable for (need, way), variable in at.items()]))
    solved = solve(model, Clock(time.monotonic() + ORDERING_S, workers=1), effort=ORDERING_EFFORT)
    if solved.status == "unknown":
        raise RuntimeError(f"row {slot} could be neither ordered nor refused")
    if not solved.has_solution:
        return None
    placed: list[tuple[int, str, int]] = []
    piece = -1
    for way in ways:
        for (need, w), variable in at.items():
            if w == way and solved.value(variable):
                piece += solved.value(begins[placement.feed_of[need]][way])
                placed.append((way, need, piece))
    return placed


def _pieces(
    model: cp_model.CpModel, placement: Placement, slot: RowSlot, feed: str, at: Mapping[tuple[str, int], IntVar]
) -> Mapping[int, IntVar]:
    """Cut the ways of a feed into its pieces, each within its limit; return at which ways a piece begins."""
    frame, needs = placement.frame, placement.needs_at[slot, feed]
    ways = range(1, frame.ways(slot) + 1)
    on = {way: LinearExpr.sum([at[need, way] for need in needs]) for way in ways}
    begins = {way: model.new_bool_var(f"begins {feed} {way}") for way in ways}
    for way in ways:
        model.add(begins[way] <= on[way])
        model.add(begins[way] >= on[way] - (on[way - 1] if way > 1 else 0))
    if frame.bus(slot) == "strip":
        model.add(sum(begins.values()) == placement.entries[slot.instance, slot.group, feed])
        limit = frame.sized.entries[slot.instance.panel, slot.instance.module, slot.group, feed].limit_ma
        for number in range(len(frame.cases)):
            loads = {need: placement.load_ma(need)[number] for need in needs}
            before: IntVar | int = 0
            for way in ways:
                total = model.new_int_var(0, limit, f"total {feed} {way} {number}")
                here = LinearExpr.sum([loads[need] * at[need, way] for need in needs])
                model.add(total >= here)
                model.add(total >= here + before).only_enforce_if(~begins[way])
                before = total
    return begins


def _hot_apart(
    model: cp_model.CpModel, placement: Placement, ways: Sequence[int], at: Mapping[tuple[str, int], IntVar]
) -> None:
    """Rule hot-apart."""
    needs = dict.fromkeys(need for need, _ in at)
    for case in range(len(placement.frame.cases)):
        hot = [need for need in needs if case in placement.hot_cases(need)]
        if len(hot) > 1:
            for way in list(ways)[1:]:
                model.add_at_most_one(at[need, spot] for need in hot for spot in (way - 1, way))
