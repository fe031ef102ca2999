"""The set of plans that none beats is that of brute force, on tiny panels of every feature."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.errors import CannotBeMet
from allocator.requirements.scenario import Goal
from allocator.tradeoffs import Front, tradeoffs
from allocator.verifying import goal_values, verify
from tests.builders import build_sized
from tests.oracles.every_tradeoff import every_tradeoff
from tests.strategies import Arguments, tiny_panels

repeatable = settings(deadline=None, derandomize=True, database=None)
COMPARED: tuple[tuple[Goal, ...], ...] = (
    ("bays", "module-types", "strip-pieces", "price"),
    ("bays", "strip-pieces", "price"),
    ("bays", "peak-utilisation"),
    ("peak-utilisation", "price"),
    ("strip-pieces", "long-jumpers", "price"),
    ("bays", "copper"),
)
STEPS: dict[Goal, Fraction] = {"price": Fraction(100), "peak-utilisation": Fraction(5, 100)}


def same_as_brute_force(arguments: Arguments, goals: tuple[Goal, ...]) -> Front | None:
    sized = build_sized(**arguments)
    steps = {goal: step for goal, step in STEPS.items() if goal in goals}
    try:
        front = tradeoffs(sized, goals, steps=steps, ranges={}, explain=False)
    except CannotBeMet:
        assert every_tradeoff(sized, dict.fromkeys(goals, Fraction(1))) == set()
        return None
    assert front.is_complete
    expected = every_tradeoff(sized, {axis.goal: axis.step for axis in front.axes})
    assert [member.steps for member in front.members] == sorted(expected)
    for member in front.members:
        assert member.values == goal_values(sized, member.plan)
        assert verify(sized, member.plan) == ()
    return front


@settings(repeatable, max_examples=25)
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
