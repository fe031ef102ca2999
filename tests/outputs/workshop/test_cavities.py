"""The list of cavities: every one of every module, each wire's ends once, in the order in which they are seen."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest

from allocator.outputs.arrangement import View, arrange
from allocator.outputs.workshop.cavities import SUPPLY, UNUSED, cavities, cavities_table
from allocator.outputs.workshop.steps import steps
from allocator.plan.parts import num_cavities, num_unused_cavities
from allocator.plan.wiring import JOINS, OUTPUT
from tests.outputs.conftest import BUNDLED, content_of

NAMES = ["small", "large", "wide", "many", *BUNDLED]


@pytest.mark.parametrize("name", NAMES)
def test_every_cavity_is_listed(name: str) -> None:
    content = content_of(name)
    found = list(cavities(content))
    total = sum(num_cavities(module.module, content.sized) for module in content.index.modules)
    assert sum(item.positions for item in found) == total
    unused = sum(item.positions for item in found if item.name == UNUSED)
    assert unused == num_unused_cavities(content.index)


@pytest.mark.parametrize("name", NAMES)
def test_every_end_at_the_panel_is_listed_once(name: str) -> None:
    content = content_of(name)
    listed = Counter((item.place, item.name, run.number) for item in cavities(content) for run in item.runs)
    modules = tuple(f"{module.panel}/{module.bay}/" for module in content.index.modules)
    ends = Counter(
        (end.place, end.cavity, run.number)
        for run in content.runs
        for end in (run.start, run.end)
        if end.place.startswith(modules)
    )
    assert listed == ends


@pytest.mark.parametrize("name", ["large", "creek-workboat"])
def test_ways_are_listed_from_the_left_of_the_wiring_side(name: str) -> None:
    """The order of the list is that of the drawing, row by row and module by module."""
    content = content_of(name)
    for panel in content.index.panels:
        bays = tuple(bay for item in content.index.carriers if item.panel == panel for bay in item.bays)
        view = View(arrange(content.index, panel, bays, 60.0, 100.0), "wiring side", 0.0, 0.0)
        at = {
            f"{panel}/{module.at.bay}/{'ABCDEF'[row.number]}/{way}": view.at(cell)
            for module in view.area.modules
            for row in module.rows
            for way, cell in enumerate(row.cells, 1)
        }
        listed = [item.place for item in cavities(content) if item.place in at and item.name == OUTPUT]
        rows = [place.rpartition("/")[0] for place in listed]
        for one, other in pairwise(range(len(listed))):
            if rows[one] == rows[other]:
                assert at[listed[one]].x < at[listed[other]].x
        lefts = [min(at[place].x for place in listed if place.startswith(f"{module}/")) for module in _modules(rows)]
        assert lefts == sorted(lefts)


def _modules(rows: list[str]) -> list[str]:
    return list(dict.fromkeys(row.rpartition("/")[0] for row in rows))


@pytest.mark.parametrize("name", ["small", "creek-workboat"])
def test_the_table_says_terminal_wire_colour_destination_and_jumper(name: str) -> None:
    content = content_of(name)
    table = cavities_table(content)
    rows = {(row[0], row[1], row[4]): dict(zip(table.columns, row, strict=True)) for row in table.rows}
    for run in content.runs:
        if run.role != "jumper":
            continue
        row = rows[run.start.place, OUTPUT, run.number]
        assert row["jumper"] == run.note
        assert row["leads to"] == f"{run.end.place} {run.end.cavity}"
        assert row["colour"] == content.look_by_run[run.number].code
        assert row["terminal or strip"] == run.start.terminal
        assert row["kind"] == content.letter_by_terminal[run.start.terminal]


def test_a_strip_piece_fills_the_supply_side_of_its_ways() -> None:
    content = content_of("large")
    pieces = [item for item in cavities(content) if item.name == SUPPLY]
    strips = [entry for entry in content.index.entries if entry.piece.kind == "strip"]
    assert sorted(item.place for item in pieces) == sorted(entry.piece.at for entry in strips)
    assert sum(item.positions for item in pieces) == sum(len(entry.ways) for entry in strips)


@pytest.mark.parametrize("name", ["small", "creek-workboat"])
def test_a_wire_without_a_terminal_of_its_own_is_said_to_be_spliced(name: str) -> None:
    """The same word as in the wire list: one terminal, and the other wire joins the first on its way."""
    content = content_of(name)
    spliced = {run.number for run in content.runs if JOINS in run.note}
    rows = [row for row in cavities_table(content).rows if row[3] == "spliced to the wire above"]
    assert {row[4] for row in rows} == spliced != set()
    assert any(step.action.startswith("splice") and step.count == len(rows) for step in steps(content))
