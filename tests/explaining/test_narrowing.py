"""Fewer choices for each circuit: never a plan that the wider vehicle has not, and never a plan lost."""

from __future__ import annotations

import time
from typing import Any

from allocator.explaining.asking import ask
from allocator.explaining.narrowing import narrowed
from allocator.explaining.sketch import Change, case_of
from allocator.solving.engine import Clock
from allocator.verifying import verify
from tests.builders import A, F, M, P, build_sized
from tests.explaining.test_clashes import LONG_S

FEEDS = {"main": F(50), "aux": F(50), "key": F(6)}
CIRCUITS = {"a": A(4, ("key", "aux")), "b": A(4, ("key", "main")), "c": A(4, ("main", "aux"))}


def clock() -> Clock:
    return Clock(time.monotonic() + LONG_S)


def feeds_of(*changes: Change, **wishes: Any) -> dict[str, tuple[str, ...]] | None:
    sized = build_sized(circuits=CIRCUITS, modules={"row": M(("4F strip",))}, feeds=FEEDS, **wishes)
    case = case_of(sized.requirements, changes)
    assert case is not None
    few = narrowed(case, clock())
    return None if few is None else {need.id: need.feeds for need in few.needs}


def unbind(*feeds: str) -> Change:
    return lambda sketch: sketch.boundless.update(f"feed {name}" for name in feeds)


def test_circuits_gather_on_few_feeds_without_a_limit() -> None:
    """Of main and key, each of which two could be on, one; what only aux and it accept goes there."""
    found = feeds_of(unbind("main", "key"))
    assert found is not None
    assert {found["b"], found["c"]} == {("main",)} or {found["a"], found["b"]} == {("key",)}


def test_amperes_are_kept_where_they_count() -> None:
    """Key carries 4.8 A: one of the two at most."""
    found = feeds_of()
    assert found is not None
    assert [found["a"], found["b"]].count(("key",)) <= 1
    assert all(len(feeds) == 1 for feeds in found.values())


def test_circuits_that_must_be_on_different_feeds_are() -> None:
    found = feeds_of(unbind("main", "aux", "key"), apart=[(("a", "b", "c"), "feed")])
    assert found is not None
    assert len({found["a"], found["b"], found["c"]}) == 3


def test_nothing_is_said_where_amperes_allow_nothing() -> None:
    sized = build_sized(circuits={"a": A(4), "b": A(4)}, modules={"row": M(("4F strip",))}, feeds={"main": F(6)})
    case = case_of(sized.requirements, ())
    assert case is not None
    assert narrowed(case, clock()) is None


def test_a_plan_that_needs_the_wider_choice_is_found() -> None:
    """A solid bus has one feed: the two that only agree on aux share it, though main alone would serve more."""
    sized = build_sized(
        circuits={"a": A(2, ("main",)), "b": A(2, ("main", "aux")), "c": A(2, ("aux",)), "d": A(2, ("main",))},
        modules={"stud": M(("2F stud",))},
        feeds={"main": F(50), "aux": F(50)},
        panels={"cab": P(2)},
    )
    case = case_of(sized.requirements, [unbind("main", "aux")])
    assert case is not None
    few = narrowed(case, clock())
    assert few is not None and {need.id: need.feeds for need in few.needs}["b"] == ("main",)
    answer = ask(case, (), clock())
    assert answer.plan is not None
    assert verify(case.sized, answer.plan) == ()
