"""
A circuits table in, what a separator within a cell did to it out: one fault for one slip, however many cells it spoils.

A decimal comma that is not quoted moves all cells after it, and so does a name too few in the first row; a table with
semicolons between its cells leaves commas in numbers and lists.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from allocator.errors import Fault
from allocator.requirements.places import quoted, shown
from allocator.requirements.tables import Table, TableRow, too_many_cells

_WORDS = ("id", "label", "note")
"""Columns in which a comma may stand."""
_AMOUNTS = ("load", "duty", "length", "return_length", "drop", "stall", "quiescent", "fuse_rating", "wire")
_BEFORE = re.compile(r"(?:.*[ :])?([0-9]{1,6})", re.DOTALL)
_BEHIND = re.compile(r"([0-9]{1,6} ?[A-Za-z%][A-Za-z0-9]{0,4})(?:[ ;].*)?", re.DOTALL)
_MOST_ROWS_NAMED = 12


def moved_cells(table: Table, row: TableRow) -> Fault | None:
    """
    Say that the cells of a row are not in their places, where they look like it.

    Only a row in which something is wrong can be told so: a comma too many at the end harms nothing.
    """
    where = f"{table.file}, row {row.number}"
    split = _split_number(table, row)
    fault = too_many_cells(row.longer, len(table.columns), where) if row.longer else None
    if split is None:
        return fault
    column, before, behind = split
    known = f"{shown(before)} is in column {shown(column)}, and {shown(behind)} in the next"
    number = f"{_found(_BEFORE, before)}.{_found(_BEHIND, behind)}"
    hint = f"write the number with a decimal point: {shown(number)}"
    if fault is not None:
        return replace(fault, known=known, hint=hint)
    message = "a decimal comma spreads a number over two cells, and moves those after it"
    return Fault("split-number", message, where, known, hint)


def name_missing(table: Table, slips: Mapping[int, Fault]) -> Fault | None:
    """Say once that the first row lacks a name, where every row is longer by as much and nothing else is told."""
    widths = {row.longer for row in table.rows}
    if len(table.rows) < 2 or len(slips) < len(table.rows) or len(widths) > 1 or any(s.known for s in slips.values()):
        return None
    message = f"every row has {max(widths)} cells, and the first row names {len(table.columns)} columns"
    return Fault("too-many-cells", message, table.file, hint="name every column in the first row, in its place")


def _split_number(table: Table, row: TableRow) -> tuple[str, str, str] | None:
    """Return the column of a whole number without a unit, its cell, and the next cell with digits and a unit."""
    for column, following in pairwise(table.columns) if table.separator == "," else ():
        before, behind = row.cells.get(column, ""), row.cells.get(following, "")
        if column in _AMOUNTS and _BEFORE.fullmatch(before) and _BEHIND.fullmatch(behind):
            return column, before, behind
    return None


def _found(pattern: re.Pattern[str], text: str) -> str:
    match = pattern.fullmatch(text)
    return match[1] if match else text


def without_commas(table: Table, changed: Mapping[str, frozenset[str]]) -> tuple[Table, dict[int, frozenset[str]]]:
    """
    Take cells with a comma out of a table whose cells are separated by semicolons, with one fault for them all.

    Parameters
    ----------
    table
        The rows.
    changed
        By circuit the fields that a variant wrote; they are no cells of this table.

    Returns
    -------
    tuple
        The table without these cells and with the fault, and by row the columns taken out.
    """
    if table.separator != ";":
        return table, {}
    taken = {
        row.number: columns
        for row in table.rows
        if not (row.overlong or row.longer)
        and (columns := frozenset(_commas(table, row) - changed.get(row.cells.get("id", ""), frozenset())))
    }
    if not taken:
        return table, {}
    rows = [
        replace(row, cells={column: cell for column, cell in row.cells.items() if column not in taken[row.number]})
        if row.number in taken
        else row
        for row in table.rows
    ]
    return replace(table, rows=tuple(rows), faults=(*table.faults, _comma_fault(table, taken))), taken


def _commas(table: Table, row: TableRow) -> set[str]:
    return {column for column in table.columns if column not in _WORDS and "," in row.cells.get(column, "")}


def _comma_fault(table: Table, taken: Mapping[int, frozenset[str]]) -> Fault:
    columns = [column for column in table.columns if any(column in cells for cells in taken.values())]
    first = next(row for row in table.rows if row.number in taken)
    column = next(column for column in table.columns if column in taken[first.number])
    number = sum(map(len, taken.values()))
    numbers = [str(row) for row in taken]
    more = f" and {len(numbers) - _MOST_ROWS_NAMED} more" if len(numbers) > _MOST_ROWS_NAMED else ""
    return Fault(
        "comma-in-cell",
        f"{number} cell{'' if number == 1 else 's'} with a number or a list hold{'s' if number == 1 else ''} a comma",
        f"{table.file}, row{'' if len(numbers) == 1 else 's'} {', '.join(numbers[:_MOST_ROWS_NAMED])}{more}, "
        f"field{'' if len(columns) == 1 else 's'} {quoted(columns, 30)}; "
        f"the first: row {first.number}, {shown(column)} = {shown(first.cells[column])}",
        "the cells of this table are separated by semicolons; numbers have a decimal point, and lists semicolons",
        'write "2.5 m", and put a list into quotes: "front; rear", or "front: 3.2 m; rear: 7 m"',
    )
