"""A circuit takes another's place only where that makes a whole plan."""

from __future__ import annotations

import time
from functools import cache
from pathlib import Path

from allocator.explaining.inquiry import Inquiry
from allocator.explaining.swapping import swapped
from allocator.plan.plan import Plan
from allocator.requirements import load_scenario
from allocator.solving.engine import Clock
from allocator.verifying import verify

VAN = Path(__file__).parents[2] / "scenarios" / "vet-van"


@cache
def inquiry() -> Inquiry:
    return Inquiry(load_scenario(VAN), Clock(time.monotonic() + 600))


def plan_without(circuit: str) -> Plan:
    plan = inquiry().answer(inquiry().everything - {f"circuit {circuit}"}).plan
    assert plan is not None
    return plan


def test_a_like_circuit_takes_the_place() -> None:
    case = inquiry().case(inquiry().everything - {"circuit exam-lamp"})
    assert case is not None
    found = swapped(plan_without("step-lamp"), case, "step-lamp", "exam-lamp")
    assert found is not None
    assert verify(case.sized, found) == ()


def test_a_circuit_that_switches_others_does_not() -> None:
    """Without the surgery's switch there is nothing that it switches either: its plan lacks more than one circuit."""
    case = inquiry().case(inquiry().everything - {"circuit step-lamp"})
    assert case is not None
    assert swapped(plan_without("surgery-switch"), case, "surgery-switch", "step-lamp") is None
