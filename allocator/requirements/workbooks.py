"""A workbook's bytes in, rows of text out: the one place that reads .xlsx."""

from __future__ import annotations

import io
import warnings
import zipfile
from collections.abc import Iterator
from typing import Any

from allocator.errors import Fault, InputError

LARGEST_UNPACKED_BYTES = 300_000_000
_MOST_COLUMNS = 200
_SHEET = "circuits"


def workbook_rows(content: bytes, file: str, most_rows: int) -> list[tuple[int, list[str]]]:
    """
    Return number and cells of each row of the sheet ``circuits``, else of the first sheet; empty rows are left out.

    Parameters
    ----------
    content
        The workbook.
    file
        Its name for messages.
    most_rows
        Reading stops behind so many rows.

    Raises
    ------
    InputError
        If it is no workbook, unpacks to more than the limit, or holds a formula without a saved value.
    """
    _check_unpacked_size(content, file)
    rows: list[tuple[int, list[str]]] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # they are about the looks of the workbook
        try:
            for number, cells in _rows(content, file):
                if any(cells):
                    rows.append((number, cells))
                if len(rows) == most_rows:
                    break
        except InputError:
            raise
        except Exception:  # a broken workbook can fail in any way: zip, XML, numbers, missing parts
            raise _no_workbook(file) from None
    return rows


def _rows(content: bytes, file: str) -> Iterator[tuple[int, list[str]]]:
    values, formulas = _sheet(content, data_only=True), _sheet(content, data_only=False)
    for number, (cells, written) in enumerate(zip(values, formulas, strict=True), start=1):
        for value, formula in zip(cells, written, strict=True):
            if value is None and formula is not None:
                hint = "save it in a spreadsheet program, or put the value in place of the formula"
                fault = Fault(
                    "formula-without-value", "a formula has no saved value", f"{file}, row {number}", hint=hint
                )
                raise InputError([fault])
        yield number, [_text(cell) for cell in cells]


def _shown(cell: Any) -> object:
    """Return a cell's value; a percentage as the spreadsheet shows it, "10 %", not the 0.1 that it keeps."""
    value = cell.value
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return f"{value * 100:.12g} %" if number and "%" in str(cell.number_format) else value


def _sheet(content: bytes, *, data_only: bool) -> Iterator[tuple[object, ...]]:
    from openpyxl import load_workbook

    book: Any = load_workbook(io.BytesIO(content), read_only=True, data_only=data_only)
    sheet = book[_SHEET] if _SHEET in book.sheetnames else book.worksheets[0]
    sheet.reset_dimensions()  # programs that write workbooks often state a wrong size
    for row in sheet.iter_rows(max_col=_MOST_COLUMNS):
        yield tuple(_shown(cell) for cell in row)


def _check_unpacked_size(content: bytes, file: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
    except Exception:  # a broken zip can fail in many ways
        raise _no_workbook(file) from None
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise InputError(
            [
                Fault(
                    "file-too-large",
                    "the workbook unpacks to too much",
                    file,
                    f"at most {LARGEST_UNPACKED_BYTES} bytes",
                )
            ]
        )


def _no_workbook(file: str) -> InputError:
    return InputError(
        [Fault("bad-workbook", "the file is no workbook that can be read", file, "expected an .xlsx file")]
    )


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.12g}"  # a spreadsheet shows no more digits; the rest is noise of its sums
    return " ".join(str(value).split())
