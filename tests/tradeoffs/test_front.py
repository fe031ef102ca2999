"""The set of plans that none beats is that of brute force, on tiny panels of every feature."""

from __future__ import annotations

import threading
from fractions import Fraction
from itertools import permutations
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.errors import CannotBeMet
from allocator.outputs.tradeoffs import front_data, front_text
from allocator.requirements import load_scenario
from allocator.requirements.scenario import Goal
from allocator.sizing import Sized, size
from allocator.solving import allocate, capped
from allocator.solving.floors import floor_of
from allocator.tradeoffs import Front, exploring, find_tradeoffs
from allocator.tradeoffs.cells import holds
from allocator.tradeoffs.front import Member, with_objective
from allocator.verifying import goal_values, verify
from tests.builders import A, F, M, P, build_sized
from tests.oracles.every_tradeoff import every_tradeoff
from tests.solving.test_goals import ROOMY
from tests.strategies import Arguments, tiny_panels

repeatable = settings(deadline=None, derandomize=True, database=None)
COMPARED: tuple[tuple[Goal, ...], ...] = (
    ("bays", "module-types", "strip-pieces", "price"),
    ("bays", "strip-pieces", "price"),
    ("bays", "peak-utilisation"),
    ("peak-utilisation", "price"),
    ("strip-pieces", "long-jumpers", "price"),
    ("bays", "copper"),
    ("bays", "spare-ways"),
    ("spare-ways", "strip-pieces", "price"),
)
STEPS: dict[Goal, Fraction] = {"price": Fraction(100), "peak-utilisation": Fraction(5, 100)}


def of_its_own(sized: Sized, member: Member) -> Sized:
    """Return the sizing with the goals that a member's plan states: those compared, within its limits."""
    return with_objective(sized, member.plan.requirements.scenario.rules.aims)


def same_as_brute_force(arguments: Arguments, goals: tuple[Goal, ...]) -> Front | None:
    sized = build_sized(**arguments)
    steps = {goal: step for goal, step in STEPS.items() if goal in goals}
    try:
        front = find_tradeoffs(sized, goals, steps=steps, ranges={})
    except CannotBeMet:
        assert every_tradeoff(sized, dict.fromkeys(goals, Fraction(1))) == set()
        return None
    assert front.is_complete
    expected = every_tradeoff(sized, {axis.goal: axis.step for axis in front.axes})
    assert [member.steps for member in front.members] == sorted(expected)
    for member in front.members:
        assert member.values == goal_values(sized, member.plan)
        assert verify(of_its_own(sized, member), member.plan) == ()
    return front


@settings(repeatable, max_examples=12)
@given(tiny_panels(4), st.sampled_from(COMPARED))
def test_brute_force_agrees(arguments: Arguments, goals: tuple[Goal, ...]) -> None:
    """Neither a plan too many nor one too few; and the checker sees the same values."""
    same_as_brute_force(arguments, goals)


@pytest.mark.long
@settings(deadline=None, max_examples=500)
@given(tiny_panels(), st.sampled_from(COMPARED))
def test_brute_force_agrees_on_many(arguments: Arguments, goals: tuple[Goal, ...]) -> None:
    """The same on panels that are new in every run."""
    same_as_brute_force(arguments, goals)


PRICES = {"carrier-1": 300, "carrier-2": 550, "carrier-3": 800, "carrier-4": 1000, "inlet": 90, "tab": 7, "ring": 30,
          "wire": 90, "relay-micro": 250, "fuse-F": 20, "stud": 100}  # fmt: skip
TWO_PANELS: Arguments = {
    "feeds": {"f0": F(30), "f1": F(30, panels=("p",))},
    "circuits": {
        "a": A(9, panels=("p",)), "b": A(9, panels=("p",)), "c": A(5, relays=("micro",), panels=("p",)),
        "e": A(2, panels=("q",)),
    },
    "modules": {
        "cheap": M(("2F",), price=300), "wide": M(("3F",), price=500), "both": M(("2F",), {"micro": 1}, price=1500),
        "relays": M((), {"micro": 1}, price=100),
    },
    "panels": {"p": P(2), "q": P(1)},
    "strip_limit_a": 30,
    "prices": PRICES,
}  # fmt: skip
A_TREE: Arguments = {
    "feeds": {"f0": F(40), "branch": F(20, source="f0", fuse="E", relay="heavy", kind="ignition")},
    "circuits": {"a": A(9, feeds=("branch",)), "b": A(4, relays=("micro",)), "c": A(7)},
    "modules": {
        "head": M(("1E", "2F"), {"heavy": 1}, price=700), "all": M(("1E", "3F"), {"heavy": 1, "micro": 1}, price=4000),
        "mixed": M(("2F",), {"micro": 1}, price=900),
    },
    "panels": {"p": P(2)},
    "strip_limit_a": 18,
    "prices": PRICES,
}  # fmt: skip
ALL_GOALS: tuple[Goal, ...] = get_args(Goal)


