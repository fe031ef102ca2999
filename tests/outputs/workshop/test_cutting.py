"""Cutting lists: each wire and each strip piece once, and their sums are what is ordered."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest

from allocator.outputs.order import order_lines
from allocator.outputs.workshop.cutting import TO_MEASURE, runs_to_cut, strips_table, wire_cuts_table, wire_kinds_table
from allocator.outputs.workshop.sheets import crimps_table, order_table
from tests.outputs.conftest import BUNDLED, content_of

NAMES = ["small", "large", *BUNDLED]


@pytest.mark.parametrize("name", NAMES)
def test_every_wire_is_cut_once_grouped_by_size_and_colour(name: str) -> None:
    content = content_of(name)
    runs = runs_to_cut(content)
    assert Counter(runs) == Counter(content.runs)
    kinds = [(run.wire, content.look_by_run[run.number]) for run in runs]
    assert len([kind for number, kind in enumerate(kinds) if kinds[:number][-1:] != [kind]]) == len(set(kinds))
    assert [row[0] for row in wire_cuts_table(content).rows] == [run.number for run in runs]


@pytest.mark.parametrize("name", NAMES)
def test_metres_of_each_kind_are_what_is_ordered(name: str) -> None:
    content = content_of(name)
    table = wire_kinds_table(content)
    listed = {(row[0], row[1]): row[4] for row in table.rows}
    for line in order_lines(content):
        if line.look is not None:
            metres = listed.pop((content.area_text(line.part.id), line.look.code))
            assert metres == f"{float(line.needed):.2f}"
    assert all(metres == "0.00" for metres in listed.values()), "only what is measured may be ordered by nobody"


def test_wires_without_a_length_are_to_be_measured() -> None:
    content = content_of("small")
    table = wire_cuts_table(content)
    measured = {row[0] for row in table.rows if row[3] == TO_MEASURE}
    assert measured == {run.number for run in content.runs if not run.length_mm}
    assert sum(int(row[5] or "0") for row in wire_kinds_table(content).rows) == len(measured) > 0


@pytest.mark.parametrize("name", NAMES)
def test_every_strip_piece_is_cut_once(name: str) -> None:
    content = content_of(name)
    table = strips_table(content)
    placed = [place for row in table.rows for place in row[3].split(", ")]
    strips = [entry for entry in content.index.entries if entry.piece.kind == "strip"]
    assert len(placed) == len(set(placed)) == len(strips)
    ways = [int(number) for row in table.rows for number in row[2].split(" + ")]
    assert sorted(ways) == sorted(len(entry.ways) for entry in strips)


def test_the_order_ends_with_its_value() -> None:
    content = content_of("small")
    table = order_table(content)
    total = sum(Fraction(row[7]) for row in table.rows[:-1])
    assert table.rows[-1][1].startswith(f"order value {float(total):.2f} EUR")


def test_kinds_of_terminals_have_letters() -> None:
    content = content_of("large")
    letters = [row[0] for row in crimps_table(content).rows]
    assert set(letters) == set(content.letter_by_terminal.values())
    assert sorted(set(letters), key=lambda letter: (len(letter), letter)) == list(content.letter_by_terminal.values())
