"""The tally model is a relaxation: given the best values of the goals before, no goal is better in any plan."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, reject, settings
from ortools.sat.python import cp_model

from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS
from allocator.model.tallies import build_tallies
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from allocator.solving.engine import INCLUSION_WORK
from tests.builders import A, F, M, P, build_sized
from tests.oracles.brute_force import best_values
from tests.strategies import Arguments, tiny_panels


def tallied(sized: Sized, goal: Goal, before: dict[Goal, Fraction]) -> Fraction:
    """Return the least value of a goal in the tally model, within the values of the goals before."""
    x = build_tallies(Frame(sized))
    for other, value in before.items():
        term = GOAL_TERMS[other](x, None)
        x.model.add(term.expression <= term.whole(value))
    term = GOAL_TERMS[goal](x, None)
    x.model.minimize(term.expression)
    solver = cp_model.CpSolver()
    solver.parameters.presolve_inclusion_work_limit = INCLUSION_WORK
    solver.parameters.num_workers = 1
    assert solver.solve(x.model) == cp_model.OPTIMAL
    return term.value(round(solver.objective_value))


@settings(deadline=None, derandomize=True, database=None, max_examples=60)
@given(tiny_panels())
def test_no_plan_is_better_than_the_tallies(arguments: Arguments) -> None:
    """Against the best plan by brute force, goal after goal."""
    sized = build_sized(**arguments)
    best = best_values(sized)
    if best is None:
        reject()
    before: dict[Goal, Fraction] = {}
    for goal in sized.requirements.scenario.rules.goals:
        assert tallied(sized, goal, before) <= best[goal]
        before[goal] = best[goal]


@pytest.mark.parametrize(
    ("ways_by_feed", "pieces"),
    [
        pytest.param({"battery": 4, "ignition": 4, "accessory": 4}, 3, id="a row each"),
        pytest.param({"battery": 6, "ignition": 2, "accessory": 4}, 4, id="one row shared"),
        pytest.param({"battery": 5, "ignition": 5, "accessory": 2}, 5, id="three feeds in one row"),
        pytest.param({"battery": 3, "ignition": 6, "accessory": 3}, 5, id="a feed in two rows, each shared"),
    ],
)
def test_shared_rows_are_counted(ways_by_feed: dict[str, int], pieces: int) -> None:
    """Three full rows of four: feeds plus rows, less the groups that fill rows of their own (worked by hand)."""
    circuits = {f"{feed}-{n}": A(2, feeds=(feed,)) for feed, ways in ways_by_feed.items() for n in range(ways)}
    feeds = {feed: F(100) for feed in ways_by_feed}
    sized = build_sized(circuits=circuits, feeds=feeds, modules={"block": M(("4F",))}, panels={"panel": P(3)})
    assert tallied(sized, "strip-pieces", {}) == pieces


@pytest.mark.parametrize(("level", "pieces"), [(None, 1), ("row", 2), ("module", 2)])
def test_circuits_that_must_not_share_a_row_enter_as_many_rows(level: str | None, pieces: int) -> None:
    """Two circuits on one feed that one row could hold want two rows, which is two entries."""
    sized = build_sized(
        circuits={"fan": A(2), "pump": A(2), "lamp": A(2)},
        feeds={"battery": F(30)},
        modules={"block": M(("4F", "4F"))},
        panels={"panel": P(2)},
        apart=[] if level is None else [(("fan", "pump"), level)],
    )
    assert tallied(sized, "strip-pieces", {}) == pieces


def test_rows_apart_are_no_more_than_a_plan_needs() -> None:
    """Two feeds that share two rows, each with a circuit of the first in either: the tallies allow that plan."""
    feeds = {"battery": F(30), "ignition": F(30)}
    circuits = {f"{feed}-{n}": A(2, feeds=(feed,)) for feed in feeds for n in range(4)}
    sized = build_sized(
        circuits=circuits,
        feeds=feeds,
        modules={"block": M(("4F",))},
        panels={"panel": P(2)},
        apart=[(("battery-0", "battery-1"), "row")],
        goals=("bays", "strip-pieces"),
    )
    best = best_values(sized)
    assert best is not None and best["strip-pieces"] == 4
    assert tallied(sized, "strip-pieces", {"bays": best["bays"]}) <= 4
