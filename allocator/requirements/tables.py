"""
A circuits table in, rows of text by column out: ``circuits.csv`` or the first sheet of ``circuits.xlsx``.

Rows keep the number that a spreadsheet shows beside them. Every cell is text with blanks tidied; an empty cell is left
out.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from allocator.errors import Fault, InputError
from allocator.requirements.files import LARGEST_TABLE_BYTES, decode, read_bytes
from allocator.requirements.places import did_you_mean, quoted, shown

MOST_ROWS = 5000


@dataclass(frozen=True, slots=True)
class TableRow:
    """
    One row: its number in a spreadsheet, and the text of each cell that is not empty, by column.

    ``overlong`` is the number of cells up to the last that is not empty, where that is beyond the last column, so that
    no cell is sure to be in its place: 0 otherwise. ``longer`` is the number of cells, the empty ones at the end
    included, where that is more than the first row has: 0 otherwise.
    """

    number: int
    cells: dict[str, str]
    overlong: int = 0
    longer: int = 0


@dataclass(frozen=True, slots=True)
class Table:
    """The rows that could be read, and what is wrong with the table as such; a workbook's has no separator."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[TableRow, ...]
    faults: tuple[Fault, ...]
    separator: str = ""


def read_csv(path: Path, file: str, known_columns: Sequence[str], *, of_what: str = "circuits") -> Table:
    """
    Read a CSV file: UTF-8, commas or semicolons.

    Parameters
    ----------
    path
        The file.
    file
        Its name for messages.
    known_columns
        Columns that may be there; the separator that shows more of them in the first row is taken.
    of_what
        What stands in the rows, for messages.

    Raises
    ------
    InputError
        If nothing of it can be read.
    """
    text = decode(read_bytes(path, LARGEST_TABLE_BYTES, file), file)
    first = text.lstrip("\r\n").split("\n", 1)[0]
    comma, semicolon = (_known_in(first, separator, known_columns) for separator in ",;")
    separator = ";" if semicolon > comma else ","
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    return replace(_table(file, _csv_rows(lines, file), known_columns, of_what), separator=separator)


def _known_in(line: str, separator: str, known_columns: Sequence[str]) -> int:
    return sum(word.strip().strip('"') in known_columns for word in line.split(separator))


def _csv_rows(lines: Iterator[list[str]], file: str) -> Iterator[tuple[int, list[str]]]:
    number = 0
    try:
        for number, line in enumerate(lines, start=1):
            yield number, [" ".join(cell.split()) for cell in line]
    except csv.Error:
        message = "the row cannot be split into cells: a quote is not closed, or has text behind it, or a cell is huge"
        hint = 'put quotes around the whole cell, and write a quote within it twice: ""'
        raise InputError([Fault("bad-csv", message, f"{file}, row {number + 1}", hint=hint)]) from None


def read_xlsx(path: Path, file: str, known_columns: Sequence[str]) -> Table:
    """
    Read the sheet ``circuits`` of a workbook, or its first sheet; formulas count with the value that was saved.

    Raises
    ------
    InputError
        If nothing of it can be read.
    """
    from allocator.requirements.workbooks import workbook_rows

    content = read_bytes(path, LARGEST_TABLE_BYTES, file)
    return _table(file, workbook_rows(content, file, most_rows=MOST_ROWS + 2), known_columns)


def _table(
    file: str, lines: Iterable[tuple[int, list[str]]], known_columns: Sequence[str], of_what: str = "circuits"
) -> Table:
    columns: list[str] = []
    width = 0
    rows: list[TableRow] = []
    faults: list[Fault] = []
    for number, cells in lines:
        if not any(cells):
            continue
        if not columns:
            width = len(cells)
            columns = cells[: max(index for index, cell in enumerate(cells, 1) if cell)]
            faults.extend(_column_faults(columns, file, number, known_columns))
        elif len(rows) == MOST_ROWS:
            expected = f"expected at most {MOST_ROWS} {of_what}"
            raise InputError([Fault("too-many-rows", "the table has too many rows", f"{file}, row {number}", expected)])
        else:
            num_cells = max(index for index, cell in enumerate(cells, 1) if cell)
            overlong = num_cells if num_cells > len(columns) else 0
            by_column = dict(reversed(list(zip(columns, cells, strict=False))))  # of two columns of one name, the first
            cell_by_column = {column: cell for column, cell in by_column.items() if cell}
            rows.append(TableRow(number, cell_by_column, overlong, len(cells) if len(cells) > width else 0))
    if not rows and not faults:
        expected = f"expected a first row of column names, then {of_what}"
        raise InputError([Fault("empty-table", f"the table has no {of_what}", file, expected)])
    return Table(file, tuple(columns), tuple(rows), tuple(faults))


def too_many_cells(num_cells: int, num_columns: int, where: str) -> Fault:
    """Return the fault of a row with more cells than there are columns."""
    return Fault(
        "too-many-cells",
        f"the row has {num_cells} cells, and the first row names {num_columns} columns",
        where,
        hint="put quotes around a cell that holds the separator, and write numbers with a decimal point",
    )


def _column_faults(columns: list[str], file: str, number: int, known_columns: Sequence[str]) -> Iterator[Fault]:
    where = f"{file}, row {number}"
    for index, column in enumerate(columns, start=1):
        place = f"{where}, column {index}"
        if not column:
            yield Fault("unnamed-column", "a column has no name", place)
        elif columns.index(column) + 1 < index:
            yield Fault("duplicate-column", f"the column {shown(column)} is there twice", place)
        elif column not in known_columns:
            known = f"the columns are {quoted(known_columns, 30)}"
            hint = did_you_mean(column, known_columns)
            yield Fault("unknown-column", f"the column {shown(column)} is unknown", place, known, hint)
