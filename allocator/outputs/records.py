"""
Lists as typed rows, the same for CSV, workbook and paper; and how they become CSV.

Comes in as columns and rows of text and numbers; goes out as CSV text (UTF-8, comma, one header row). The last rows
carry remarks: their first cell is ``#`` and their second the text. No cell can be taken for a formula by a spreadsheet.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from allocator.outputs.fonts import clean

REMARK = "#"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
MOST_DECIMALS = 3

Cell = str | int | float | Fraction | None


@dataclass(frozen=True, slots=True)
class Column:
    """
    One column of a list.

    Attributes
    ----------
    name
        Its head, as CSV has it.
    decimals
        Decimals of its numbers; none: as many as it takes, up to three.
    """

    name: str
    decimals: int | None = None


@dataclass(frozen=True, slots=True)
class Records:
    """A list: its name, its columns, and rows with a cell for each of them; None is an empty cell."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Heads of the columns."""
        return tuple(column.name for column in self.columns)


def columns_of(*names: str, **decimals: int) -> tuple[Column, ...]:
    """Return columns by their names, some of them with numbers of so many decimals."""
    return tuple(Column(name, decimals.get(name)) for name in names)


def number_text(value: float | Fraction, decimals: int | None = None) -> str:
    """Return a number with a point in its decimals, never in scientific notation."""
    if decimals is not None:
        return f"{float(value):.{decimals}f}"
    text = f"{float(value):.{MOST_DECIMALS}f}"
    return text.rstrip("0").rstrip(".")


def cell_text(cell: Cell, column: Column) -> str:
    """Return a cell as text; text is cleaned, not guarded."""
    if cell is None:
        return ""
    return clean(cell) if isinstance(cell, str) else number_text(cell, column.decimals)


def safe_cell(value: object) -> str:
    """Return a cell's text; text that a spreadsheet would run as a formula gets an apostrophe in front."""
    text = clean(str(value))
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def records_csv(records: Records, remarks: Iterable[str]) -> str:
    """Return a list as CSV, remarks at its end."""
    rows = (
        [cell_text(cell, column) for cell, column in zip(row, records.columns, strict=True)] for row in records.rows
    )
    return csv_text(records.names, rows, remarks)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]], remarks: Iterable[str]) -> str:
    """
    Return a list as CSV.

    Parameters
    ----------
    columns
        Heads, one for each cell of a row.
    rows
        Cells, shape (n_rows, n_columns); none of them becomes a formula.
    remarks
        Text for the rows at the end, whose first cell is ``#``.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    padding = [""] * (len(columns) - 2)
    writer.writerows([REMARK, safe_cell(remark), *padding] for remark in remarks if remark)
    return text.getvalue()
