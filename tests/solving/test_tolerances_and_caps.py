"""Goals with a tolerance or a cap: what later goals may use, what no plan may exceed, and what is proven of both."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import pytest

from allocator.errors import CannotBeMet
from allocator.outputs.goals import bound_text
from allocator.plan.plan import GoalResult, Plan
from allocator.solving import allocate
from allocator.verifying import goal_values, verify
from tests.builders import A, F, M, P, build_sized
from tests.model.rule_cases import alike, panel
from tests.solving.test_goals import DEAR_OR_CHEAP, ROOMY


def results(goals: Sequence[Any], **arguments: Any) -> list[GoalResult]:
    """Return what is stated of each goal, after the checker's pass."""
    sized = build_sized(**arguments | {"goals": tuple(goals)})
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    values = goal_values(sized, plan)
    assert [result.value for result in plan.goals] == [values[result.goal] for result in plan.goals]
    return list(plan.goals)


def tolerant(goal: str, tolerance: int | str, **more: Any) -> dict[str, Any]:
    return {"goal": goal, "tolerance": tolerance} | more


def capped(goal: str, cap: int | str) -> dict[str, Any]:
    return {"goal": goal, "cap": cap}


def test_a_later_goal_uses_the_tolerance() -> None:
    """One bay is the proven best; the second bay that is allowed halves the price."""
    bays, price = results((tolerant("bays", 1), "price"), **DEAR_OR_CHEAP)
    assert (bays.value, bays.best, bays.bound, bays.allowed) == (2, 1, 1, 2)
    assert (bays.outcome, bays.closed_by) == ("within tolerance", "counting bound")
    assert (price.value, price.bound, price.outcome) == (500, 500, "best possible")
    assert bound_text(bays, "EUR") == "best possible is 1; up to 2 allowed"


@pytest.mark.parametrize(("tolerance", "bays"), [(0, 1), ("99 %", 1), ("100 %", 2)])
def test_a_tolerance_is_an_amount_or_a_share_of_the_best(tolerance: int | str, bays: int) -> None:
    assert results((tolerant("bays", tolerance), "price"), **DEAR_OR_CHEAP)[0].value == bays


@pytest.mark.parametrize(("tolerance", "price"), [("4.99", 500), ("5.00", 1000), ("99 %", 500), ("100 %", 1000)])
def test_a_tolerance_on_the_price(tolerance: str, price: int) -> None:
    """The plan of one bay costs 10.00, that of two 5.00; for half a bay it is not taken."""
    assert results((tolerant("price", tolerance), "bays"), **DEAR_OR_CHEAP)[0].value == price


def test_what_no_later_goal_needs_is_given_back() -> None:
    """More bays would do nothing for the pieces, so none are taken."""
    bays, pieces = results((tolerant("bays", 3), "strip-pieces"), **DEAR_OR_CHEAP)
    assert (bays.value, bays.outcome, pieces.value) == (1, "best possible", 2)


def test_what_the_last_goal_needs_is_taken_and_no_more() -> None:
    """A second feed halves the peak; of the three more pieces that are allowed it takes one."""
    rows = panel(
        circuits=alike(4, 5),
        feeds={"small": F(20), "large": F(20)},
        modules={"block": M(("4F",))},
        panels={"panel": P(2)},
    )
    pieces, peak = results(("strip-pieces", "peak-utilisation"), **rows)
    assert (pieces.value, peak.value) == (1, 1)
    pieces, peak = results((tolerant("strip-pieces", 3), "peak-utilisation"), **rows)
    assert (pieces.value, pieces.best, pieces.allowed, peak.value) == (2, 1, 4, Fraction(1, 2))


def test_a_cap_on_a_later_goal_binds_the_first() -> None:
    """One bay would do, were the price not capped below that of the dear module."""
    bays, price = results(("bays", capped("price", "9.99")), **DEAR_OR_CHEAP)
    assert (bays.value, bays.bound, bays.outcome) == (2, 2, "best possible")
    assert (price.value, price.cap) == (500, 999)
    assert bound_text(price, "EUR") == "best possible; cap 9.99"


def test_a_tolerance_stops_at_the_cap() -> None:
    bays, price = results((tolerant("bays", 2, cap=1), "price"), **DEAR_OR_CHEAP)
    assert (bays.value, bays.allowed, price.value) == (1, 1, 1000)


@pytest.mark.parametrize(("cap", "fits"), [("75.1 %", True), ("75 %", True), ("74.9 %", False)])
def test_a_cap_on_the_peak_is_exact(cap: str, fits: bool) -> None:
    """Of 20 A, 15 are drawn."""
    arguments = panel(3, feeds={"battery": F(20)})
    goals = ("bays", capped("peak-utilisation", cap))
    if fits:
        assert results(goals, **arguments)[1].value == Fraction(3, 4)
    else:
        with pytest.raises(CannotBeMet):
            results(goals, **arguments)