@pytest.mark.parametrize(
    ("arguments", "goals", "at_least"),
    [
        (TWO_PANELS, ("bays", "module-types", "strip-pieces", "price"), 3),
        (TWO_PANELS, ("peak-utilisation", "strip-pieces", "price"), 2),
        (TWO_PANELS, ALL_GOALS, 3),
        (TWO_PANELS, ("bays", "price", "spare-ways"), 3),
        (A_TREE, ("bays", "module-types", "strip-pieces", "price"), 2),
        (A_TREE, ALL_GOALS, 2),
        (A_TREE, ("spare-ways", "bays", "price"), 2),
    ],
    ids=[
        "two panels",
        "two panels, peak",
        "two panels, every goal",
        "two panels, room",
        "a tree",
        "a tree, every goal",
        "a tree, room",
    ],
)
def test_relays_a_tree_and_two_panels(arguments: Arguments, goals: tuple[Goal, ...], at_least: int) -> None:
    """Panels made so that there is something to trade."""
    front = same_as_brute_force(arguments, goals)
    assert front is not None
    assert len(front.members) >= at_least


# Of one to three bays each holds four ways for 1.00 or six for 7.00; two circuits take two of them all.
BY_HAND = sorted(
    (bays, 100 * (bays - wide) + 700 * wide, 4 * bays + 2 * wide - 2) for bays in (1, 2, 3) for wide in range(bays + 1)
)


def test_room_against_bays_and_price() -> None:
    """Every mix of modules is worth having; a plan says what it has, and a step what it buys."""
    front = find_tradeoffs(build_sized(**ROOMY), ("bays", "price", "spare-ways"), steps={"price": Fraction(100)})
    points = [tuple(member.values[axis.goal] for axis in front.axes) for member in front.members]
    assert front.is_complete and points == BY_HAND
    text = front_text(front)
    assert "plan 2: 2 spare ways more, for 6.00 EUR more" in text
    assert "plan 3: 4 spare ways more, for 1 bay more and 1.00 EUR more" in text
    assert "at most 4 bays, with at least 17 spare ways: none (counting bound)" in text
    assert "No plan is missing up to 4 bays:" in text
    data = front_data(front, Path("out"))
    assert data["plans"][1]["steps"] == [1, 7, 4]
    assert [4, None, 17] in [cell["caps"] for cell in data["cells"]]
    room = front.members[1].plan.goals[2]
    assert (room.value, room.bound, room.cap, room.outcome) == (4, 4, 4, "best possible")


@pytest.mark.parametrize("goals", list(permutations(("bays", "price", "spare-ways"))), ids=" ".join)
def test_room_in_any_order_of_the_user(goals: tuple[Goal, ...]) -> None:
    """The same plans in another order; the chosen one is what ``allocate`` finds, also where that fills every bay."""
    sized = build_sized(**ROOMY | {"goals": goals})
    front = find_tradeoffs(sized, goals, steps={"price": Fraction(100)}, ranges={})
    points = [tuple(member.values[goal] for goal in ("bays", "price", "spare-ways")) for member in front.members]
    assert front.is_complete and sorted(points) == BY_HAND
    best = {result.goal: result.value for result in allocate(sized).goals}
    assert {goal: front.members[0].values[goal] for goal in goals} == best


def test_a_range_on_room_counts_downwards() -> None:
    sized = build_sized(**ROOMY | {"goals": ("spare-ways", "bays")})
    front = find_tradeoffs(sized, ("spare-ways", "bays"), ranges={"spare-ways": 6})
    assert [member.steps for member in front.members] == [(-16, 3), (-10, 2)]
    assert "No plan is missing down to 10 spare ways:" in front_text(front)
    assert find_tradeoffs(sized, ("spare-ways",)).members[0].values["spare-ways"] == 16


