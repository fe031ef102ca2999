"""What is said of every plan without a model: true of the best plan for each goal alone, and not idle."""

from __future__ import annotations

from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.errors import CannotBeMet
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Goal
from allocator.solving import allocate
from allocator.solving.floors import floor_of
from tests.builders import A, F, M, P, build_sized
from tests.strategies import Arguments, tiny_panels

GOALS: tuple[Goal, ...] = get_args(Goal)


@settings(deadline=None, derandomize=True, database=None, max_examples=40)
@given(tiny_panels(), st.sampled_from(GOALS))
def test_no_plan_is_below(arguments: Arguments, goal: Goal) -> None:
    sized = build_sized(**(arguments | {"goals": (goal,)}))
    try:
        plan = allocate(sized)
    except CannotBeMet:
        return
    assert floor_of(sized, goal) <= sense(goal) * plan.goals[0].value


@pytest.mark.parametrize(
    ("goal", "floor"),  # pieces, shares, cents, mm2, mm, mm3; of spare ways the negative of the most
    [
        ("bays", 2),
        ("module-types", 1),
        ("strip-pieces", 3),
        ("peak-utilisation", Fraction(7 * 4, 40)),
        ("long-jumpers", 0),
        ("price", 300 + 500 + 8 * (20 + 7) + 4 * 7),
        ("carriers", 1),
        ("footprint", 90 * 100),
        ("panels", 1),
        ("wire-length", 200),
        ("copper", 200 * 120),
        ("spare-ways", 8 - 6 * 5),
    ],
)
def test_what_is_known_at_once(goal: Goal, floor: Fraction | int) -> None:
    """Seven loads that only one feed takes need three rows of three ways; a relay brings terminals, jumper and lead."""
    sized = build_sized(
        circuits={f"c{number}": A(4, feeds=("battery",)) for number in range(7)} | {"fan": A(1, relays=("micro",))},
        modules={"block": M(("3F", "2F"), {"micro": 1}, price=500)},
        feeds={"battery": F(40), "key": F(100)},
        panels={"panel": P(6)},
        carriers={"two": 2, "three": 3},
        prices={"two": 300, "three": 400, "tab": 7, "fuse-F": 20},
    )
    assert floor_of(sized, goal) == floor
