"""What is counted as proven in the benchmarks is what the plan calls best possible, however a level ended."""

from __future__ import annotations

from fractions import Fraction
from typing import get_args

import pytest

from allocator.plan.plan import GoalResult
from allocator.solving.levels import ClosedBy
from tests.benchmarks.timed import Reached


@pytest.mark.parametrize("closed_by", get_args(ClosedBy))
def test_only_the_best_possible_is_proven(closed_by: ClosedBy) -> None:
    """A level that time or effort cut has its gap, and none that was closed has one."""
    closed = closed_by not in ("not closed", "cut by time")
    goal = GoalResult(
        goal="bays",
        value=Fraction(10),
        bound=Fraction(10 if closed else 8),
        outcome="best possible" if closed else "best so far",
        closed_by=closed_by,
    )
    reached = Reached.of(goal, 1.0)
    assert reached.proven is closed
    assert reached.gap == (0 if closed else 0.2)
