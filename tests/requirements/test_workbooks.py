"""``circuits.xlsx`` means what ``circuits.csv`` means, and a broken workbook is one clear fault."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from allocator.requirements import load_scenario, workbooks
from tests.requirements.folders import CIRCUITS, changed, faults_text, write

ROWS = [line.split(",") for line in CIRCUITS.splitlines()]


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def _folder(rows: Sequence[Sequence[object]], sheet: str = "Sheet", before: Sequence[str] = ()) -> Path:
    book = Workbook()
    book.remove(book.worksheets[0])
    for name in before:
        book.create_sheet(name).append(["something else"])
    page = book.create_sheet(sheet)
    for row in rows:
        page.append(list(row))
    folder = write(Path("float"), circuits=None)
    book.save(folder / "circuits.xlsx")
    return folder


def _with(row: int, column: str, value: object) -> list[list[object]]:
    rows: list[list[object]] = [list(line) for line in ROWS]
    rows[row][ROWS[0].index(column)] = value
    return rows


def test_a_workbook_equals_the_table_of_text() -> None:
    assert load_scenario(_folder(ROWS)) == load_scenario(write(Path("other")))


@pytest.mark.parametrize(
    "scenario",
    sorted(path.parent for path in (Path(__file__).parents[2] / "scenarios").glob("*/scenario.toml")),
    ids=lambda path: path.name,
)
def test_the_bundled_tables_read_the_same_from_a_workbook(scenario: Path) -> None:
    import csv

    with (scenario / "circuits.csv").open(encoding="utf-8", newline="") as stream:
        folder = _folder(list(csv.reader(stream)))
    (folder / "scenario.toml").write_bytes((scenario / "scenario.toml").read_bytes())
    assert load_scenario(folder) == load_scenario(scenario)


def test_the_sheet_named_circuits_counts_else_the_first() -> None:
    plain = load_scenario(write(Path("other")))
    assert load_scenario(_folder(ROWS, "circuits", before=["notes"])) == plain
    assert load_scenario(_folder(ROWS, "loads")) == plain


def test_numbers_yes_no_and_empty_rows() -> None:
    rows = [*_with(3, "order", 7.0)[:2], [], *_with(3, "order", 7.0)[2:]]
    rows[3][ROWS[0].index("critical")] = True
    circuits = load_scenario(_folder(rows)).circuits
    assert [circuit.order for circuit in circuits] == [None, None, 7]
    assert [circuit.critical for circuit in circuits] == [False, True, False]
    assert load_scenario(_folder(_with(3, "id", 12))).circuits[2].id == "12"


@pytest.mark.parametrize(("value", "shown"), [(6, "6"), (6.5, "6.5"), (1 / 3, "0.333333333333")])
def test_a_number_where_a_unit_is_needed(value: float, shown: str) -> None:
    assert faults_text(_folder(_with(3, "load", value))) == (
        'error: "load" of circuit "pump" is a bare number; a unit is needed  [bare-number]\n'
        f'  where: float/circuits.xlsx, row 4, field "load" = "{shown}"\n'
        '  known: expected a load such as "55 W", "12 A" or "2 x 21 W + 5 W"'
    )


def test_a_percentage_counts_as_the_spreadsheet_shows_it() -> None:
    """A spreadsheet keeps 0.35 of a cell that is typed and shown as 35 %."""
    folder = _folder([[*ROWS[0], "duty"], [*ROWS[1], 0.35], *ROWS[2:]])
    book = load_workbook(folder / "circuits.xlsx")
    book.worksheets[0].cell(2, len(ROWS[0]) + 1).number_format = "0%"
    book.save(folder / "circuits.xlsx")
    assert load_scenario(folder).circuits[0].duty == 35


def test_a_date_is_no_load() -> None:
    text = faults_text(_folder(_with(3, "load", date(2024, 5, 12))))
    assert 'row 4, field "load" = "2024-05-12 00:00:00"' in text


def test_a_formula_without_a_saved_value() -> None:
    """A program that never calculated it left no value, and reading it as an empty cell would hide that."""
    assert faults_text(_folder(_with(3, "label", "=A1"))) == (
        "error: a formula has no saved value  [formula-without-value]\n"
        "  where: float/circuits.xlsx, row 4\n"
        "  try:   save it in a spreadsheet program, or put the value in place of the formula"
    )


def test_a_formula_counts_with_its_saved_value() -> None:
    folder = _folder(_with(3, "label", "PLACE"))
    path = folder / "circuits.xlsx"
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    sheet = parts["xl/worksheets/sheet1.xml"].decode()
    start = sheet.index('<c r="B4"')
    end = sheet.index("</c>", start) + 4
    cell = '<c r="B4" t="str"><f>A4</f><v>Water pump</v></c>'
    parts["xl/worksheets/sheet1.xml"] = (sheet[:start] + cell + sheet[end:]).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    assert load_scenario(folder).circuits[2].label == "Water pump"


def _zip(names: Sequence[str]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name in names:
            archive.writestr(name, "<x/>")
    return stream.getvalue()


@pytest.mark.parametrize(
    "content", [b"", b"id,label", b"PK\x03\x04", _zip(["a"]), _zip(["[Content_Types].xml", "xl/workbook.xml"])]
)
def test_a_file_that_is_no_workbook(content: bytes) -> None:
    folder = write(Path("float"), circuits=None)
    (folder / "circuits.xlsx").write_bytes(content)
    assert faults_text(folder) == (
        "error: the file is no workbook that can be read  [bad-workbook]\n"
        "  where: float/circuits.xlsx\n"
        "  known: expected an .xlsx file"
    )


def test_a_workbook_that_unpacks_to_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    folder = _folder(ROWS)
    monkeypatch.setattr(workbooks, "LARGEST_UNPACKED_BYTES", 1000)
    assert faults_text(folder) == (
        "error: the workbook unpacks to too much  [file-too-large]\n"
        "  where: float/circuits.xlsx\n"
        "  known: at most 1000 bytes"
    )


def test_too_many_rows_are_refused_in_a_workbook_too() -> None:
    row = changed(CIRCUITS, ("lamp@row", "")).splitlines()[3].split(",")
    rows = [*ROWS, *([f"c{number}", *row[1:]] for number in range(4998))]
    assert "row 5002\n  known: expected at most 5000 circuits" in faults_text(_folder(rows))
