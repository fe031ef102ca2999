"""How the checker reads the feed entries of a plan: what each covers, and why a place is none."""

from __future__ import annotations

import pytest

from allocator.opinion.assignment import supply_group_of
from allocator.plan.plan import Piece
from allocator.sizing.sized import supply_groups
from allocator.verifying import verify
from allocator.verifying.records import group_of
from allocator.verifying.view import View
from tests.verifying.edits import change
from tests.verifying.hand_built import good

COVERED = {
    "cabin/1/A/1-2": ("wide", 0, "cabin/1/A/1 cabin/1/A/2"),
    "cabin/3/A/1-2": ("twin", 0, "cabin/3/A/1 cabin/3/A/2"),
    "cabin/3/B/1-1": ("twin", 1, "cabin/3/B/1"),
    "cabin/4/A/1-3": ("twin", 0, "cabin/4/A/1 cabin/4/A/2 cabin/4/A/3"),
    "cabin/4/B/1-2": ("twin", 1, "cabin/4/B/1 cabin/4/B/2"),
    "cabin/5/stud": ("bus", 0, "cabin/5/A/1 cabin/5/A/2 cabin/5/A/3"),
    "aft/1/A/1": ("solo", 0, "aft/1/A/1"),
    "aft/1/S1": ("solo", None, ""),
    "aft/2/stud": ("bus", 0, "aft/2/A/1 aft/2/A/2 aft/2/A/3"),
    "aft/3/A/1-2": ("twin", 0, "aft/3/A/1 aft/3/A/2"),
    "aft/3/B/1-2": ("twin", 1, "aft/3/B/1 aft/3/B/2"),
}


def test_what_each_feed_entry_covers() -> None:
    view = View(*good())
    found = {
        entry.at: (entry.module.id if entry.module else "", entry.group, " ".join(map(str, entry.ways)))
        for entry in view.entries
    }
    assert found == COVERED
    assert all(entry.panel == entry.at.partition("/")[0] and entry.fault == "" for entry in view.entries)
    assert [str(entry.socket) for entry in view.entries if entry.socket is not None] == ["aft/1/S1"]


@pytest.mark.parametrize(
    ("kind", "at", "panel", "fault"),
    [
        ("socket", "aft/1/S2", "aft", "there is no such socket"),
        ("socket", "aft/9/S1", "aft", "there is no such socket"),
        ("stud", "aft/3/stud", "aft", "there is no module with a stud"),
        ("stud", "aft/9/stud", "aft", "there is no module with a stud"),
        ("strip", "aft", "aft", "expected a span such as A/1-4"),
        ("strip", "aft/3", "aft", "expected a span such as A/1-4"),
        ("strip", "aft/3/A", "aft", "expected a span such as A/1-4"),
        ("strip", "aft/3/A/1", "aft", "expected a span such as A/1-4"),
        ("single", "aft/1/A/1-1", "aft", "expected a way such as A/1"),
        ("single", "aft", "aft", "expected a way such as A/1"),
        ("strip", "aft/3/C/1-2", "aft", "there is no such row"),
        ("strip", "aft/9/A/1-2", "aft", "there is no such row"),
        ("strip", "aft/1/A/1-2", "aft", "row A of solo is of the kind single, not strip"),
        ("single", "aft/3/B/1", "aft", "row B of twin is of the kind strip, not single"),
        ("strip", "aft/3/B/2-1", "aft", "the row has the ways 1 to 4"),
        ("strip", "aft/3/B/4-5", "aft", "the row has the ways 1 to 4"),
        ("single", "aft/1/A/3", "aft", "the row has the ways 1 to 2"),
    ],
)
def test_why_a_place_is_none_for_a_feed_entry(kind: str, at: str, panel: str, fault: str) -> None:
    sized, plan = good()
    piece = Piece.model_validate({"at": at, "kind": kind, "feed": "battery"})
    (entry,) = View(sized, plan.model_copy(update={"pieces": (piece,)})).entries
    assert (entry.at, entry.panel, entry.fault, entry.group, entry.ways) == (at, panel, fault, None, ())


def test_a_way_beside_those_of_a_stud_is_not_fed() -> None:
    sized, plan = good()
    found = verify(sized, change(plan, "ways", "heater", at="cabin/5/A/4"))
    assert [finding.where for finding in found if finding.rule == "way-is-fed"] == ["cabin/5/A/4 (circuit heater)"]


def test_what_stands_where_nothing_can_be_read() -> None:
    """It keeps the words of the plan as its place, and is in no row and no module."""
    sized, plan = good()
    view = View(sized, change(change(plan, "ways", "heater", at="//1"), "sockets", "fan", at="//2"))
    way, socket = view.way_of["circuit", "heater"], view.socket_of["circuit", "fan"]
    assert (way.at, way.name, way.row_place, way.module_key) == ("//1", "//1 (circuit heater)", None, None)
    assert (socket.at, socket.module_key) == ("//2", None)


def test_an_address_is_printed_in_one_way() -> None:
    """However it is written in the plan; nothing else is found there."""
    sized, plan = good()
    written = change(change(plan, "ways", "heater", at="cabin/05/a/02"), "sockets", "fan", at="cabin/1/s02")
    view = View(sized, change(written, "pieces", "cabin/3/A/1-2", at="cabin/3/a/01-2"))
    at = (view.way_of["circuit", "heater"].at, view.socket_of["circuit", "fan"].at)
    assert at == ("cabin/5/A/2", "cabin/1/S2")
    assert [entry.at for entry in view.entries] == list(COVERED)


ROWS_OF_GROUPS = {
    "strip": [[0]],
    "stud": [[0]],
    "strip single strip": [[0], [1], [2]],
    "stud stud strip": [[0, 1], [2]],
    "strip stud stud single": [[0], [1, 2], [3]],
    "stud strip stud single stud": [[0, 2, 4], [1], [3]],
    "single stud strip stud strip": [[0], [1, 3], [2], [4]],
}
"""By the buses of a module's rows: the rows of its supply groups, written from docs/definitions.md."""


@pytest.mark.parametrize("buses", ROWS_OF_GROUPS)
def test_supply_groups_are_numbered_as_defined(buses: str) -> None:
    """Sizing table, checker and second opinion each number them on their own, and look up entries by the number."""
    (module,) = [module for module in good()[0].requirements.catalogue.modules if module.id == "bus"]
    rows = tuple(module.rows[0].model_copy(update={"bus": bus, "strip": None}) for bus in buses.split())
    module = module.model_copy(update={"rows": rows})
    wanted = {row: number for number, group in enumerate(ROWS_OF_GROUPS[buses]) for row in group}
    assert {row: group_of(module, row) for row in range(len(rows))} == wanted
    assert [list(group) for group in supply_groups(module)] == ROWS_OF_GROUPS[buses]
    assert {row: supply_group_of(module, row) for row in range(len(rows))} == wanted
