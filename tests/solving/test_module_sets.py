"""Set of modules by set of modules, a goal comes down to what trying every plan finds."""

from __future__ import annotations

import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.model.frame import Frame
from allocator.plan.measures import measure
from allocator.requirements.scenario import Goal
from allocator.solving import module_sets
from allocator.solving.allocate import plan_of
from allocator.solving.attempt import Attempt, attempt
from allocator.solving.engine import Clock
from allocator.solving.hints import Said
from allocator.solving.models import Models, Targets
from allocator.solving.module_sets import CLOSER_EFFORT, searched_whole
from tests.builders import build_sized
from tests.oracles.every_tradeoff import every_tradeoff
from tests.strategies import Arguments, tiny_panels
from tests.tradeoffs.test_front import TWO_PANELS

TOO_MUCH = Fraction(10**8)
repeatable = settings(deadline=None, derandomize=True, database=None, max_examples=30)


@repeatable
@given(tiny_panels(4), st.sampled_from(("price", "copper")))
def test_brute_force_agrees(arguments: Arguments, goal: Goal) -> None:
    """From any value at all down to the least one, each set searched once and none left."""
    sized = build_sized(**arguments | {"goals": (goal,)})
    clock = Clock(time.monotonic() + 60)
    models = Models(sized, clock, [])
    found: list[Fraction] = []
    searched: list[Frame] = []

    def place(better: Targets, frame: Frame, said: Said) -> Attempt:
        searched.append(frame)
        made = attempt(models.places(better, frame=frame), models.learnt, clock, near=said, goal=goal, effort=10)
        if made.placement is not None:
            found.append(measure(sized, plan_of(sized, made.placement, (), False))[goal])
        return made

    assert searched_whole(models, clock, goal, [], lambda: found[-1] if found else TOO_MUCH, place, CLOSER_EFFORT)
    assert found == sorted(found, reverse=True) and len(set(found)) == len(found)
    copies = [tuple(sorted(frame.copies.items())) for frame in searched if frame.copies]
    assert len(set(copies)) == len(copies)
    least = every_tradeoff(sized, {goal: Fraction(1, 1000)})
    assert {(found[-1] * 1000,)} == least if found else least == set()


@pytest.mark.parametrize(
    ("name", "value"), [("COUNT_EFFORT", 1e-9), ("MOST_SETS", 0), ("placing", 1e-9)], ids=lambda value: str(value)
)
def test_nothing_is_claimed_where_the_effort_is_too_small(
    monkeypatch: pytest.MonkeyPatch, name: str, value: float
) -> None:
    """Counts without an answer, no set looked at, a set not searched to its end: each leaves the goal open."""
    effort, closer = 10.0, CLOSER_EFFORT
    if name == "placing":
        effort = value
    else:
        monkeypatch.setattr(module_sets, name, value)
        closer = 1e-9
    sized = build_sized(**TWO_PANELS | {"goals": ("price",)})
    clock = Clock(time.monotonic() + 60)
    models = Models(sized, clock, [])

    def place(better: Targets, frame: Frame, said: Said) -> Attempt:
        return attempt(models.places(better, frame=frame), [], clock, near=said, goal="price", effort=effort)

    assert not searched_whole(models, clock, "price", [], lambda: TOO_MUCH, place, closer)
