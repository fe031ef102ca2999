"""From everything to a clash: what is dropped first, and what is left when time is up."""

from __future__ import annotations

import time
from typing import Any

from allocator.explaining.inquiry import Inquiry
from allocator.explaining.reducing import Reducer
from allocator.solving.engine import Clock
from tests.builders import A, F, M, build_sized
from tests.explaining.test_clashes import LONG_S

FIVE: dict[str, Any] = {
    "circuits": {"large": A(6), "first": A(4), "second": A(4), "third": A(4), "idle": A(0.1)},
    "modules": {"row": M(("8F strip",))},
    "feeds": {"main": F(9)},
}
"""The feed carries 9 A: two of 4 A, but neither three of them nor one and the large one."""


def inquiry() -> Inquiry:
    return Inquiry(build_sized(**FIVE).requirements, Clock(time.monotonic() + LONG_S))


def test_small_loads_are_dropped_first() -> None:
    """Left are the large one and one of 4 A; three of 4 A clash as well, but are one more."""
    asked = inquiry()
    reducer = Reducer(asked, "feeds")
    found = reducer.fine(reducer.coarse(asked.everything))
    assert found == {"circuit large", "circuit third", "current of main"}


def test_what_is_not_settled_in_time_stays() -> None:
    """The set that clashes is then a larger one."""
    asked = inquiry()
    asked.clock.stop.set()
    assert Reducer(asked, "feeds").fine(asked.everything) == asked.everything


def test_a_circuit_may_have_any_name() -> None:
    """What is said of no circuit presupposes none, not even one that is called "None"."""
    requirements = build_sized(**FIVE | {"circuits": {"None": A(1)}}).requirements
    asked = Inquiry(requirements, Clock(time.monotonic() + LONG_S))
    presupposed = {name: asked.presupposed(name) for name in asked.everything}
    assert presupposed.pop("fuse format of None") == {"circuit None"}
    assert set(presupposed.values()) == {frozenset()}
