"""What could be asked for in place of a cap, of several caps, and under a cap."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import pytest

from allocator.explaining import remedies
from allocator.explaining.clashes import explain
from allocator.explaining.demands import Demand, Easing
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.reducing import Reducer
from allocator.explaining.remedies import climb
from allocator.explaining.sketch import Change
from allocator.plan.cautions import cautions_about
from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.verifying import verify
from tests.builders import A, F, M, P, build_sized
from tests.cli.running import SCENARIOS
from tests.explaining.broken import ONE_WAY, PLAIN, capped
from tests.explaining.test_clashes import LONG_S

DEAR_OR_CHEAP: dict[str, Any] = {"modules": {"dear": M(("2F",), price=1000), "cheap": M(("1F",), price=250)}}
"""Two circuits: in one bay for 10.00, in two for 5.00."""


def ways_out(goals: tuple[Any, ...], **changes: Any) -> list[tuple[str, bool]]:
    """What could be asked for instead, and whether it is the least that does."""
    clash = explain(build_sized(**{**PLAIN, **changes, "goals": goals}).requirements, time_limit_s=LONG_S)
    assert clash is not None
    return [(" and ".join(words for _, words in remedy.eased), remedy.is_least) for remedy in clash.remedies]


def test_the_least_cap_is_named() -> None:
    """Found with the caps on other goals kept."""
    assert ("a cap of 5.00 on price", True) in ways_out(("bays", capped("price", "4.99")), **DEAR_OR_CHEAP)
    both = ways_out((capped("bays", 1), capped("price", "4.99")), **DEAR_OR_CHEAP)
    assert ("a cap of 10.00 on price", True) in both


def test_a_cap_is_named_rounded_up() -> None:
    """A peak of 5/7."""
    three = {"circuits": {"left": A(5)}, "feeds": {"main": F(7)}}
    assert ("a cap of 71.5 % on peak-utilisation", True) in ways_out((capped("peak-utilisation", "70 %"),), **three)


def test_several_caps_that_are_too_much_together() -> None:
    """Both at once: neither a second bay nor the dear module, and no cap alone is to blame."""
    both = ways_out((capped("bays", 0), capped("price", "4.99")), **DEAR_OR_CHEAP)
    assert "no cap on bays and no cap on price" in [words for words, _ in both]


def test_other_easings_keep_the_caps() -> None:
    """More room would allow a second module, but the cap on bays does not: both are eased, or a circuit left out."""
    said = [words for words, _ in ways_out((capped("bays", 1), "price"), modules=ONE_WAY, panels={"cab": P(1)})]
    assert 'panel "cab" with room for 2 bays and no cap on bays' in said
    assert 'panel "cab" with room for 2 bays' not in said and "a cap of 2 on bays" not in said


def test_of_many_steps_the_first_that_does_is_named() -> None:
    """Two bays of four ways, two circuits: six of thirty spare ways, and seven are refuted."""
    said = ways_out(("bays",), spares=[{"fuse_format": "F", "count": 30}], panels={"cab": P(2)})
    assert ("6 spare ways of type F instead of 30 (rule 1)", True) in said


def test_the_plan_of_a_way_out_is_told_whole() -> None:
    """The camper with one bay: each plan keeps its requirements and has its cautions and bounds that hold."""
    requirements = load_scenario(SCENARIOS / "starter-camper")
    site = requirements.scenario.panels[0].model_copy(update={"max_bays": 1})
    scenario = requirements.scenario.model_copy(update={"panels": (site,)})
    clash = explain(requirements.model_copy(update={"scenario": scenario}), time_limit_s=LONG_S)
    assert clash is not None and clash.remedies
    for remedy in clash.remedies:
        sized = size(remedy.plan.requirements)
        assert verify(sized, remedy.plan) == ()
        assert remedy.plan.cautions == cautions_about(sized, remedy.plan) != ()
        assert {goal.goal: goal.bound for goal in remedy.plan.goals}["bays"] >= 1


@pytest.fixture
def no_time_for_clashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """All time goes into what clashes, once a first way out was looked for."""

    def use_up_all_time(reducer: Reducer, names: Names) -> Names:
        reducer.inquiry.clock.stop.set()
        return names

    monkeypatch.setattr(Reducer, "fine", use_up_all_time)


@pytest.mark.usefixtures("no_time_for_clashes")
def test_of_a_large_clash_one_way_out_comes_first() -> None:
    """Thirty circuits and seven bays of four ways: an eighth is named."""
    thirty = {f"c{number}": A(1) for number in range(30)}
    said = ways_out(("bays",), circuits=thirty, feeds={"main": F(90)}, panels={"cab": P(7)})
    assert said == [('panel "cab" with room for 8 bays', True)]


@pytest.mark.usefixtures("no_time_for_clashes")
def test_panels_that_are_too_small_grow_together() -> None:
    """Thirty circuits in each of two panels with seven bays of four ways: one more bay for each, no third panel."""
    sixty = {f"c{number}": A(1, panels=("cab" if number < 30 else "rear",)) for number in range(60)}
    panels = {"cab": P(7), "rear": P(7), "roof": P(1)}
    said = ways_out(("bays",), circuits=sixty, feeds={"main": F(90), "rear": F(90)}, panels=panels)
    assert said == [('panel "cab" with room for 8 bays and panel "rear" with room for 8 bays', True)]


@pytest.mark.usefixtures("no_time_for_clashes")
def test_time_that_ends_a_way_out_leaves_the_room_that_its_plan_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The room of the second panel could not be narrowed: what is told of it is no least."""

    def cut(inquiry: Inquiry, demand: Demand, ladder: Sequence[Easing], others: Sequence[Change] = ()) -> Any:
        return None if demand.name == "room of rear" else climb(inquiry, demand, ladder, others)

    monkeypatch.setattr(remedies, "climb", cut)
    sixty = {f"c{number}": A(1, panels=("cab" if number < 30 else "rear",)) for number in range(60)}
    feeds, panels = {"main": F(90), "rear": F(90)}, {"cab": P(7), "rear": P(7)}
    ((said, is_least),) = ways_out(("bays",), circuits=sixty, feeds=feeds, panels=panels)
    found = re.fullmatch(r'panel "cab" with room for 8 bays and panel "rear" with room for (\d+) bays', said)
    assert found is not None and 8 <= int(found[1]) <= 30 and not is_least
