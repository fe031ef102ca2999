"""Promises over random small vehicles with every feature: plans are checked, and what is asked for never comes free."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from allocator.requirements.scenario import Goal
from tests.builders import A, build_sized
from tests.model.checked import planned
from tests.strategies import Arguments, tiny_panels

FIRST_GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
repeatable = settings(deadline=None, derandomize=True, database=None, max_examples=12)
few_features = tiny_panels(4).map(lambda arguments: arguments | {"goals": FIRST_GOALS})


def reached(arguments: Arguments) -> list[Fraction] | None:
    """Return the proven values of the goals, in their order, or None where there is no plan; every plan is checked."""
    values = planned(build_sized(**arguments))
    return None if values is None else list(values.values())


def no_better(after: list[Fraction] | None, before: list[Fraction] | None) -> bool:
    """Whether goals, compared in their order, have not become better; no plan is the worst of all."""
    return after is None or (before is not None and after >= before)


@settings(repeatable, max_examples=40)
@given(tiny_panels())
def test_every_plan_passes_the_checker_with_the_values_it_claims(arguments: Arguments) -> None:
    reached(arguments)


@repeatable
@given(few_features, st.sampled_from((2.0, 7.0)))
def test_another_circuit_makes_nothing_better(arguments: Arguments, load_a: float) -> None:
    more = {"circuits": dict(arguments["circuits"]) | {"extra": A(load_a)}}
    assert no_better(reached(arguments | more), reached(arguments))


@repeatable
@given(few_features, st.sampled_from(("apart", "together")), st.sampled_from(("feed", "row", "module")))
def test_another_wish_makes_nothing_better(arguments: Arguments, wish: str, level: str) -> None:
    first, second, *_ = sorted(arguments["circuits"])
    wished = {wish: [*arguments.get(wish, ()), ((first, second), level)]}
    assert no_better(reached(arguments | wished), reached(arguments))


def eased(arguments: Arguments, what: str) -> Arguments:
    """Return the arguments with one kind of limit raised."""
    if what == "strips":
        return arguments | {"strip_limit_a": arguments["strip_limit_a"] + 5}
    if what == "feeds":
        raised = {name: replace(feed, rating_a=feed.rating_a + 5) for name, feed in arguments["feeds"].items()}
        return arguments | {"feeds": raised}
    if what == "panels":
        roomier = {name: replace(site, max_bays=site.max_bays + 1) for name, site in arguments["panels"].items()}
        return arguments | {"panels": roomier}
    modules = {
        name: replace(m, limit_a=None if m.limit_a is None else m.limit_a + 5, stud_limit_a=m.stud_limit_a + 5)
        for name, m in arguments["modules"].items()
    }
    return arguments | {"modules": modules}


@pytest.mark.parametrize("what", ["strips", "feeds", "panels", "modules"])
@settings(repeatable, max_examples=6)
@given(few_features)
def test_a_raised_limit_makes_nothing_worse(what: str, arguments: Arguments) -> None:
    before = reached(arguments)
    assume(before is not None)
    assert no_better(before, reached(eased(arguments, what)))
