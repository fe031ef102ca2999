"""
What binds small plans, and what room is left, against trying every seating (``tests/oracles/brute_force.py``).

The oracle gives the lexicographic optimum of the eased vehicle; the easing must save just what it says.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import pytest

from allocator.explaining import binding as binding_room
from allocator.explaining.asking import OPEN, Answer
from allocator.explaining.binding import Binder
from allocator.explaining.demands import Demand
from allocator.explaining.head_room import Kind, Room, further
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.sketch import Change, case_of
from allocator.explaining.why import what_binds
from allocator.plan.cautions import cautions_about
from allocator.plan.measures import counts_of
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Goal, Requirements
from allocator.sizing import size
from allocator.solving import allocate
from allocator.solving.engine import Clock
from allocator.solving.models import Targets
from allocator.verifying import verify
from tests.builders import A, F, M, P, build_sized
from tests.explaining.test_clashes import LONG_S
from tests.oracles.brute_force import best_values

COUNTED = ("bays", "module-types", "strip-pieces")
PANELS: Mapping[str, Mapping[str, Any]] = {
    "a relay and a spare too many": {
        "circuits": {"a": A(2, relays=("micro",)), "b": A(2)},
        "modules": {"way": M(("2F strip",)), "socket": M((), {"micro": 1})},
        "feeds": {"main": F(10)},
        "panels": {"cab": P(3)},
        "spares": [{"fuse_format": "F", "count": 1}],
    },
    "two feeds and a bond": {
        "circuits": {"a": A(2, ("main",)), "b": A(2, ("aux",)), "c": A(2, ("main",))},
        "modules": {"way": M(("2F strip",)), "wide": M(("3F strip",))},
        "most": {"wide": 0},
        "feeds": {"main": F(6), "aux": F(3)},
        "panels": {"cab": P(2)},
        "apart": [(("a", "c"), "module")],
    },
    "a pin and a forbidden module": {
        "circuits": {"a": A(2, pin="cab/1/A/2"), "b": A(2, pin="cab/2/A/1")},
        "modules": {"way": M(("2F strip",)), "other": M(("1F strip",))},
        "most": {"other": 0},
        "feeds": {"main": F(6)},
        "panels": {"cab": P(2)},
    },
}


def vehicle(name: str) -> tuple[Requirements, Plan]:
    sized = build_sized(**{"goals": COUNTED, **PANELS[name]})
    requirements = sized.requirements
    return requirements, allocate(size(requirements))


def best(requirements: Requirements, *changes: Change) -> tuple[Fraction, ...] | None:
    case = case_of(requirements, changes)
    values = None if case is None else best_values(case.sized)
    return None if values is None else tuple(values[goal] for goal in COUNTED)


def first_saved(today: tuple[Fraction, ...], eased: tuple[Fraction, ...] | None) -> str | None:
    """The first goal that is less while none before it is more; no later one counts."""
    if eased is None or eased >= today:
        return None
    return next(goal for goal, old, new in zip(COUNTED, today, eased, strict=True) if new < old)


def steps(demand: Demand) -> list[tuple[str, Change]]:
    found = [(ladder[0].words, ladder[0].change) for ladder in demand.ladders if ladder]
    return found or [(demand.dropped, demand.drop)]


@pytest.mark.parametrize("name", PANELS)
def test_every_easing_saves_what_trying_everything_saves(name: str) -> None:
    requirements, plan = vehicle(name)
    today = best(requirements)
    assert today is not None and [result.value for result in plan.goals] == list(today)
    inquiry = Inquiry(requirements, Clock(time.monotonic() + LONG_S))
    bindings = {binding.eased.instead: binding for binding in Binder(inquiry, plan).run()}
    changes = dict(step for demand in inquiry.demands.values() for step in steps(demand))
    for words, binding in bindings.items():
        assert not binding.eased.is_open
        assert binding.eased.saves == first_saved(today, best(requirements, changes[words])), words
        assert binding.eased.saves not in binding.eased.not_less
        if binding.plan is None:
            assert binding.eased.proof and binding.eased.not_less
        else:
            assert binding.plan.cautions == cautions_about(size(binding.plan.requirements), binding.plan)
            assert verify(size(binding.plan.requirements), binding.plan) == ()
            assert binding.eased.counts == counts_of(binding.plan)
    assert any(binding.eased.saves for binding in bindings.values())


def test_equal_circuits_are_asked_about_once() -> None:
    circuits = {"a": A(2), "b": A(2), "c": A(3)}
    sized = build_sized(circuits=circuits, modules={"way": M(("2F strip",))}, feeds={"main": F(20)}, goals=COUNTED)
    backed = what_binds(allocate(size(sized.requirements)), time_limit_s=LONG_S)
    left_out = [item for item in backed.why.eased if item.instead.endswith("left out")]
    assert [(item.instead, item.also, item.saves) for item in left_out] == [
        ('circuit "a" left out', ("b",), "bays"),
        ('circuit "c" left out', (), "bays"),
    ]
    assert {*backed.plan_by_file} == {item.plan for item in backed.why.eased if item.plan}


@pytest.mark.parametrize("relay", [False, True])
def test_the_room_is_what_trying_everything_leaves(relay: bool) -> None:
    """One more circuit at a time, until trying everything needs a further bay."""
    sized = build_sized(
        circuits={"a": A(2)},
        modules={"both": M(("3F strip",), {"micro": 2})},
        feeds={"main": F(7)},
        panels={"cab": P(2)},
        goals=COUNTED,
    )
    requirements = sized.requirements
    plan = allocate(size(requirements))
    inquiry = Inquiry(requirements, Clock(time.monotonic() + LONG_S))
    found = {(room.feed, room.relay): room for room in Room(inquiry, plan, "2 A").run()}
    count = 0
    while (values := best(requirements, further(Kind("F", "main", relay), count + 1, "2 A"))) and values[0] <= 1:
        count += 1
    assert (found["main", relay].count, found["main", relay].is_most, found["main", relay].at_most) == (
        count,
        True,
        count,
    )


def test_where_time_is_up_only_what_is_proven_is_said() -> None:
    sized = build_sized(circuits={"a": A(2)}, modules={"row": M(("3F strip",))}, feeds={"main": F(70)}, goals=COUNTED)
    plan = allocate(size(sized.requirements))
    room = Room(Inquiry(sized.requirements, Clock(time.monotonic() + LONG_S)), plan)
    room._ask = lambda kind, count: Answer()  # type: ignore[method-assign]
    found = next(iter(room.run()))
    assert (found.count, found.is_most, found.at_most) == (0, False, 2)


def test_what_is_settled_in_part_is_told() -> None:
    """Bays are asked about first: with no time for more, it is said of each easing that it saves none."""
    requirements, plan = vehicle("two feeds and a bond")
    binder = Binder(Inquiry(requirements, Clock(time.monotonic() + LONG_S)), plan)
    ask_all, refute_all = binder._ask_all, binder._refute_all

    def only_bays_refuted(told: Sequence[Demand], goal: Goal, targets: Targets) -> None:
        if goal == "bays":
            refute_all(told, goal, targets)

    def only_bays(told: Sequence[Demand], goal: Goal, targets: Targets, most_s: float) -> None:
        ask_all(told, goal, targets, most_s)
        binder.inquiry.clock.stop.set()

    binder._refute_all = only_bays_refuted  # type: ignore[method-assign]
    binder._ask_all = only_bays  # type: ignore[method-assign]
    found = [binding.eased for binding in binder.run()]
    waiting = [eased for eased in found if eased.is_open]
    assert waiting and all(eased.not_less == ("bays",) and not eased.proof for eased in waiting)
    assert all(eased.saves == "bays" for eased in found if not eased.is_open)


def test_what_only_a_share_of_the_time_left_open_is_said_to_hang_on_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """There is time left in the end, but the relaxations had none of it."""
    _, plan = vehicle("two feeds and a bond")
    monkeypatch.setattr(binding_room, "ask", lambda case, targets, clock: OPEN)
    assert not what_binds(plan, time_limit_s=LONG_S).why.was_cut
    monkeypatch.setattr(binding_room, "SHARE_OF_PROOFS", 0.0)
    why = what_binds(plan, time_limit_s=LONG_S).why
    assert why.was_cut and any(eased.is_open for eased in why.eased)
