"""Tables: columns as wide as needed, parts that fit, and everything in them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.report.facts import Facts
from allocator.outputs.report.tables import circuits_grid
from allocator.outputs.schedule import places_table
from allocator.outputs.sheet import A3_MM, Sheet
from allocator.outputs.supply import SupplyListing
from allocator.outputs.tables import Table, TablePart, draw_parts, parts_of
from allocator.plan.failures import failures
from tests.outputs.conftest import content_of, drawn

PLAIN = ("small", "large", "wide")
SHORT = Table(
    "Short", ("no.", "amount"), tuple((str(number), f"{number} A") for number in range(40)), right=("amount",)
)
WORDS = "a sentence that needs more room than the column has"
LONG = Table("Long", ("no.", "text"), tuple((str(number), f"{WORDS} {number}" * 4) for number in range(20)))


def _cut(table: Table, width: float, rooms: list[float]) -> list[tuple[TablePart, ...]]:
    left = iter(rooms)
    return list(parts_of(table, width, lambda least: next(left)))


def test_columns_take_the_whole_width_and_the_long_one_the_most() -> None:
    for table in (SHORT, LONG):
        assert sum(table.widths(100.0)) == pytest.approx(100.0, abs=0.5)
    narrow, wide = LONG.widths(100.0)
    assert narrow < 15 < wide
    assert min(LONG.heights(100.0)) > 2 * max(SHORT.heights(100.0))


def test_every_row_comes_once_and_no_part_is_higher_than_its_room() -> None:
    rooms = [40.0, 60.0, 60.0, 500.0]
    cut = _cut(LONG, 100.0, rooms)
    rows = [number for parts in cut for part in parts for number in range(part.first, part.first + len(part.heights))]
    assert rows == list(range(20))
    assert all(part.height <= room for parts, room in zip(cut, rooms, strict=False) for part in parts)


def test_a_long_narrow_table_stands_in_two_even_columns() -> None:
    ((left, right),) = _cut(SHORT, 300.0, [500.0])
    assert abs(len(left.heights) - len(right.heights)) <= 2
    sheet = Sheet(A3_MM)
    height = draw_parts(sheet, (left, right), sheet.page.inset(60, 10))
    assert height == max(left.height, right.height)
    places = {text.wanted: text.box.x for text in sheet.texts if text.wanted in ("0 A", "39 A")}
    assert places["39 A"] - places["0 A"] == pytest.approx(154, abs=0.1)


@pytest.mark.parametrize("sample", PLAIN)
def test_every_wire_is_listed_with_both_ends(sample: str) -> None:
    content = content_of(sample)
    texts = [text.wanted for sheet, _ in drawn(sample) for text in sheet.texts]
    at = texts.index("Wires")
    for run in content.runs:
        number = texts.index(run.number, at)
        row = texts[number : number + 9]
        assert content.end_name(run.start, run.feed) in row and content.end_name(run.end, run.feed) in row
        assert content.area_text(run.wire) in row
        assert (content.inline_text(run) or run.number) in row
        assert (f"{run.length_mm / 1000:.2f} m" if run.length_mm else "measure") in row
        if run.start.terminal:
            assert content.terminal_text(run.start.terminal) in row
            assert run.start.terminal in content.terminal_text(run.start.terminal)


@pytest.mark.parametrize("sample", PLAIN)
def test_the_supply_drawing_leads_from_every_source_to_every_entry(sample: str) -> None:
    content = content_of(sample)
    listing = SupplyListing(content)
    sheet = Sheet(A3_MM)
    width = sheet.width
    for parts in parts_of(listing, width, lambda least: 5000.0):
        draw_parts(sheet, parts, sheet.page)
    texts = [text.wanted.replace(NO_BREAK, " ") for text in sheet.texts]
    for entry in content.index.entries:
        peak, limit = content.entry_amounts(entry)
        written = next(text for text in texts if text.startswith(entry.piece.at))
        assert f"{peak / 1000:.3g} A" in written
        assert entry.group is None or f"of {limit / 1000:.3g} A" in written
    for run in content.runs:
        if run.role in ("cable", "tail"):
            assert any(text.startswith(f"{run.number} ") for text in texts), run.number
    for feed in content.sized.requirements.scenario.feeds:
        source = f"{feed.rating:g} A main fuse " if feed.source is None else f"from {content.marks[feed.source].code}"
        assert any(text.startswith(f"{feed.name}: ") and source in text for text in texts)


def test_a_feed_that_enters_nowhere_is_named() -> None:
    content = content_of("large")
    led = {entry.piece.feed for entry in content.index.entries}
    sheet = Sheet(A3_MM)
    for parts in parts_of(SupplyListing(content), sheet.width, lambda least: 5000.0):
        draw_parts(sheet, parts, sheet.page)
    said = sum(text.wanted.startswith("nothing is on it") for text in sheet.texts)
    assert said == sum(feed not in led for feed in content.sized.feeds)


def test_the_note_of_a_circuit_stands_beside_it_on_sheet_and_page() -> None:
    """Free words are for the bench; a plan without any has no column for them."""
    plain = content_of("small")
    assert "note" not in places_table(plain).columns
    first, *others = plain.sized.requirements.circuits
    noted = (first.model_copy(update={"note": "behind the left panel"}), *others)
    requirements = plain.sized.requirements.model_copy(update={"circuits": noted})
    content = Content(replace(plain.sized, requirements=requirements), plain.plan)
    table = places_table(content)
    notes = {row[table.columns.index("circuit")]: row[-1] for row in table.rows}
    assert table.columns[-1] == "note" and {name for name, note in notes.items() if note} == {first.id}
    assert notes[first.id] == "behind the left panel"
    said = Facts(content, failures(content.index))
    grid = circuits_grid(content, said)
    assert [column.head for column in grid.columns][-1] == "note"
    cells = {line.cells[1].text: line.cells[-1].text for line in grid.lines}
    assert cells[first.id] == "behind the left panel"
    facts = dict(said.of_need(content.index.need_by_id[first.id]))
    assert facts["note"] == ("behind the left panel",)
