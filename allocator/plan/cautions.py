"""
The cautions of one plan: what sizing warns of in what the plan has chosen, and what only the finished plan shows.

Comes from ``Sized`` and a plan; plain sentences go out, to plan.json and from there to every output.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.plan.index import PlanIndex
from allocator.plan.plan import Plan
from allocator.sizing.cautions import cautions_of_choice
from allocator.sizing.sized import Caution, Sized


def cautions_about(sized: Sized, plan: Plan) -> tuple[str, ...]:
    """Return all cautions of a plan as sentences, those of sizing first."""
    return (*(caution.text for caution in sized_cautions(PlanIndex(sized, plan))), *_idle_branches(sized, plan))


def sized_cautions(index: PlanIndex) -> tuple[Caution, ...]:
    """Return what sizing warns of in the fuses, wires, relays, feeds and modules of a plan."""
    chosen = {item.need.id: (item.option, item.feed) for item in index.needs}
    return cautions_of_choice(index.sized, chosen, {(item.panel, item.module.id) for item in index.modules})


def _idle_branches(sized: Sized, plan: Plan) -> Iterator[str]:
    """Say which branches have a fuse or relay in this plan and nothing to supply."""
    fed = {piece.feed for piece in plan.pieces}
    for name, feed in sized.feeds.items():
        if feed.source is not None and name not in fed:
            yield f"feed {name} supplies nothing in this plan; without it, its own fuse and relay would not be needed"
