"""Whatever a pool refutes saves nothing, by trying every seating; and it refutes what one relaxation at a time does."""

from __future__ import annotations

import random
import time
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from allocator.errors import CannotBeMet
from allocator.explaining import sufficient_sets
from allocator.explaining.counting import TESTS, refutes
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.pooling import refuted_together
from allocator.explaining.sufficient_sets import SufficientSets
from allocator.requirements.scenario import Goal
from allocator.sizing import Sized, size
from allocator.solving import allocate
from allocator.solving.engine import Clock, Solved, Status, solve
from allocator.solving.models import Targets
from tests.builders import A, F, M, P, build_sized
from tests.explaining.test_binding import COUNTED, PANELS
from tests.explaining.test_clashes import LONG_S
from tests.oracles.brute_force import Search


def targets_below(values: Mapping[Goal, Fraction]) -> list[Targets]:
    """One less of each count, with no more of those before it."""
    return [
        [*((before, values[before]) for before in COUNTED[:number]), (goal, values[goal] - 1)]
        for number, goal in enumerate(COUNTED)
        if values[goal] > 1
    ]


def check(sized: Sized, values: Mapping[Goal, Fraction]) -> int:
    """Return how many demands a pool refutes; trying everything must agree with each."""
    inquiry = Inquiry(sized.requirements, Clock(time.monotonic() + LONG_S))
    number = 0
    for targets in targets_below(values):
        refuted = refuted_together(inquiry, list(inquiry.demands), targets, inquiry.clock)
        number += len(refuted)
        for name in sorted(refuted):
            case = inquiry.case(inquiry.holding(inquiry.everything - {name}))
            assert case is not None
            assert Search(case.sized, COUNTED, dict(targets)).run() is None, (name, targets)
    return number


def test_what_is_refuted_saves_nothing() -> None:
    """With a pin at each of two bays nothing is refuted: leaving out either circuit saves its bay."""
    numbers = {}
    for name in PANELS:
        sized = size(build_sized(**{"goals": COUNTED, **PANELS[name]}).requirements)
        numbers[name] = check(sized, {result.goal: result.value for result in allocate(sized).goals})
    assert {name for name, number in numbers.items() if number} == {*PANELS} - {"a pin and a forbidden module"}


def panel(seed: int) -> Sized:
    """A panel with some wishes, chosen at random."""
    draw = random.Random(seed)
    names = ("a", "b", "c", "d")[: draw.choice((3, 4))]
    feeds = {"main": F(draw.choice((9, 15))), "aux": F(draw.choice((4, 9)))}
    circuits = {
        name: A(
            draw.choice((2, 3, 5)),
            feeds=draw.choice((("main",), ("aux",), ("main", "aux"))),
            relays=draw.choice(((), (), ("micro",))),
            key_out=draw.random() < 0.2,
        )
        for name in names
    }
    wishes: dict[str, Any] = {}
    for rule in ("apart", "together"):
        if draw.random() < 0.3:
            wishes[rule] = [(tuple(draw.sample(names, 2)), draw.choice(("feed", "row", "module")))]
    if draw.random() < 0.3:
        wishes["spares"] = [{"fuse_format": "F", "count": draw.choice((1, 2))}]
    modules = {
        "way": M((f"{draw.choice((1, 2))}F strip",), {"micro": 1}),
        "row": M(("3F strip",)),
        "single": M(("2F",)),
    }
    return size(
        build_sized(
            circuits=circuits, modules=modules, feeds=feeds, panels={"cab": P(3)}, goals=COUNTED, **wishes
        ).requirements
    )


def check_random(seed: int) -> None:
    sized = panel(seed)
    try:
        plan = allocate(sized)
    except CannotBeMet:
        return
    check(sized, {result.goal: result.value for result in plan.goals})


@pytest.mark.parametrize("seed", range(8))
def test_what_is_refuted_saves_nothing_on_random_panels(seed: int) -> None:
    check_random(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(8, 200))
def test_of_many_more(seed: int) -> None:
    check_random(seed)


def test_a_pool_misses_nothing_that_one_relaxation_refutes() -> None:
    for name in PANELS:
        sized = size(build_sized(**{"goals": COUNTED, **PANELS[name]}).requirements)
        values = {result.goal: result.value for result in allocate(sized).goals}
        inquiry = Inquiry(sized.requirements, Clock(time.monotonic() + LONG_S))
        demands = [demand for demand in inquiry.demands if demand.startswith("feeds of ")]
        for targets in targets_below(values):
            refuted = refuted_together(inquiry, demands, targets, inquiry.clock)
            for demand in demands:
                case = inquiry.case(inquiry.holding(inquiry.everything - {demand}))
                assert case is not None
                if any(refutes(test, case, targets, inquiry.clock) for test in TESTS):
                    assert demand in refuted, (name, demand, targets)


@pytest.mark.parametrize("status", ["optimal", "feasible", "unknown"])
def test_sets_are_all_of_them_only_where_the_search_came_to_its_end(
    status: Status, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As after an interrupt, or at the end of the time."""
    sized = build_sized(circuits={"a": A(5)}, modules={"block": M(("4F",))}, feeds={"feed": F(60)}, panels={"p": P(3)})

    def ended(*words: Any, **more: Any) -> Solved:
        return replace(solve(*words, **more), status=status)

    monkeypatch.setattr(sufficient_sets, "solve", ended)
    sets = SufficientSets([sized], [("bays", Fraction(1))])
    assert sets.find(Clock(time.monotonic() + LONG_S)) is (status == "optimal")
    assert sets.found == ([{("p", "block"): 1}] if status == "optimal" else [])
