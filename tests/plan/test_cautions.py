"""A plan warns of what only the plan shows."""

from __future__ import annotations

from allocator.plan.cautions import cautions_about
from allocator.solving import allocate
from tests.builders import A, F, M, build_sized


def _cautions(*feeds: str) -> tuple[str, ...]:
    sized = build_sized(
        circuits={"lamp": A(5, feeds=feeds)},
        feeds={"main": F(100), "branch": F(20, source="main", fuse="F")},
        modules={"row-4": M(("4F strip",))},
    )
    return cautions_about(sized, allocate(sized))


def test_a_branch_with_nothing_on_it_is_named() -> None:
    assert _cautions("main") == (
        "feed branch supplies nothing in this plan; without it, its own fuse and relay would not be needed",
    )


def test_a_branch_in_use_is_not() -> None:
    assert _cautions("branch") == ()
