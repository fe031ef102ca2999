"""Modules filled where amperes run out: as cheap as trying everything finds, and within every rule that they know."""

from __future__ import annotations

import time
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.model.frame import Instance
from allocator.requirements.scenario import Goal
from allocator.solving.allocate import allocate
from allocator.solving.engine import Clock
from allocator.solving.hints import IN_MODULE
from allocator.solving.models import Models
from allocator.solving.module_fillings import ModuleFillings
from allocator.verifying import verify
from tests.builders import A, F, M, P, build_sized

MODULES = {
    "small": M(("4F", "2C"), limit_a=10, price=50),
    "large": M(("6F", "3C"), limit_a=16, price=70),
    "plain": M(("8F",), limit_a=13, price=55),
}


def panel(circuits: Mapping[str, A], *, modules: Mapping[str, M] = MODULES, **other: Any):  # type: ignore[no-untyped-def]
    return build_sized(
        **{"feeds": {"feed": F(400)}, "goals": ("price",)}
        | {"circuits": circuits, "modules": modules, "panels": {"panel": P(12)}, "carriers": {"mount": 1}}
        | other
    )


def modules_of(sized, goal: Goal = "price") -> dict[Instance, Counter[str]] | None:  # type: ignore[no-untyped-def]
    """Return the needs of every module that was filled."""
    models = Models(sized, Clock(time.monotonic() + 60), [])
    found = ModuleFillings(models, models.clock).filled([(goal, Fraction(10**6))], None)
    if found is None:
        return None
    frame, said = found
    held: dict[Instance, Counter[str]] = defaultdict(Counter)
    for (table, key), number in said.items():
        if table == IN_MODULE:
            index, instance = key  # type: ignore[misc]
            held[instance].update(frame.classes[index].needs[:number])
    assert set(held) == {instance for instance in frame.instances if frame.module(instance).rows}
    return held


def fits(module: str, inside: Sequence[str], circuits: Mapping[str, A], apart: Sequence[tuple[str, ...]]) -> bool:
    formats = Counter(circuits[name].formats[0] for name in inside)
    ways = {row[1]: int(row[0]) for row in MODULES[module].rows}
    cases = {case for name in inside for case in circuits[name].cases or ("day", "night")}
    loads = [sum(circuits[n].load_a for n in inside if case in (circuits[n].cases or cases)) for case in cases]
    return (
        all(load <= (MODULES[module].limit_a or 0) for load in loads)
        and all(number <= ways.get(letter, 0) for letter, number in formats.items())
        and all(len(set(names) & set(inside)) <= 1 for names in apart)
    )


def by_hand(
    names: Sequence[str],
    circuits: Mapping[str, A],
    apart: Sequence[tuple[str, ...]],
    filled: tuple[tuple[str, ...], ...],
) -> int:
    """Put the first circuit into each module (type, then circuits) and into a new one of each type."""
    if not names:
        return sum(MODULES[module].price for module, *_ in filled)
    best = 10**9
    for at, (module, *inside) in enumerate((*filled, *((module,) for module in MODULES))):
        if fits(module, [*inside, names[0]], circuits, apart):
            others = filled[:at] + filled[at + 1 :]
            best = min(best, by_hand(names[1:], circuits, apart, (*others, (module, *inside, names[0]))))
    return best


@settings(deadline=None, derandomize=True, database=None, max_examples=25)
@given(st.lists(st.tuples(st.integers(4, 9), st.sampled_from("FFC")), min_size=3, max_size=5), st.booleans())
def test_as_cheap_as_trying_everything(needs: list[tuple[int, str]], first_two_are_apart: bool) -> None:
    circuits = {f"c{number}": A(load, formats=(letter,)) for number, (load, letter) in enumerate(needs)}
    apart = [("c0", "c1")] if first_two_are_apart else []
    sized = panel(circuits, apart=[(names, "module") for names in apart])
    held = modules_of(sized)
    assert held is not None
    assert all(fits(i.module, list(inside.elements()), circuits, apart) for i, inside in held.items())
    least = by_hand(list(circuits), circuits, apart, ())
    price = sum(MODULES[instance.module].price for instance in held)
    assert price == least or (apart and price > least)  # what must be apart is mended, not packed
    plan = allocate(sized)
    assert ([goal.value for goal in plan.goals], verify(sized, plan)) == ([least], ())


