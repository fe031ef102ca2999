"""Which fuse stands next before a cable, a feed entry and a coil, on the hand-built panel and where it is spoilt."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.requirements.catalogue import Fuse
from allocator.sizing.sized import Sized
from allocator.verifying.fuses_before import fuse_before_cable, fuse_before_coil, fuse_before_entry
from allocator.verifying.view import View
from tests.verifying.edits import change
from tests.verifying.hand_built import good, with_feed


def _id(fuse: Fuse | None) -> str | None:
    return None if fuse is None else fuse.id


def _with(table: str, key: str, **fields: Any) -> Sized:
    """Return the hand-built sizing table over requirements in which one circuit or feed is other."""
    sized, _ = good()
    if table == "feeds":
        return with_feed(sized, key, **fields)
    requirements = sized.requirements
    circuits = tuple(c.model_copy(update=fields) if c.id == key else c for c in requirements.circuits)
    return replace(sized, requirements=requirements.model_copy(update={"circuits": circuits}))


def test_before_a_cable_stands_the_feed_s_own_fuse_or_what_protects_its_source() -> None:
    """The deck has only a relay, which its source enters behind a tail fuse of 60 A."""
    view = View(*good())
    fuses = {name: _id(fuse_before_cable(view, name)) for name in view.feeds}
    roots = {"battery": "SF30-100", "ignition": "SF30-60"}
    assert fuses == roots | {"lights": "E-40", "hold": "E-30", "deck": "SF30-60"}


def test_a_relay_without_a_tail_fuse_before_it_hangs_on_the_cable_of_its_source() -> None:
    sized, plan = good()
    view = View(sized, change(plan, "pieces", "aft/1/S1", tail_fuse=None))
    assert _id(fuse_before_cable(view, "deck")) == "SF30-100"


def test_feeds_that_feed_each_other_come_to_an_end() -> None:
    """Reading refuses such a circle; an edited file may hold one, and the checker must not go round in it."""
    _, plan = good()
    view = View(_with("feeds", "battery", source="deck"), change(plan, "pieces", "aft/1/S1", tail_fuse=None))
    assert _id(fuse_before_cable(view, "deck")) == "SF30-100"


def test_without_a_row_in_the_sizing_table_or_a_way_nothing_stands_before_a_cable() -> None:
    sized, plan = good()
    assert fuse_before_cable(View(replace(sized, feeds={}), plan), "battery") is None
    without = plan.model_copy(update={"ways": tuple(way for way in plan.ways if way.need != "hold")})
    assert fuse_before_cable(View(sized, without), "hold") is None


def test_before_an_entry_stands_its_tail_fuse_and_else_what_stands_before_the_cable() -> None:
    sized, plan = good()
    view = View(sized, plan)
    found = {entry.at: _id(fuse_before_entry(view, entry)) for entry in view.entries}
    assert (found["aft/3/B/1-2"], found["cabin/3/B/1-1"], found["cabin/4/A/1-3"]) == ("E-50", "E-40", "SF30-60")


@pytest.mark.parametrize(
    ("name", "control", "before"),
    [
        ("horn", None, "C-15"),
        ("horn", "radio", "C-5"),  # the coil hangs on the radio's circuit
        ("hazard", None, "C-15"),
        ("hazard", "radio", "C-15"),  # a flasher's timer hangs on the supply of its load
    ],
)
def test_before_a_coil_stands_the_fuse_of_its_control(name: str, control: str | None, before: str) -> None:
    view = View(_with("circuits", name, control=control), good()[1])
    assert _id(fuse_before_coil(view, ("circuit", name))) == before


def test_an_in_line_fuse_of_the_same_kind_as_the_own_one_stands_before_the_coil() -> None:
    """The horn has 15 A in its way and, its coil hanging on the radio's 5 A, such a fuse in the lead as well."""
    sized, plan = good()
    horn = sized.need_by_id["horn"]
    options = tuple(replace(item, parts={**item.parts, "C-15": 2}) for item in horn.options if item.fuse == "C-15")
    assert options
    needs = tuple(replace(need, options=options) if need == horn else need for need in sized.needs)
    spoilt = replace(_with("circuits", "horn", control="radio"), needs=needs)
    assert _id(fuse_before_coil(View(spoilt, plan), ("circuit", "horn"))) == "C-15"


def test_before_the_coil_of_a_feed_s_relay_stands_the_fuse_of_its_control() -> None:
    view = View(*good())
    assert (_id(fuse_before_coil(view, ("feed", "deck"))), _id(fuse_before_coil(view, ("feed", "lights")))) == (
        ("C-2", "C-2")
    )
    own = View(_with("feeds", "lights", control=None), good()[1])
    assert _id(fuse_before_coil(own, ("feed", "lights"))) == "E-40"


@pytest.mark.parametrize("kind", ["circuit", "feed"])
def test_before_the_coil_of_what_is_not_known_stands_nothing(kind: str) -> None:
    """Another rule tells of it."""
    assert fuse_before_coil(View(*good()), (kind, "nowhere")) is None