def test_the_chosen_plan_is_the_best_in_the_users_order() -> None:
    """Its counts are those that ``allocate`` proves; within its caps its plan says "best possible"."""
    front = find_tradeoffs(build_sized(**A_TREE), ranges={})
    goals: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
    best = {result.goal: result.value for result in allocate(build_sized(**A_TREE | {"goals": goals})).goals}
    assert {goal: front.members[0].values[goal] for goal in goals} == best
    for member in front.members:
        assert {result.outcome for result in member.plan.goals if result.goal in goals} == {"best possible"}


def test_equal_input_gives_equal_plans() -> None:
    one, other = (find_tradeoffs(build_sized(**TWO_PANELS), ranges={}) for _ in range(2))
    assert one == other


def test_without_time_every_open_cell_is_said() -> None:
    """An interrupt after the first plan keeps it, calls nothing proven, and leaves the range open."""
    stop = threading.Event()
    sized = build_sized(**TWO_PANELS)
    front = find_tradeoffs(sized, ranges={}, stop=stop, progress=lambda text: stop.set() if "price" in text else None)
    assert front.interrupted and not front.is_complete
    assert {cell.closed_by for cell in front.open_cells} == {"cut by time"}
    for member in front.members:
        assert verify(of_its_own(sized, member), member.plan) == ()
        assert member.plan.depends_on_time


def test_what_covering_refutes_is_closed_before_any_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """Time is up at the first search: what takes more than a sum to refute is proven all the same."""
    monkeypatch.setattr(exploring.Exploration, "_settle", lambda self, caps: self.clock.stop.set())
    sized = build_sized(**TWO_PANELS)
    front = find_tradeoffs(sized, ranges={})
    least = [axis.steps(floor_of(sized, axis.goal)) for axis in front.axes]
    closed = [cell.caps for cell in front.cells if cell.closed_by == "counting bound"]
    assert any(all(cap is None or cap >= low for cap, low in zip(caps, least, strict=True)) for caps in closed)


def test_what_effort_was_too_small_for_is_open_with_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever brute force finds beside the plans found lies in an open cell, no cheaper than its bound says."""
    for effort in ("CLOSER_EFFORT", "WHOLE_EFFORT"):
        monkeypatch.setattr(exploring, effort, 1e-9)
    for effort in ("LIKE_EFFORT", "WITHIN_EFFORT"):
        monkeypatch.setattr(capped, effort, 1e-9)
    sized = build_sized(**TWO_PANELS)
    front = find_tradeoffs(sized, steps={"price": Fraction(100)})
    found = [member.steps for member in front.members]
    missing = [
        point
        for point in every_tradeoff(sized, {axis.goal: axis.step for axis in front.axes})
        if not any(holds(point, known) for known in found)
    ]
    assert missing and not front.is_complete
    price = [axis.goal for axis in front.axes].index("price")
    bounds = 0
    for point in missing:
        cells = [cell for cell in front.open_cells if holds(cell.caps, point)]
        assert cells
        for cell in cells:
            assert cell.closed_by == "not closed"
            assert cell.bound is None or cell.bound <= point[price]
            bounds += cell.bound is not None
    text = front_text(front)
    assert "Plans may be missing" in text
    assert text.count("not closed") >= len(front.open_cells)
    assert bounds > 0
    assert "price of parts above" in " ".join(text.split())


def test_a_step_that_no_cap_can_tell_is_refused() -> None:
    with pytest.raises(ValueError, match="no whole number"):
        find_tradeoffs(build_sized(**TWO_PANELS), steps={"price": Fraction(1, 3)})


@pytest.mark.long
def test_no_plan_of_sixty_circuits_is_missing() -> None:
    """The bundled van: a cell of it is only closed by searching one set of modules after the other."""
    sized = size(load_scenario(Path(__file__).parents[2] / "scenarios" / "vet-van"))
    front = find_tradeoffs(sized)
    assert front.is_complete
    assert [member.steps for member in front.members] == [(10, 5, 10, 100), (11, 4, 11, 103)]
    assert "search" in {cell.closed_by for cell in front.cells}
