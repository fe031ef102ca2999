"""
workbook.xlsx: circuits, ways, wires, parts, strips and tests as typed sheets to sort, filter and print.

Comes in as the Content of a plan; goes out as the bytes of a workbook, the same for the same plan: no clock is written
into it. Text is always text, whatever it begins with.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from fractions import Fraction

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem, _HeaderFooterPart
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from allocator.outputs.cautions import cautions_line
from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.lists import wire_records
from allocator.outputs.order import order_records
from allocator.outputs.records import FORMULA_STARTS, Cell, Records, columns_of
from allocator.outputs.workshop.expectations import expectation_records, place_order, quiescent_ma
from allocator.plan.index import NeedAt
from allocator.units import from_model

HEAD_ROW = 3
"""Above it stand what the sheet is and the cautions."""
LEAST_WIDTH, MOST_WIDTH = 8, 60
_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a zip file can hold."""
_TIMES = re.compile(rb"<dcterms:(created|modified)[^>]*>[^<]*</dcterms:\1>")

CIRCUIT_COLUMNS = columns_of(
    "circuit", "label", "load_type", "design_a", "switching", "control", "feed", "place", "fuse", "fuse_a", "wire",
    "relay", "relay_place", "load_cases", "quiescent_ma", "note",
)  # fmt: skip
WAY_COLUMNS = columns_of("panel", "bay", "module", "place", "fuse_format", "kind", "holds", "label", "feed", "fuse_a")
STRIP_COLUMNS = columns_of(
    "strip", "label", "from", "ways", "piece", "piece_ways", "place", "feed", "leftover", "proof"
)


def workbook_bytes(content: Content) -> bytes:
    """Return the workbook."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for records in (
        circuit_records(content), way_records(content), wire_records(content), order_records(content),
        strip_records(content), expectation_records(content),
    ):  # fmt: skip
        _fill(book.create_sheet(records.name), records, content)
    waiting = io.BytesIO()
    book.save(waiting)
    return _timeless(waiting.getvalue())


def circuit_records(content: Content) -> Records:
    """Return every circuit with what was chosen for it, in listing order."""
    circuits = {circuit.id: circuit for circuit in content.sized.requirements.circuits}
    rows = []
    for item in content.index.needs:
        circuit = circuits.get(item.need.id) if item.need.kind == "circuit" else None
        if circuit is not None:
            option = item.option
            rows.append(
                (
                    circuit.id, circuit.label, circuit.load_type, from_model(max(item.need.load_ma_by_case)),
                    circuit.switching, circuit.control or "", item.feed, str(item.way or item.socket),
                    option.fuse or "", option.fuse_rating_a, option.wire or "", option.relay or "",
                    str(item.socket or ""), "; ".join(circuit.load_cases), quiescent_ma(circuit),
                    circuit.note,
                )
            )  # fmt: skip
    return Records("circuits", CIRCUIT_COLUMNS, tuple(rows))


def way_records(content: Content) -> Records:
    """Return every way in use and every directly fed socket, in order of place."""
    panels = content.index.panels
    items = sorted(content.index.needs, key=lambda item: place_order(panels, item))
    return Records("ways", WAY_COLUMNS, tuple(_way_row(content, item) for item in items))


def _way_row(content: Content, item: NeedAt) -> tuple[Cell, ...]:
    bay = (item.way.bay if item.way else item.socket.bay if item.socket else 0) or 0
    module = content.index.module_by_bay[item.panel, bay].module
    rating = item.option.fuse_rating_a if item.option.fuse else None
    return (
        item.panel, bay, module.id, str(item.way or item.socket), item.option.fuse_format or "", item.need.kind,
        item.need.id, item.need.label, item.feed, rating,
    )  # fmt: skip


def strip_records(content: Content) -> Records:
    """Return every strip piece with the length that it is cut from."""
    rows = [
        (
            plan.strip.id, plan.strip.label, f"{'offcut' if item.is_offcut else 'length'} {number}", item.ways, place,
            len(piece.ways), piece.piece.at, piece.piece.feed, item.leftover, plan.proof,
        )
        for plan in content.strip_plans
        for number, item in enumerate(plan.cuts, 1)
        for place, piece in enumerate(item.pieces, 1)
    ]  # fmt: skip
    return Records("strips", STRIP_COLUMNS, tuple(rows))


def _fill(sheet: Worksheet, records: Records, content: Content) -> None:
    issue = ". ".join(filter(None, (content.issue_text, content.supersedes_text)))
    _write(sheet, 1, 1, f"{records.name}: {content.sized.requirements.scenario.vehicle.name}, {issue}", None)
    _write(sheet, 2, 1, cautions_line(), None)
    for number, column in enumerate(records.columns, 1):
        _write(sheet, HEAD_ROW, number, column.name, None)
        head = sheet.cell(HEAD_ROW, number)
        head.font, head.fill = Font(bold=True), PatternFill("solid", fgColor="E8EAED")
        sheet.column_dimensions[get_column_letter(number)].width = _width(records, number - 1)
    for place, row in enumerate(records.rows, HEAD_ROW + 1):
        for number, (cell, column) in enumerate(zip(row, records.columns, strict=True), 1):
            _write(sheet, place, number, cell, column.decimals)
    sheet["A1"].font = Font(bold=True)
    _set_up(sheet, records, issue)


def _write(sheet: Worksheet, row: int, column: int, value: Cell, decimals: int | None) -> None:
    cell = sheet.cell(row, column)
    if isinstance(value, str):
        text = clean(value)
        if text:
            cell.value = text
            cell.data_type = "s"  # or a text that begins with = would be a formula
            cell.quotePrefix = text.startswith(FORMULA_STARTS)
    elif value is not None:
        whole = isinstance(value, int) or (decimals is None and value == int(value))
        cell.value = int(value) if whole else float(value) if isinstance(value, Fraction) else value
        cell.number_format = "0" if whole else f"0.{'0' * decimals}" if decimals else "0.###"


def _width(records: Records, number: int) -> int:
    longest = max([len(str(row[number] or "")) for row in records.rows], default=0)
    return min(max(LEAST_WIDTH, len(records.columns[number].name) + 2, longest + 1), MOST_WIDTH)


def _set_up(sheet: Worksheet, records: Records, issue: str) -> None:
    """Freeze and repeat the heads, and fit the columns to the width of the paper."""
    last = f"{get_column_letter(len(records.columns))}{HEAD_ROW + len(records.rows)}"
    sheet.freeze_panes = f"A{HEAD_ROW + 1}"
    sheet.auto_filter.ref = f"A{HEAD_ROW}:{last}"
    sheet.print_area = f"A1:{last}"
    sheet.print_title_rows = f"1:{HEAD_ROW}"
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet["A2"].alignment = Alignment(wrap_text=False)
    sheet.HeaderFooter.oddFooter = HeaderFooterItem(
        left=_HeaderFooterPart(issue.replace("&", "&&")), right=_HeaderFooterPart("&A, &P / &N")
    )


def _timeless(data: bytes) -> bytes:
    """Return a workbook without the times at which it was written."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, part in _parts(source):
            target.writestr(zipfile.ZipInfo(name, _EPOCH), part, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _parts(source: zipfile.ZipFile) -> Iterator[tuple[str, bytes]]:
    for name in source.namelist():
        part = source.read(name)
        yield name, _TIMES.sub(b"", part) if name == "docProps/core.xml" else part
