"""A search that is cut: it says so, claims no more than it has proven, and its plan is still a checked one."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.plan.plan import Plan
from allocator.sizing.sized import Sized
from allocator.solving import Outcome, allocate, engine, search, search_plan
from allocator.solving.attempt import Attempt, attempt
from allocator.verifying import goal_values, verify
from tests.benchmarks.vehicles import vehicle
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import checked_plan
from tests.model.rule_cases import alike, panel


def split_loads() -> Sized:
    """Seven loads of which three fit a piece: a count of amperes believes in two pieces, the best plan has three."""
    return build_sized(**panel(circuits=alike(7, 2.6), modules={"block": M(("7F",))}, strip_limit_a=10))


def cheap_or_dear() -> Sized:
    """Two pieces seem possible only with the dear module; with three, as there must be, the cheap one does."""
    return build_sized(
        **panel(
            circuits=alike(7, 2.6),
            modules={"dear": M(("7F",), price=900), "cheap": M(("3F", "3F", "1F"), price=100), "tiny": M(price=10)},
            strip_limit_a=10,
            goals=("strip-pieces", "price"),
            carriers={"single": 1},
        )
    )


def cut_at(sized: Sized, word: str, lines: list[str] | None = None) -> Outcome:
    """Stop the search from outside at the first line of progress that starts with a word; ``lines`` collects all."""
    stop = threading.Event()

    def listen(line: str) -> None:
        if lines is not None:
            lines.append(line)
        if line.startswith(word):
            stop.set()

    return search_plan(sized, stop=stop, progress=listen)


def levels(plan: Plan) -> dict[str, tuple[float, str]]:
    """Return value and outcome of every goal; the values here are whole."""
    return {result.goal: (float(result.value), result.outcome) for result in plan.goals}


def test_a_stop_before_the_first_plan_says_so() -> None:
    with pytest.raises(NoPlanInTime) as stopped:
        cut_at(split_loads(), "relaxation")
    assert stopped.value.interrupted


def test_a_stop_at_the_first_plan_keeps_it_and_its_gap() -> None:
    sized = split_loads()
    outcome = cut_at(sized, "plan")
    assert outcome.interrupted
    assert outcome.plan.depends_on_time
    assert verify(sized, outcome.plan) == ()
    pieces = next(result for result in outcome.plan.goals if result.goal == "strip-pieces")
    assert (pieces.outcome, pieces.closed_by) == ("best so far", "cut by time")
    assert 0 < pieces.bound < pieces.value
    peak = next(result for result in outcome.plan.goals if result.goal == "peak-utilisation")
    assert 0 < peak.bound <= peak.value
    assert levels(outcome.plan)["bays"] == (1, "best possible")


def test_a_stopped_search_claims_nothing_for_the_goals_after_an_open_one() -> None:
    """The bound on the price was one for two pieces; of plans with three it says nothing."""
    sized = cheap_or_dear()
    stopped, whole = cut_at(sized, "plan").plan, checked_plan(sized)
    assert levels(stopped)["price"][1] == "best so far"
    assert levels(whole) == {"strip-pieces": (3, "best possible"), "price": (100, "best possible")}
    assert stopped.goals[1].bound <= 100


def test_a_stop_after_everything_is_proven_changes_nothing() -> None:
    outcome = cut_at(split_loads(), "price")
    assert outcome.interrupted
    assert not outcome.plan.depends_on_time
    assert outcome.plan == checked_plan(split_loads())


def late_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Give the search a clock of its own, and return what makes it run past any limit."""
    late = [0.0]
    clock = SimpleNamespace(monotonic=lambda: time.monotonic() + late[0])
    monkeypatch.setattr(engine, "time", clock)
    return lambda: late.__setitem__(0, 1e6)


