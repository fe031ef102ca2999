"""A plan warns of what only the plan shows."""

from __future__ import annotations

import pytest

from allocator.plan.cautions import cautions_about
from allocator.solving import allocate
from tests.builders import A, F, M, build_sized
from tests.outputs.conftest import content_of


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


def test_a_plan_warns_of_what_it_has_chosen_and_of_nothing_that_it_left() -> None:
    """A motor behind 20 A of type E may stall for ever; the plan has put it behind a smaller fuse of another type."""
    content = content_of("starter-camper")
    options = {item.need.id: item.option for item in content.index.needs}
    warned = {item.about for item in content.cautions if item.rule == "fuse-slow-at-stall"}
    might = {item.about for item in content.sized.cautions if item.rule == "fuse-slow-at-stall"}
    assert {options[name].fuse_format for name in might} == {"C"}  # opens within 5 s at twice its rating
    assert might and not warned


@pytest.mark.parametrize("name", ["creek-workboat", "library-bus"])
def test_the_cautions_of_a_plan_are_among_those_of_its_table(name: str) -> None:
    """By kind and by what they are about; a line for many circuits names those of the plan alone."""
    content = content_of(name)
    feeds = {item.need.id: item.feed for item in content.index.needs}
    for caution in content.cautions:
        same = [set(item.about.split(", ")) for item in content.sized.cautions if item.rule == caution.rule]
        if caution.rule == "drop-with-feed":  # names only the worst, which may be another one in the plan
            assert same and caution.about in feeds
        else:
            assert any(set(caution.about.split(", ")) <= about for about in same), caution
    assert len(content.cautions) < len(content.sized.cautions)
    critical = {circuit.id for circuit in content.plan.requirements.circuits if circuit.critical}
    for caution in content.cautions:
        if caution.rule == "critical-share-feed":
            assert sum(feeds[circuit] == caution.about for circuit in critical) > 1
