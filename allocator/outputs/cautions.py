"""
How drawings, lists and summary word the cautions of a plan: the general ones, then those that sizing raised.

Comes from a plan; plain sentences go out.
"""

from __future__ import annotations

from allocator.notices import CAUTIONS
from allocator.plan.plan import Plan

__all__ = ["CAUTIONS", "cautions_line", "cautions_of"]


def cautions_of(plan: Plan) -> tuple[str, ...]:
    """Return the general cautions, then those that sizing raised about this plan."""
    return (*CAUTIONS, *plan.cautions)


def cautions_line() -> str:
    """Return the general cautions as one paragraph, for title blocks and lists."""
    return " ".join(CAUTIONS)