@pytest.mark.parametrize(
    ("goal", "cap", "below"),
    [
        ("bays", 2, 1), ("module-types", 2, 1), ("strip-pieces", 2, 1), ("long-jumpers", 1, 0), ("carriers", 1, 0),
        ("footprint", "9000 mm2", "89.99 cm2"), ("panels", 1, 0), ("wire-length", "2.8 m", "2799 mm"),
        ("price", "7.00", "6.99"), ("copper", "2987.1 g", "2986.9 g"),
    ],
)  # fmt: skip
def test_every_goal_can_be_capped(goal: str, cap: int | str, below: int | str) -> None:
    """Ways and sockets in two modules: 90 x 100 mm, two pieces, 2.8 m of wire of 120 mm2 (0.4 m of coil lead)."""
    far = panel(
        circuits={"c0": A(5, relays=("micro",)), "c1": A(5), "c2": A(5)},
        modules={"ways": M(("2F", "1F"), price=500), "sockets": M((), {"micro": 1}, price=200)},
        carriers={"double": 2},
    )
    assert results((capped(goal, cap),), **far)[0].outcome == "best possible"
    with pytest.raises(CannotBeMet):
        results((capped(goal, below),), **far)


def test_spare_ways_have_a_least_number_and_a_tolerance_downwards() -> None:
    """Sixteen ways are left in three bays; a tolerance gives ways away, and never below what is asked for at least."""
    room, bays = results((tolerant("spare-ways", 4), "bays"), **ROOMY)
    assert (room.value, room.best, room.bound, room.allowed, bays.value) == (16, 16, 16, 12, 3)
    assert bound_text(room, "EUR") == "best possible; down to 12 allowed"
    room, bays = results((tolerant("spare-ways", "40 %"), "bays"), **ROOMY)
    assert (room.value, room.allowed, room.outcome, bays.value) == (10, 10, "within tolerance", 2)
    room, bays = results((tolerant("spare-ways", "40 %", at_least=11), "bays"), **ROOMY)
    assert (room.value, room.allowed, room.cap, bays.value) == (16, 11, 11, 3)
    assert bound_text(room, "EUR") == "best possible; down to 11 allowed; at least 11"
    bays, room = results(("bays", {"goal": "spare-ways", "at_least": 5}), **ROOMY)
    assert (bays.value, room.value) == (2, 10)
    with pytest.raises(CannotBeMet):
        results(("bays", {"goal": "spare-ways", "at_least": 17}), **ROOMY)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"bound": Fraction(15)}, "the bound 15 is worse than the value 16"),
        ({"best": Fraction(21), "bound": Fraction(21)}, "stated is 16; the best is 21 and the tolerance 4"),
        ({"allowed": Fraction(11)}, "up to 11 is said to be allowed; it is 12"),
    ],
)
def test_false_claims_of_spare_ways_are_noticed(fields: dict[str, Any], says: str) -> None:
    sized = build_sized(**ROOMY | {"goals": (tolerant("spare-ways", 4), "bays")})
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    findings = verify(sized, claimed(plan, **fields))
    assert {finding.rule for finding in findings} == {"goal-value"}
    assert any(says in finding.detail for finding in findings), findings


def claimed(plan: Plan, **fields: Any) -> Plan:
    """Return the plan with other claims on its first goal."""
    first, *others = plan.goals
    changed = GoalResult.model_validate(first.model_dump() | fields)
    return plan.model_copy(update={"goals": (changed, *others)})


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"best": Fraction(0), "bound": Fraction(0)}, "the best is 0 and the tolerance 1"),
        ({"best": None}, "called within tolerance, but the bound is 1 and the best value 2"),
        ({"bound": Fraction(0)}, "called within tolerance, but the bound is 0 and the best value 1"),
        ({"bound": Fraction(2)}, "the bound 2 is worse than the best value 1"),
        ({"allowed": Fraction(3)}, "up to 3 is said to be allowed; it is 2"),
        ({"outcome": "best possible"}, "called best possible, but the bound is 1 and the value 2"),
    ],
)
def test_false_claims_are_noticed(fields: dict[str, Any], says: str) -> None:
    sized = build_sized(**DEAR_OR_CHEAP | {"goals": (tolerant("bays", 1), "price")})
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    findings = verify(sized, claimed(plan, **fields))
    assert {finding.rule for finding in findings} == {"goal-value"}
    assert any(says in finding.detail for finding in findings), findings
