"""The way taken for hundreds of needs, here on small panels: counts by the other solver, and their rows kept."""

from __future__ import annotations

import time
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import pytest

from allocator.solving import bounds, search_plan
from allocator.solving.bounds import Bounds
from allocator.solving.engine import Clock, solve
from allocator.solving.hints import said_by_tallies
from allocator.solving.linear import LinearModel, LinearSolved
from allocator.solving.models import Targets
from allocator.solving.starting import started
from tests.benchmarks.vehicles import vehicle
from tests.builders import MINI_PANELS, A, F, M, build_sized, mini_panel

BUILDABLE = [panel for panel in MINI_PANELS if panel["expected"] != "infeasible"]


@pytest.mark.parametrize("panel", BUILDABLE[:6], ids=lambda panel: str(panel["id"]))
def test_the_other_solver_leads_to_the_same_goals(panel: Mapping[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    sized = mini_panel(panel)
    wanted = [(goal.goal, goal.value, goal.outcome) for goal in search_plan(sized).plan.goals]
    monkeypatch.setattr(bounds, "MANY", 0)
    monkeypatch.setattr(bounds, "started", lambda *_: None)
    monkeypatch.setattr(bounds, "ANY_EFFORT", 0.0)  # the first solver finds nothing at all
    asked: list[bool] = []
    minimise = LinearModel.minimise

    def noted(*words: Any, **more: Any) -> Any:
        solved = minimise(*words, **more)
        asked.append(solved.has_solution)
        return solved

    monkeypatch.setattr(LinearModel, "minimise", noted)
    assert [(goal.goal, goal.value, goal.outcome) for goal in search_plan(sized).plan.goals] == wanted
    assert any(asked)


@pytest.mark.parametrize("panel", BUILDABLE[:6], ids=lambda panel: str(panel["id"]))
def test_that_the_other_solver_finds_nothing_proves_nothing(
    panel: Mapping[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It counts in floating point: were it wrong once, no value would be called proven that is not."""
    sized = mini_panel(panel)
    wanted = [(goal.goal, goal.value) for goal in search_plan(sized).plan.goals]
    monkeypatch.setattr(bounds, "MANY", 0)
    monkeypatch.setattr(bounds, "started", lambda *_: None)
    monkeypatch.setattr(bounds, "ANY_EFFORT", 0.0)
    nothing = LinearSolved("infeasible", float("inf"), ())
    monkeypatch.setattr(LinearModel, "minimise", lambda *_, **__: nothing)
    assert [(goal.goal, goal.value) for goal in search_plan(sized).plan.goals] == wanted


@pytest.mark.parametrize("panel", BUILDABLE[:6], ids=lambda panel: str(panel["id"]))
def test_a_start_with_the_modules_of_a_covering_leads_to_the_same_goals(
    panel: Mapping[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    sized = mini_panel(panel)
    wanted = [(goal.goal, goal.value, goal.outcome) for goal in search_plan(sized).plan.goals]
    starts: list[bool] = []

    def noted(*words: Any) -> Any:
        starts.append((solved := started(*words)) is not None)
        return solved

    monkeypatch.setattr(bounds, "SMALL", 0)
    monkeypatch.setattr(bounds, "started", noted)
    assert [(goal.goal, goal.value, goal.outcome) for goal in search_plan(sized).plan.goals] == wanted
    assert any(starts)


@pytest.mark.parametrize("finds", ["branch and cut", "only the other solver"])
def test_a_start_keeps_every_rule_of_the_counts(finds: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its values, each fixed in the model without the covering's modules, are a solution of it within the targets."""
    if finds == "only the other solver":
        nothing = LinearSolved("unknown", 0.0, ())
        monkeypatch.setattr(LinearModel, "minimise", lambda *_, **__: nothing)
    clock = Clock(time.monotonic() + 600)
    search = Bounds(vehicle(70, 0), clock, [])
    bays = search._covered([], "bays")
    assert bays is not None
    targets: Targets = [("bays", Fraction(bays))]
    start = started(search.models, targets, clock)
    assert start is not None
    built = search.models.tallies(targets)
    for index, value in enumerate(start.all_values):
        built.x.model.add(built.x.model.get_int_var_from_proto_index(index) == value)
    assert solve(built.x.model, clock, effort=10).status == "optimal"


@pytest.mark.parametrize("pieces", [1, 2, 3])
def test_further_pieces_are_spread_over_the_rows_of_their_feed(pieces: int) -> None:
    """A row of one feed that is tallied with so many pieces has as many entries."""
    sized = build_sized(
        circuits={f"lamp-{number}": A(2) for number in range(6)},
        feeds={"battery": F(60)},
        modules={"row": M(("6F strip",))},
    )
    clock = Clock(time.monotonic() + 60)
    built = Bounds(sized, clock, []).models.tallies([("bays", Fraction(1))])
    built.x.model.add(built.terms["strip-pieces"].expression == pieces)
    solved = LinearModel(built.x.model, {}).minimise({}, {}, {}, clock, nodes=1000, gap=0.0)
    said = said_by_tallies(built.x, solved)
    assert sum(value for (name, _), value in said.items() if name == "entries") == pieces
    assert sum(value for (name, _), value in said.items() if name == "enters") == 1
