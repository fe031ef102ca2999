"""The workbook, read back by another library: typed cells, text that is never a formula, the same bytes again."""

from __future__ import annotations

import io
import time
from dataclasses import replace
from typing import Any

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from allocator.outputs.content import Content
from allocator.outputs.lists import wire_records
from allocator.outputs.order import order_records
from allocator.outputs.workshop.workbook import HEAD_ROW, strip_records, workbook_bytes
from tests.outputs.conftest import content_of

SHEETS = ["circuits", "ways", "wires", "parts", "strips", "tests"]


def read(data: bytes, sheet: str) -> list[list[Any]]:
    return CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name(sheet).to_python(skip_empty_area=False)


@pytest.mark.parametrize("name", ["small", "library-bus"])
def test_what_another_library_reads_is_what_the_lists_say(name: str) -> None:
    content = content_of(name)
    data = workbook_bytes(content)
    assert CalamineWorkbook.from_filelike(io.BytesIO(data)).sheet_names == SHEETS
    for records in (wire_records(content), order_records(content), strip_records(content)):
        rows = read(data, records.name)
        assert tuple(rows[HEAD_ROW - 1]) == records.names
        assert len(rows) == HEAD_ROW + len(records.rows)
        for found, row in zip(rows[HEAD_ROW:], records.rows, strict=True):
            for cell, value in zip(found, row, strict=True):
                if isinstance(value, str):
                    assert cell == value
                elif value is None:
                    assert cell == ""
                else:
                    assert isinstance(cell, float) and cell == pytest.approx(float(value))


def test_every_sheet_says_plan_revision_date_and_predecessor() -> None:
    data = workbook_bytes(content_of("library-bus"))
    for sheet in SHEETS:
        head = read(data, sheet)[0][0]
        for text in (f"plan {content_of('library-bus').number}", "revision B", "2025-03-31", "supersedes revision A"):
            assert text in head
        assert "planning aid" in read(data, sheet)[1][0]


@pytest.mark.parametrize("label", ["=1+1", "+49", "-3", "@sum", '=HYPERLINK("x")'])
def test_text_is_never_a_formula(label: str) -> None:
    content = content_of("small")
    sized = content.sized
    needs = tuple(replace(need, label=label) if need.kind == "circuit" else need for need in sized.needs)
    changed = Content(replace(sized, needs=needs), content.plan)
    data = workbook_bytes(changed)
    assert label in {cell for row in read(data, "wires") for cell in row}
    for sheet in openpyxl.load_workbook(io.BytesIO(data)).worksheets:
        for row in sheet.iter_rows():
            assert all(cell.data_type != "f" for cell in row)
            assert all(cell.quotePrefix for cell in row if cell.value == label)


def test_heads_stay_in_sight_and_sheets_can_be_printed() -> None:
    for sheet in openpyxl.load_workbook(io.BytesIO(workbook_bytes(content_of("small")))).worksheets:
        assert sheet.freeze_panes == f"A{HEAD_ROW + 1}"
        assert sheet.print_area and sheet.print_title_rows == f"$1:${HEAD_ROW}"
        assert sheet.auto_filter.ref and sheet.page_setup.fitToWidth == 1


def test_the_same_plan_gives_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Even an hour later by the clock."""
    first = workbook_bytes(content_of("small"))
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + 3600)
    assert workbook_bytes(content_of("small")) == first
