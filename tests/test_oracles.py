"""The solver agrees with brute force on tiny panels, with an independent MILP on mid-size ones, and keeps promises."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from allocator.errors import CannotBeMet
from allocator.solving import allocate
from allocator.verifying import verify
from tests.builders import A, build_sized
from tests.oracles.brute_force import best_values
from tests.oracles.greedy_feeds import Stuck
from tests.oracles.greedy_plan import greedy_plan
from tests.oracles.milp import best_levels
from tests.strategies import Arguments, mid_size_panels, tiny_panels

repeatable = settings(deadline=None, derandomize=True, database=None, max_examples=40)


def reached(arguments: Arguments) -> dict[str, Fraction] | None:
    """Return the proven best of each goal in order, after the checker's pass, or None if it cannot be met."""
    sized = build_sized(**arguments)
    try:
        plan = allocate(sized)
    except CannotBeMet:
        return None
    assert verify(sized, plan) == ()
    assert {result.outcome for result in plan.goals} <= {"best possible", "within tolerance"}
    return {result.goal: result.value if result.best is None else result.best for result in plan.goals}


@repeatable
@given(tiny_panels())
def test_brute_force_agrees(arguments: Arguments) -> None:
    """The same optimum at every level, or no plan on both sides."""
    same_as_brute_force(arguments)


@pytest.mark.long
@settings(deadline=None, max_examples=1000)
@given(tiny_panels())
def test_brute_force_agrees_on_many(arguments: Arguments) -> None:
    """The same on panels that are new in every run."""
    same_as_brute_force(arguments)


def same_as_brute_force(arguments: Arguments) -> None:
    expected = best_values(build_sized(**arguments))
    found = reached(arguments)
    assert (found is None) == (expected is None)
    if found is not None and expected is not None:
        assert found == {goal: expected[goal] for goal in found}


@settings(repeatable, max_examples=15)
@given(mid_size_panels())
def test_milp_agrees(arguments: Arguments) -> None:
    """Panels that have a plan by construction: the solver finds one, and HiGHS finds none better."""
    found = reached(arguments)
    assert found is not None
    assert found == best_levels(build_sized(**arguments))


@settings(repeatable, max_examples=15)
@given(mid_size_panels())
def test_greedy_is_never_better(arguments: Arguments) -> None:
    """Its plans pass the checker too, and none comes before the solver's in the order of the goals."""
    sized = build_sized(**arguments)
    try:
        plan = greedy_plan(sized)
    except Stuck:
        reject()  # hypothesis fails the test if this is the rule
    assert verify(sized, plan) == ()
    best = reached(arguments)
    assert best is not None
    assert [result.value for result in plan.goals] >= list(best.values())


@settings(repeatable, max_examples=8)
@given(mid_size_panels(), st.sampled_from((3.0, 7.5)))
def test_another_circuit_never_lowers_bays(arguments: Arguments, load_a: float) -> None:
    before = reached(arguments)
    formats = next(iter(arguments["circuits"].values())).formats
    more = arguments | {"circuits": arguments["circuits"] | {"extra": A(load_a, formats=formats)}}
    after = reached(more)
    assert before is not None
    assert after is None or after["bays"] >= before["bays"]


@settings(repeatable, max_examples=8)
@given(mid_size_panels(), st.sampled_from(("feeds", "strip_limit_a", "modules", "panels")))
def test_easing_a_limit_never_worsens_the_goals(arguments: Arguments, field: str) -> None:
    """What was possible stays possible, so the goals, compared in their order, can only fall."""
    before, after = reached(arguments), reached(arguments | {field: eased(arguments[field])})
    assert before is not None and after is not None
    levels = ("bays", "module-types", "strip-pieces")
    assert [after[goal] for goal in levels] <= [before[goal] for goal in levels]


def eased(limit: object) -> object:
    """Raise an ampere limit by 5 A, or the room of a panel by one bay."""
    if isinstance(limit, Mapping):
        return {name: eased(spec) for name, spec in limit.items()}
    if isinstance(limit, int | float):
        return limit + 5
    for name, step in (("rating_a", 5), ("limit_a", 5), ("max_bays", 1)):
        if hasattr(limit, name):
            return replace(limit, **{name: getattr(limit, name) + step})  # type: ignore[type-var]
    raise AssertionError(f"nothing to ease in {limit}")


@settings(repeatable, max_examples=8)
@given(mid_size_panels(), st.randoms(use_true_random=False))
def test_the_order_of_circuits_changes_nothing(arguments: Arguments, random: object) -> None:
    """Not one way of the plan moves when the circuits are listed in another order."""
    names = list(arguments["circuits"])
    random.shuffle(names)  # type: ignore[attr-defined]
    shuffled = arguments | {"circuits": {name: arguments["circuits"][name] for name in names}}
    plans = [allocate(build_sized(**some)) for some in (arguments, shuffled)]
    first, second = (plan.model_dump(exclude={"requirements"}) for plan in plans)
    assert first == second
