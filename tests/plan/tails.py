"""Every strip piece of a plan with the in-line fuse that the sizing table puts into its tail."""

from __future__ import annotations

from allocator.plan.index import PlanIndex
from allocator.plan.plan import Plan
from allocator.sizing.sized import Sized


def with_tail_fuses(sized: Sized, plan: Plan) -> Plan:
    """Return the plan with the tail fuses that its places ask for."""
    index = PlanIndex(sized, plan)
    by_place = {entry.piece.at: index.tail_of(entry).fuse for entry in index.entries}
    pieces = tuple(piece.model_copy(update={"tail_fuse": by_place[piece.at]}) for piece in plan.pieces)
    return plan.model_copy(update={"pieces": pieces})
