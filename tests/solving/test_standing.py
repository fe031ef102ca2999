"""What is said of a goal that was left open: a later relaxation within its value proves nothing about it."""

from __future__ import annotations

import time

from allocator.plan.measures import measure
from allocator.solving.allocate import plan_of
from allocator.solving.engine import Clock
from allocator.solving.levels import Level
from allocator.solving.search import Search
from tests.builders import M, build_sized
from tests.model.rule_cases import panel


def test_a_goal_left_open_stays_open_when_the_relaxation_runs_again() -> None:
    """Two bays, of which only one was proven to be needed."""
    sized = build_sized(**panel(3, modules={"block": M(("2F",))}, goals=("bays", "strip-pieces")))
    search = Search(
        sized, Clock(time.monotonic() + 60), lambda placement: measure(sized, plan_of(sized, placement, (), False))
    )
    found, _ = search.run()
    assert found.values["bays"] == 2
    search.levels = [Level("bays", found.values["bays"], found.values["bays"] - 1, "not closed")]
    search.bounds.relax([("bays", found.values["bays"])])
    _, (bays, pieces) = search.standing()
    assert (bays.value, bays.bound, bays.closed_by) == (2, 1, "not closed")
    assert (pieces.value, pieces.bound, pieces.proven) == (2, 2, True)
