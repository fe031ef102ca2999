"""Module types of which some have an ampere limit and some none: what trying everything finds, is found."""

from __future__ import annotations

import random
from typing import Any

import pytest

from allocator.requirements.scenario import Goal
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import planned
from tests.oracles.brute_force import best_values

ORDERS: tuple[tuple[Goal, ...], ...] = (
    ("bays", "module-types", "strip-pieces"),
    ("module-types", "bays", "strip-pieces"),
    ("bays", "price"),
)


def mixed(number: int) -> dict[str, Any]:
    """A panel of three to five circuits; one of its three module types has no limit, so that few counts see amperes."""
    draw = random.Random(number)
    circuits = {
        name: A(
            draw.choice((2, 3, 4, 5, 6, 7)),
            feeds=draw.choice((("main",), ("main", "aux"))),
            formats=draw.choice((("F",), ("F", "C"))),
            relays=draw.choice(((), (), ("micro",))),
        )
        for name in "abcde"[: draw.choice((3, 4, 5))]
    }
    modules = {
        "wide": M((f"{draw.choice((2, 3))}F strip",), {"micro": 1}, limit_a=draw.choice((8, 10))),
        "row": M((f"{draw.choice((3, 4))}F strip",), limit_a=draw.choice((9, 12)), bays=draw.choice((1, 2))),
        "plain": M(("1C", "1F")),
    }
    return {"circuits": circuits, "modules": modules, "feeds": {"main": F(30), "aux": F(20)}, "panels": {"cab": P(4)}}


def test_values_that_relaxations_promise_and_no_plan_has_refuse_nothing() -> None:
    """With two bays and one type counts see amperes that they do not see with two bays: three bays it is."""
    circuits = {
        "a": A(5, feeds=("main",)),
        "b": A(2, formats=("F", "C")),
        "c": A(7),
        "d": A(4, relays=("micro",)),
    }
    modules = {
        "wide": M(("2F strip",), {"micro": 1}, limit_a=8),
        "row": M(("4F strip",), limit_a=12, bays=2),
        "plain": M(("1C", "1F")),
    }
    sized = build_sized(
        circuits=circuits,
        modules=modules,
        feeds={"main": F(30), "aux": F(20)},
        panels={"cab": P(4)},
        goals=ORDERS[0],
    )
    assert planned(sized) == {"bays": 3, "module-types": 1, "strip-pieces": 3}


@pytest.mark.parametrize("number", range(24))
def test_as_trying_everything_finds(number: int) -> None:
    goals = ORDERS[number % len(ORDERS)]
    sized = build_sized(**mixed(number), goals=goals)
    best = best_values(sized)
    assert planned(sized) == (None if best is None else {goal: best[goal] for goal in goals})