def test_the_time_limit_after_a_plan_keeps_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same as a stop, but nobody interrupted."""
    run_late = late_clock(monkeypatch)
    sized = split_loads()
    outcome = search_plan(sized, progress=lambda line: run_late() if line.startswith("plan") else None)
    assert not outcome.interrupted
    assert outcome.plan.depends_on_time
    assert verify(sized, outcome.plan) == ()
    value, said = levels(outcome.plan)["strip-pieces"]
    assert (value >= 3, said) == (True, "best so far")


def test_the_time_limit_before_a_plan_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    run_late = late_clock(monkeypatch)
    with pytest.raises(NoPlanInTime) as stopped:
        search_plan(split_loads(), progress=lambda line: run_late() if line.startswith("relaxation") else None)
    assert not stopped.value.interrupted


def large_panel() -> Sized:
    """Ninety circuits of five sizes, three feeds and two kinds of module: far more than a tenth of a second of work."""
    sizes = (3.0, 4.5, 6.0, 7.5, 11.0)
    return build_sized(
        circuits={
            f"c{n:02d}": A(
                sizes[n % 5], formats=("F", "C") if n % 3 else ("F",), relays=("micro",) if n % 4 == 0 else ()
            )
            for n in range(90)
        },
        modules={"block": M(("6F", "4C"), {"micro": 2}, limit_a=60), "twin": M(("5F", "5F"), {"micro": 1}, limit_a=50)},
        feeds={name: F(220) for name in ("battery", "ignition", "accessory")},
        panels={"panel": P(20)},
        strip_limit_a=25,
    )


@pytest.mark.parametrize("limit_s", [0.0, 0.1])
def test_a_tiny_limit_ends_the_search_in_time(limit_s: float) -> None:
    """No plan and the word for it; a plan cut short would say that it depends on time."""
    started = time.monotonic()
    with pytest.raises(NoPlanInTime):
        allocate(large_panel(), time_limit_s=limit_s)
    assert time.monotonic() - started < 20


def test_progress_names_bounds_and_plans() -> None:
    lines: list[str] = []
    plan = allocate(split_loads(), progress=lines.append)
    assert any(line.startswith("plan: bays 1") for line in lines)
    for result in plan.goals:
        assert f"{result.goal}: {result.value} (bound {result.bound}, {result.closed_by})" in lines
    values = goal_values(split_loads(), plan)
    assert lines[-1].startswith(f"price: {values['price']}")


def test_more_load_than_all_feeds_carry_is_refused_at_once_however_many_circuits() -> None:
    """The sum alone tells: what one load case draws is more than all feeds together may carry."""
    sized = vehicle(160, 1)
    feeds = {name: replace(feed, allowed_ma=feed.allowed_ma * 3 / 10) for name, feed in sized.feeds.items()}
    cases = range(len(sized.requirements.scenario.load_cases))
    drawn_ma = max(sum(need.load_ma_by_case[case] for need in sized.needs) for case in cases)
    assert drawn_ma > sum(feed.allowed_ma for feed in feeds.values())
    with pytest.raises(CannotBeMet, match="feeds cannot carry"):
        allocate(replace(sized, feeds=feeds))


def test_a_first_plan_is_looked_for_until_the_clock_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where an effort is too small, the next one is larger."""

    def attempt_in_vain(*words: Any, effort: float, **named: Any) -> Attempt:
        if effort <= search.PLACE_EFFORT * search.MORE:
            return Attempt("unknown", None)
        return attempt(*words, effort=effort, **named)

    monkeypatch.setattr(search, "attempt", attempt_in_vain)
    sized = split_loads()
    assert verify(sized, allocate(sized)) == ()


def test_a_plan_is_looked_for_while_the_proof_of_a_goal_takes_long() -> None:
    """The peak of this vehicle takes longer than all the goals before it; a plan does not wait for it."""
    sized = vehicle(40, 538)
    lines: list[str] = []
    outcome = cut_at(sized, "plan", lines)
    words = [line.split(":")[0] for line in lines]
    assert words.index("plan") < words.index("relaxation, peak-utilisation")
    assert verify(sized, outcome.plan) == ()
    assert levels(outcome.plan)["peak-utilisation"][1] == "best so far"
