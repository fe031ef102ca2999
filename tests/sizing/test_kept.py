"""Sizings kept from one call to the next: whatever a sum looks at, when it is other, is summed anew."""

from __future__ import annotations

import importlib
from typing import Any

import pytest

from allocator.sizing import size
from allocator.sizing.kept import KeptSizings
from tests.sizing.vehicles import circuit, feed, panel, requirements

TWO = {"panels": [panel(), panel("rear")]}
KEY = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="heavy", control="switch", home="cabin")
SWITCH = circuit("switch", load="1 A")
HORN = circuit("horn", switching="relay", relay_class="micro", control="switch")
BELL = circuit("bell", load="11 A", switching="relay", relay_class="heavy", control="switch")


def vehicle(*circuits: Any, **tables: Any) -> Any:
    return requirements(*circuits, **TWO | tables)


PLAIN = vehicle(SWITCH, HORN, feeds=[feed()])
KEYED = vehicle(SWITCH, HORN, feeds=[feed(rating="100 A"), KEY])
OTHERS = {
    "the circuit": (PLAIN, vehicle(SWITCH, HORN | {"load": "9 A"}, feeds=[feed()])),
    "its control": (PLAIN, vehicle(SWITCH | {"length": {"": "7 m"}}, HORN, feeds=[feed()])),
    "what its control draws": (
        vehicle(SWITCH | {"load": "14 A"}, HORN, feeds=[feed()]),
        vehicle(SWITCH | {"load": "14 A"}, HORN, *(BELL | {"id": f"bell-{n}"} for n in range(9)), feeds=[feed()]),
    ),
    "whose coils it feeds": (PLAIN, vehicle(SWITCH, HORN | {"id": "bell"}, feeds=[feed()])),
    "where it may be": (PLAIN, vehicle(SWITCH, HORN, feeds=[feed(panels=["rear"])])),
    "a feed": (PLAIN, vehicle(SWITCH, HORN, feeds=[feed(rating="100 A")])),
    "one feed more": (PLAIN, KEYED),
    "the control of a feed": (
        KEYED,
        vehicle(SWITCH | {"length": {"": "7 m"}}, HORN, feeds=[feed(rating="100 A"), KEY]),
    ),
    "what the control of a feed draws": (
        vehicle(SWITCH | {"load": "14 A"}, feeds=[feed(rating="100 A"), KEY]),
        vehicle(
            SWITCH | {"load": "14 A"},
            *(BELL | {"id": f"bell-{n}"} for n in range(9)),
            feeds=[feed(rating="100 A"), KEY],
        ),
    ),
}


@pytest.mark.parametrize("what", OTHERS)
def test_what_is_other_is_sized_anew(what: str) -> None:
    first, second = OTHERS[what]
    kept, fresh = KeptSizings(), size(second)
    before = size(first, kept=kept)
    after = size(second, kept=kept)
    assert (before.needs, before.feeds) != (after.needs, after.feeds)
    assert (after.needs, after.feeds, after.entries) == (fresh.needs, fresh.feeds, fresh.entries)


def test_what_is_equal_is_not_summed_again_whatever_came_in_between() -> None:
    kept, runs = KeptSizings(), []

    def work() -> str:
        runs.append(len(runs))
        return f"run {len(runs)}"

    asked = [
        kept._kept(name, conditions, work) for name, conditions in (("a", 1), ("a", 2), ("b", 1), ("a", 1), ("b", 1))
    ]
    assert asked == ["run 1", "run 2", "run 3", "run 1", "run 3"]


def test_nothing_is_summed_again_of_an_equal_vehicle(monkeypatch: pytest.MonkeyPatch) -> None:
    runs: list[str] = []
    rooms = importlib.import_module("allocator.sizing.size")
    work = rooms.size_circuit
    monkeypatch.setattr(rooms, "size_circuit", lambda *given: runs.append(given[2].id) or work(*given))
    kept = KeptSizings()
    for _ in range(2):
        size(PLAIN, kept=kept)
    assert runs == ["horn", "switch"]


def test_with_kept_sizings_a_table_has_no_cautions_and_the_figures_for_those_of_a_plan() -> None:
    table = size(PLAIN, kept=KeptSizings())
    assert table.cautions == () and size(PLAIN).cautions
    assert [item.option for item in table.sizings] == [item.option for item in size(PLAIN).sizings]
