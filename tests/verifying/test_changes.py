"""What a plan changes in the hand-built panel, counted by hand: wires moved, parts it has not got, entries recut."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

from allocator.plan.plan import Plan
from allocator.sizing.sized import Cut, Sized
from allocator.verifying.changes import AsBuilt, changes_made
from tests.verifying.edits import add, change, remove
from tests.verifying.hand_built import good
from tests.verifying.mutations import Mutation
from tests.verifying.other_tables import with_circuit, with_need, with_options, with_tables


def _counted(sized: Sized, plan: Plan, built: Sized | None = None, names: Mapping[str, str] | None = None) -> list[int]:
    """Return moved wires, new parts and recut entries against the hand-built plan."""
    made = changes_made(AsBuilt(built or good()[0], good()[1], names or {}, names or {}), sized, plan)
    return [int(made[kind]) for kind in ("moved-wires", "new-parts", "recut-strips")]


CASES: dict[str, tuple[Mutation, list[int]]] = {
    "nothing": (lambda p: p, [0, 0, 0]),
    "a way": (lambda p: change(p, "ways", "radio", at="cabin/4/B/3"), [1, 0, 0]),
    "a way whose relay stays: its jumper": (lambda p: change(p, "ways", "hazard", at="cabin/1/A/3"), [1, 0, 0]),
    "and the lead from 86 to it": (lambda p: change(p, "ways", "fan", at="cabin/1/A/4"), [2, 0, 0]),
    "a socket: 87, 87a, 85, 86, jumper": (lambda p: change(p, "sockets", "fan", at="cabin/1/S1"), [5, 0, 0]),
    "a spare way": (lambda p: change(p, "ways", "spare-1-1", at="cabin/4/B/4"), [0, 0, 0]),
    "a circuit forgotten": (lambda p: remove(p, "ways", "pump-a"), [1, 0, 0]),
    "a way longer": (lambda p: change(p, "pieces", "cabin/3/A/1-2", at="cabin/3/A/1-3"), [0, 0, 1]),
    # a second tail of the lights asks for a distribution stud
    "another feed": (lambda p: change(p, "pieces", "cabin/3/A/1-2", feed="lights"), [0, 1, 1]),
    "an entry more": (lambda p: add(p, "pieces", at="cabin/3/A/3-3", kind="strip", feed="lights"), [0, 1, 0]),
    "an entry less": (lambda p: remove(p, "pieces", "cabin/3/A/1-2"), [0, 0, 1]),
    "a relay that its source enters": (lambda p: remove(p, "sockets", "deck"), [2, 0, 1]),
    "a module and a carrier more": (
        lambda p: add(
            add(p, "modules", at="aft/4", module="twin"), "carriers", panel="aft", carrier="frame-1", first_bay=4
        ),
        [0, 2, 0],
    ),
    "a module of another type": (lambda p: change(p, "modules", "aft/1", module="twin"), [3, 1, 2]),
    "of another type with a socket of the same class": (
        lambda p: change(p, "modules", "aft/1", module="bus"),
        [3, 2, 2],  # pump-a has a fuse of format E there
    ),
    "a relay where no module is": (
        lambda p: add(p, "sockets", at="cabin/9/S1", kind="circuit", need="radio", relay="make-micro"),
        [0, 0, 0],
    ),
    "a module less": (lambda p: remove(p, "modules", "cabin/4"), [4, 0, 2]),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_what_an_edit_changes(name: str) -> None:
    edit, expected = CASES[name]
    sized, plan = good()
    assert _counted(sized, edit(plan)) == expected


def _wires(sized: Sized, *cuts: Cut) -> Sized:
    return with_options(sized, "radio", wires=cuts)


LOAD = Cut("w1", 2000, "way", "load")


@pytest.mark.parametrize(
    ("before", "now", "moved"),
    [
        ([LOAD], [LOAD], 0),
        ([LOAD], [replace(LOAD, length_mm=1999)], 0),
        ([LOAD], [replace(LOAD, length_mm=2001)], 1),
        ([LOAD], [replace(LOAD, wire="w1.5")], 1),
        ([LOAD], [replace(LOAD, end="return")], 1),
        ([LOAD], [replace(LOAD, start="87")], 1),
        ([LOAD], [], 1),
        ([LOAD, LOAD], [LOAD], 1),
        ([LOAD], [LOAD, LOAD], 0),
        ([replace(LOAD, length_mm=1000), LOAD], [replace(LOAD, length_mm=1000), replace(LOAD, length_mm=1500)], 0),
        ([LOAD, replace(LOAD, length_mm=1000)], [replace(LOAD, length_mm=1500), replace(LOAD, length_mm=1000)], 0),
    ],
)
def test_which_wires_can_be_left(before: list[Cut], now: list[Cut], moved: int) -> None:
    """Of the same wire, from the same cavity to the same end, and no longer than what is built."""
    sized, plan = good()
    assert _counted(_wires(sized, *now), plan, _wires(sized, *before)) == [moved, 0, 0]


def test_a_wire_that_does_not_touch_the_panel_stays_where_its_way_moves() -> None:
    """The return to an earth point of a circuit whose way is another now."""
    sized, plan = good()
    wired = _wires(sized, LOAD, Cut("w1", 2000, "", "return"))
    assert _counted(wired, change(plan, "ways", "radio", at="cabin/4/B/3"), wired) == [1, 0, 0]


@pytest.mark.parametrize(
    ("start", "moved"),
    [("87", 2), ("way", 1), ("", 1)],  # with the jumper
)
def test_which_wires_go_with_a_socket(start: str, moved: int) -> None:
    sized, plan = good()
    wired = with_options(sized, "fan", wires=(Cut("w1.5", 2000, start, "load"),))
    assert _counted(wired, change(plan, "sockets", "fan", at="cabin/1/S1"), wired) == [moved, 0, 0]


def test_a_spare_way_has_no_wires_whatever_the_table_says() -> None:
    sized, plan = good()
    wired = with_options(sized, "spare-1-1", wires=(LOAD,))
    assert _counted(wired, change(plan, "ways", "spare-1-1", at="cabin/4/B/4"), wired) == [0, 0, 0]


def test_a_jumper_of_another_wire_is_pulled() -> None:
    sized, plan = good()
    assert _counted(with_options(sized, "fan", jumper_wire="w1.5"), plan) == [1, 0, 0]
    without = with_options(sized, "fan", jumper_wire=None)
    assert _counted(without, plan) == [1, 0, 0]
    assert _counted(sized, plan, without) == [0, 0, 0]


def test_the_end_of_a_wire_is_no_name() -> None:
    """A circuit that is called as the far ends of others are."""
    sized, plan = good()
    assert _counted(sized, plan, names={"load": "cargo", "earth": "soil"}) == [0, 0, 0]


def test_what_is_not_wanted_any_more_does_not_move() -> None:
    sized, plan = good()
    circuits = tuple(circuit for circuit in sized.requirements.circuits if circuit.id != "pump-a")
    assert _counted(with_tables(sized, circuits=circuits), remove(plan, "ways", "pump-a")) == [0, 0, 0]


def _dash_switch(sized: Sized) -> Sized:
    named = with_need(with_circuit(sized, "light-switch", id="dash-switch"), "light-switch", id="dash-switch")
    wires = sized.need_by_id["lights"].options[0].wires
    ends = tuple(replace(cut, end=cut.end.replace("light-switch", "dash-switch")) for cut in wires)
    return with_options(named, "lights", wires=ends)


def _bow(sized: Sized) -> Sized:
    feeds = sized.requirements.scenario.feeds
    named = tuple(feed.model_copy(update={"name": "bow"}) if feed.name == "deck" else feed for feed in feeds)
    return with_need(with_tables(sized, feeds=named), "deck", id="bow", supplies="bow")


RENAMED: dict[tuple[str, str], tuple[Mutation, Callable[[Sized], Sized], list[int]]] = {
    ("light-switch", "dash-switch"): (
        lambda p: change(p, "ways", "light-switch", need="dash-switch"),
        _dash_switch,
        [1, 0],  # the lead to its switched side
    ),
    ("deck", "bow"): (
        lambda p: change(change(p, "sockets", "deck", need="bow"), "pieces", "aft/3/B/1-2", feed="bow"),
        _bow,
        [0, 2],  # where battery enters its relay, and where it enters itself
    ),
}


@pytest.mark.parametrize("names", RENAMED)
def test_what_was_renamed_is_the_same_thing(names: tuple[str, str]) -> None:
    """Said that it was, nothing changes; not said, it is not wanted any more, and what hangs on it changes."""
    edit, table, unsaid = RENAMED[names]
    sized, plan = good()
    assert _counted(table(sized), edit(plan), names=dict([names]))[::2] == [0, 0]
    assert _counted(table(sized), edit(plan))[::2] == unsaid


def test_what_was_renamed_moves_like_any_other() -> None:
    """Its run and all else that moves with it are counted as those of a circuit that keeps its name."""
    edit, table, _ = RENAMED["light-switch", "dash-switch"]
    sized, plan = good()
    moved = change(edit(plan), "ways", "dash-switch", at="cabin/4/B/3")
    names = {"light-switch": "dash-switch"}
    assert (
        _counted(table(sized), moved, names=names)[0]
        == _counted(sized, change(plan, "ways", "light-switch", at="cabin/4/B/3"))[0]
        > 0
    )
