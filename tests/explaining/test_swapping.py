"""A circuit takes another's place only where that makes a whole plan."""

from __future__ import annotations

import time
from functools import cache
from itertools import combinations
from pathlib import Path

from allocator.explaining.inquiry import Inquiry
from allocator.explaining.swapping import swapped, with_relay_of, with_way_of
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


def plan_without_demand(name: str) -> Plan:
    plan = inquiry().answer(inquiry().everything - {name}).plan
    assert plan is not None
    return plan


def test_a_socket_goes_to_the_circuit_that_needs_one_again() -> None:
    case = inquiry().case(inquiry().everything - {"relay of work-side"})
    assert case is not None
    found = with_relay_of(plan_without_demand("relay of work-rear"), case, "work-rear", "work-side")
    assert found is not None
    assert verify(case.sized, found) == ()
    assert {socket.need for socket in found.sockets} >= {"work-rear"}
    assert with_relay_of(found, case, "work-rear", "work-side") is None, "it has one by now"


def test_two_circuits_trade_their_ways_where_the_feeds_suit() -> None:
    """Two with the same fuse on one feed do; with the fuel pump, on a feed that it does not accept, a lamp does not."""
    plan = plan_without_demand("relay of work-rear")
    case = inquiry().case(inquiry().everything - {"relay of work-rear"})
    assert case is not None
    at = {way.need: way for way in plan.ways if way.kind == "circuit"}
    one, other = next((a, b) for a, b in combinations(at, 2) if (at[a].feed, at[a].fuse) == (at[b].feed, at[b].fuse))
    found = with_way_of(plan, case, one, other)
    assert found is not None
    assert verify(case.sized, found) == ()
    moved = {way.need: way.at for way in found.ways}
    assert (moved[one], moved[other]) == (at[other].at, at[one].at)
    assert with_way_of(plan, case, "exam-lamp", "fuel-pump") is None
