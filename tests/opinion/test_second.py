"""The second model agrees with what the first one proves, and finds the better plan where a claim is too weak."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings

from allocator.errors import CannotBeMet
from allocator.opinion import opinion_of_refusal, second_opinion
from allocator.opinion.linear import Linear
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Aim, Goal
from allocator.solving import allocate
from tests.builders import MINI_PANELS, build_sized, mini_panel
from tests.model.rule_cases import at_a_socket
from tests.sizing.vehicles import sized as size
from tests.strategies import Arguments, mid_size_panels, tiny_panels

FEASIBLE = [instance for instance in MINI_PANELS if instance["expected"] != "infeasible"]


def with_claim(plan: Plan, goal: Goal, value: Fraction) -> Plan:
    """Return the plan with another value stated for a goal, and for it alone."""
    goals = tuple(
        result.model_copy(update={"value": value, "bound": value}) if result.goal == goal else result
        for result in plan.goals
    )
    return plan.model_copy(update={"goals": goals})


@pytest.mark.parametrize("instance", FEASIBLE, ids=lambda instance: instance["id"])
def test_it_agrees_with_known_optima(instance: Mapping[str, Any]) -> None:
    sized = mini_panel(instance)
    opinions = second_opinion(sized, allocate(sized))
    assert {opinion.verdict for opinion in opinions} == {"agrees"}


@pytest.mark.parametrize("instance", MINI_PANELS, ids=lambda instance: instance["id"])
def test_it_knows_which_have_no_plan(instance: Mapping[str, Any]) -> None:
    """As published, and as it is where nothing says so: one bay less than the fewest."""
    sized = mini_panel(instance)
    if instance["expected"] == "infeasible":
        assert opinion_of_refusal(sized) == "agrees"
        return
    assert opinion_of_refusal(sized) in ("disagrees", "cannot say")  # with a plan no refusal is right
    bays = next(result.value for result in allocate(sized).goals if result.goal == "bays")
    rules = sized.requirements.scenario.rules
    for less, verdicts in ((0, ("disagrees", "cannot say")), (1, ("agrees",))):
        capped = rules.model_copy(update={"objective": (Aim(goal="bays", cap=int(bays) - less),)})
        scenario = sized.requirements.scenario.model_copy(update={"rules": capped})
        asked = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
        assert opinion_of_refusal(asked) in verdicts


def test_it_says_when_its_time_was_up(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = Linear.solved
    monkeypatch.setattr(Linear, "solved", lambda *words: replace(solved(*words), status="unknown"))
    assert opinion_of_refusal(mini_panel(FEASIBLE[0])) == "time was up"


def test_it_cannot_say_where_it_leaves_something_out() -> None:
    vehicle = at_a_socket(10)
    assert opinion_of_refusal(size(*vehicle.pop("circuits"), **vehicle)) == "cannot say"


@pytest.mark.parametrize("goal", ["bays", "module-types", "strip-pieces", "price"])
def test_a_claim_that_is_too_weak_is_seen(goal: Goal) -> None:
    """One more than the known optimum: a plan exists that is better than claimed."""
    instance = FEASIBLE[0]
    sized = mini_panel(instance)
    plan = allocate(sized)
    value = next(result.value for result in plan.goals if result.goal == goal)
    opinions = second_opinion(sized, with_claim(plan, goal, value + 2))
    (opinion,) = [opinion for opinion in opinions if opinion.goal == goal]
    assert opinion.verdict in ("disagrees", "cannot say")
    assert opinion.verdict == "disagrees" or opinion.left_out


def test_it_knows_what_a_tail_at_a_relay_socket_carries() -> None:
    """
    With 20 A behind the relay it finds fewer bays than claimed, but leaves rules out; with 24 A there is no plan.

    The tail carries 22.5 A.
    """
    vehicles = {load_a: at_a_socket(load_a) for load_a in (10, 12)}
    sized = {load_a: size(*vehicle.pop("circuits"), **vehicle) for load_a, vehicle in vehicles.items()}
    plan = with_claim(allocate(sized[10]), "bays", Fraction(8))
    verdicts = {
        load_a: next(opinion.verdict for opinion in second_opinion(table, plan) if opinion.goal == "bays")
        for load_a, table in sized.items()
    }
    assert verdicts == {10: "cannot say", 12: "agrees"}


def same_opinion(arguments: Arguments) -> None:
    sized = build_sized(**arguments)
    try:
        plan = allocate(sized)
    except CannotBeMet:
        return
    for opinion in second_opinion(sized, plan):
        assert opinion.verdict in ("agrees", "cannot say"), opinion
        assert opinion.verdict == "agrees" or opinion.left_out


@settings(deadline=None, derandomize=True, database=None, max_examples=40)
@given(tiny_panels())
def test_it_agrees_on_tiny_panels(arguments: Arguments) -> None:
    """With branches, bonds, several panels, tolerances and caps, as brute force knows them."""
    same_opinion(arguments)


@settings(deadline=None, derandomize=True, database=None, max_examples=6)
@given(mid_size_panels())
def test_it_agrees_on_larger_panels(arguments: Arguments) -> None:
    same_opinion(arguments)


@pytest.mark.long
@settings(deadline=None, max_examples=1500)
@given(tiny_panels())
def test_it_agrees_on_many(arguments: Arguments) -> None:
    same_opinion(arguments)
