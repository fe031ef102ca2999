"""
The cautions of one plan: what sizing raised about the vehicle, and what only the finished plan shows.

Comes from ``Sized`` and a plan; plain sentences go out, to plan.json and from there to every output.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.plan.plan import Plan
from allocator.sizing.sized import Sized


def cautions_about(sized: Sized, plan: Plan) -> tuple[str, ...]:
    """Return all cautions of a plan, those of sizing first."""
    return (*(caution.text for caution in sized.cautions), *_idle_branches(sized, plan))


def _idle_branches(sized: Sized, plan: Plan) -> Iterator[str]:
    """Say which branches have a fuse or relay in this plan and nothing to supply."""
    fed = {piece.feed for piece in plan.pieces}
    for name, feed in sized.feeds.items():
        if feed.source is not None and name not in fed:
            yield f"feed {name} supplies nothing in this plan; without it, its own fuse and relay would not be needed"