def test_loads_of_other_cases_count() -> None:
    """By night alone two modules would do: each of 6 A with 4 A. By day those of 4 A are 9 A with each other's 5 A."""
    circuits = {f"both-{n}": A(6) for n in range(2)} | {f"night-{n}": A(4, cases=("night",)) for n in range(2)}
    circuits |= {f"day-{n}": A(4.5, cases=("day",)) for n in range(2)}
    held = modules_of(panel(circuits, cases=("day", "night"), modules={"small": MODULES["small"]}))
    assert held is not None
    assert all(fits(i.module, list(inside.elements()), circuits, ()) for i, inside in held.items())


def test_those_bound_together_are_one_thing() -> None:
    circuits = {f"c{number}": A(load) for number, load in enumerate((3, 7, 6, 4))}
    held = modules_of(panel(circuits, together=[(("c0", "c3"), "module")]))
    assert held is not None
    assert [inside["c0"] for inside in held.values()] == [inside["c3"] for inside in held.values()]


def test_a_branch_draws_what_is_behind_it() -> None:
    """Its own way lies in a module as well, and takes 8 A of the 10 A."""
    feeds = {"main": F(40), "branch": F(20, source="main", fuse="C")}
    circuits = {f"c{number}": A(4, feeds=("branch",)) for number in range(2)} | {"other": A(3, feeds=("main",))}
    held = modules_of(panel(circuits, feeds=feeds, modules={"small": MODULES["small"]}))
    assert held is not None
    (with_branch,) = (inside for inside in held.values() if inside["branch"])
    assert set(with_branch) == {"branch"}


def test_a_feed_fills_only_what_it_enters() -> None:
    feeds = {"a": F(40), "b": F(40, never_enters=("small",))}
    circuits = {f"c{number}": A(5, feeds=(feed,)) for number, feed in enumerate("aabb")}
    held = modules_of(panel(circuits, feeds=feeds))
    assert held is not None
    assert all(i.module != "small" for i, inside in held.items() if inside["c2"] or inside["c3"])


@pytest.mark.parametrize(
    "changed",
    [
        {"circuits": {f"c{number}": A(0.1) for number in range(9)}},
        {"modules": MODULES | {"endless": M(("9F",), price=900)}},
        {"circuits": {"c0": A(9, pin="panel/1"), "c1": A(9)}},
    ],
)
def test_where_amperes_do_not_decide_nothing_is_filled(changed: dict[str, Any]) -> None:
    assert modules_of(panel(**{"circuits": {"c0": A(9), "c1": A(9)}} | changed)) is None


def test_the_same_question_is_answered_once() -> None:
    models = Models(panel({"c0": A(9), "c1": A(9)}), Clock(time.monotonic() + 60), [])
    fillings = ModuleFillings(models, models.clock)
    assert fillings.filled([("price", Fraction(500))], None) is not None
    assert fillings.filled([("price", Fraction(400))], None) is None


def test_blanks_that_cost_more_than_modules() -> None:
    """A module saves the blanks of its bays; what the bays of carriers cost, blanks included, is added again."""
    blank = {"id": "blank", "label": "blank cover", "price": 90, "per": "empty-bay", "quantity": 1}
    circuits = {f"c{number}": A(1 + number % 3) for number in range(6)}
    modules = {"pair": M(("2F",), limit_a=50, price=10), "three": M(("3F",), limit_a=4, price=12)}
    sized = panel(circuits, modules=modules, accessories=[blank], panels={"panel": P(6)})
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    assert [(goal.value, goal.outcome) for goal in plan.goals] == [(30, "best possible")]
