"""
Why this panel: what binds a plan, and what room is left in it.

A checked plan comes in; ``Why`` goes out as plain data, with the plans that back it.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from allocator.explaining.binding import Binder
from allocator.explaining.head_room import DEFAULT_LOAD, Room
from allocator.explaining.inquiry import Inquiry
from allocator.plan.measures import counts_of
from allocator.plan.plan import Plan
from allocator.plan.why import HeadRoom, Why
from allocator.solving.allocate import DEFAULT_TIME_LIMIT_S
from allocator.solving.engine import Clock

SHARE_OF_ROOM = 0.3
"""Share of the time that is kept for the room that is left, whatever the easings take."""


@dataclass(frozen=True)
class Backed:
    """What binds, with a plan by file name for every easing that saves."""

    why: Why
    plan_by_file: dict[str, Plan]


def what_binds(
    plan: Plan, *, time_limit_s: float = DEFAULT_TIME_LIMIT_S, load: str = DEFAULT_LOAD, clock: Clock | None = None
) -> Backed:
    """
    Say what binds a plan.

    Parameters
    ----------
    plan
        A plan that keeps its requirements.
    time_limit_s
        Wall time; what was not settled then is said to be open.
    load
        Load of each further circuit by which head-room is counted, such as ``"2 A"``.
    clock
        In place of ``time_limit_s``: a clock that others may stop.
    """
    clock = clock or Clock(time.monotonic() + time_limit_s)
    inquiry = Inquiry(plan.requirements, clock)
    plans: dict[str, Plan] = {}
    eased = []
    with clock.part(1 - SHARE_OF_ROOM):
        bindings = list(Binder(inquiry, plan).run())
    was_cut = clock.was_cut and any(binding.eased.is_open for binding in bindings)
    for binding in bindings:
        told = binding.eased
        if binding.plan is not None:
            name = f"eased-{len(plans) + 1}.json"
            plans[name] = binding.plan
            told = told.model_copy(update={"plan": name})
        eased.append(told)
    rooms: list[HeadRoom] = []
    room_left = Room(inquiry, plan, load)
    for room in room_left.run():
        clock.say(f"room for {room.count} more of type {room.fuse_format} on {room.feed}")
        rooms.append(room)
    why = Why(
        counts=counts_of(plan),
        eased=tuple(eased),
        load=load,
        head_room=tuple(rooms),
        was_cut=was_cut or room_left.was_cut,
    )
    return Backed(why, plans)
