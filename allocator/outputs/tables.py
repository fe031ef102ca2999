"""
Tables on sheets: columns as wide as their text needs, rows as high, cut into parts that fit the room on offer.

Comes in as titles, heads and rows of text; goes out as TableParts and their marks on a Sheet. Text in a cell wraps
until all of it is there. Anything with heights and rows can be cut in the same way (``Listing``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from allocator.outputs.fonts import MM_PER_PT, clean, width_em
from allocator.outputs.lettering import fit
from allocator.outputs.marks import INK, PALE, SOFT, WASH
from allocator.outputs.paper import Box, Paper

SIZE_PT, TITLE_PT = 7.0, 9.0
LINE_MM, PAD_MM, ROW_GAP_MM = 3.1, 1.1, 1.3
TITLE_MM, HEAD_MM = 5.4, 5.2
COLUMN_GAP_MM = 8.0
LEAST_COLUMN_MM, AFTER_NUMBER_MM = 9.0, 2.5
MOST_LINES = 12
BLANK_MM, BLANK_ROW_MM = 17.0, 6.4
"""Least width and height of what is filled in by hand."""
MOST_SIDE_BY_SIDE, ROWS_TO_SPLIT, MOST_SQUEEZED = 2, 16, 1.2
"""A table of more rows than this stands in two columns of the page, where it is at most this much too wide for one."""


class Listing(Protocol):
    """What can be cut into parts: a title, a head that is repeated, and rows of given heights."""

    @property
    def title(self) -> str:
        """Title, repeated on each page."""

    @property
    def head_mm(self) -> float:
        """Height of the head under the title, mm."""

    def side_by_side(self, width_mm: float) -> int:
        """Return how many parts go beside each other in that width."""

    def heights(self, width_mm: float) -> tuple[float, ...]:
        """Return the height of every row in that width, mm."""

    def draw_head(self, sheet: Paper, box: Box) -> None:
        """Draw the head."""

    def draw_row(self, sheet: Paper, number: int, box: Box) -> None:
        """Draw one row."""


@dataclass(frozen=True)
class Table:
    """A table of text: title, column heads, rows; ``right`` names the columns that are aligned on the right."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[str, ...] = ()
    blank: tuple[str, ...] = ()
    """Columns to be filled in by hand: boxes, in rows that are high enough to write in."""

    @property
    def head_mm(self) -> float:
        """Height of the column heads, mm."""
        return HEAD_MM

    @cached_property
    def _natural_mm(self) -> tuple[float, ...]:
        """Width of each column if nothing wraps."""
        found = []
        for number, head in enumerate(self.columns):
            widest = max(width_em(clean(text), bold) for text, bold in self._column(number)) * SIZE_PT * MM_PER_PT
            gap = 2 * PAD_MM + (AFTER_NUMBER_MM if head in self.right else 0.1)
            found.append(max(widest + gap, BLANK_MM if head in self.blank else LEAST_COLUMN_MM))
        return tuple(found)

    def _column(self, number: int) -> Iterator[tuple[str, bool]]:
        yield self.columns[number], True
        for row in self.rows:
            if row[number]:
                yield row[number], number == 0

    def widths(self, width_mm: float) -> tuple[float, ...]:
        """Return the widths of the columns: what each needs, the widest ones cut to what is left; together all."""
        needed = self._natural_mm
        if sum(needed) <= width_mm:
            return tuple(width * width_mm / sum(needed) for width in needed)
        ordered = sorted(needed)
        left, most = width_mm, 0.0
        for number, width in enumerate(ordered):
            most = left / (len(ordered) - number)
            if width > most:
                break
            left -= width
        return tuple(min(width, most) for width in needed)

    def side_by_side(self, width_mm: float) -> int:
        """Return how many parts go beside each other: two of a long, narrow table."""
        half = part_width(width_mm, MOST_SIDE_BY_SIDE)
        return (
            MOST_SIDE_BY_SIDE if len(self.rows) > ROWS_TO_SPLIT and sum(self._natural_mm) <= MOST_SQUEEZED * half else 1
        )

    def heights(self, width_mm: float) -> tuple[float, ...]:
        """Return the height of every row, mm."""
        widths = self.widths(width_mm)
        least = BLANK_ROW_MM if self.blank else 0.0
        return tuple(max(least, max(self._lines(row, widths)) * LINE_MM + ROW_GAP_MM) for row in self.rows)

    def _lines(self, row: Sequence[str], widths: Sequence[float]) -> Iterator[int]:
        yield 1
        for number, (text, width, natural) in enumerate(zip(row, widths, self._natural_mm, strict=True)):
            if text and width < natural:
                fitted = fit(
                    clean(text), width - 2 * PAD_MM, MOST_LINES * LINE_MM,
                    largest_pt=SIZE_PT, smallest_pt=SIZE_PT, bold=number == 0, max_lines=MOST_LINES,
                )  # fmt: skip
                yield -(-int(fitted.height_mm * 100) // int(LINE_MM * 100))

    def draw_head(self, sheet: Paper, box: Box) -> None:
        """Draw the column heads."""
        sheet.rectangle(box, fill=WASH, edge=None)
        self._draw_cells(sheet, self.columns, box, head=True)
        sheet.line([(box.x, box.bottom), (box.right, box.bottom)], weight=0.8)

    def draw_row(self, sheet: Paper, number: int, box: Box) -> None:
        """Draw one row with a fine line under it."""
        self._draw_cells(sheet, self.rows[number], box, head=False)
        sheet.line([(box.x, box.bottom), (box.right, box.bottom)], colour=PALE, weight=0.4)

    def _draw_cells(self, sheet: Paper, row: Sequence[str], box: Box, *, head: bool) -> None:
        x = box.x
        for number, (text, width) in enumerate(zip(row, self.widths(box.w), strict=True)):
            is_number = self.columns[number] in self.right
            if self.columns[number] in self.blank and not head and not text:
                sheet.rectangle(Box(x + PAD_MM, box.y + 0.7, width - 2 * PAD_MM, box.h - 1.4), edge=SOFT, weight=0.5)
            if text:
                sheet.text(
                    Box(
                        x + PAD_MM, box.y + 0.4, width - 2 * PAD_MM - (AFTER_NUMBER_MM if is_number else 0), box.h - 0.6
                    ),
                    text,
                    size=SIZE_PT,
                    smallest=SIZE_PT if not head else 5,
                    bold=head or number == 0,
                    colour=SOFT if head else INK,
                    align="right" if is_number else "left",
                    max_lines=1 if head else MOST_LINES,
                )
            x += width


@dataclass(frozen=True, slots=True)
class TablePart:
    """Rows of a listing that go below each other on one page, with the height of each, mm."""

    listing: Listing
    first: int
    heights: tuple[float, ...]

    @property
    def height(self) -> float:
        """Height on the sheet, mm."""
        return TITLE_MM + self.listing.head_mm + sum(self.heights)


def parts_of(listing: Listing, width_mm: float, rooms: Callable[[float], float]) -> Iterator[tuple[TablePart, ...]]:
    """
    Cut a listing into parts that fit; those of one tuple stand side by side, as even as can be.

    Parameters
    ----------
    listing
        What to cut.
    width_mm
        Width of the page's body.
    rooms
        Called for each tuple with the least height that is of use, mm: height on offer; the first may be what is left
        of a sheet. A row that is higher than any page is put there all the same.
    """
    across = listing.side_by_side(width_mm)
    heights = listing.heights(part_width(width_mm, across))
    first = 0
    while first < len(heights):
        above = TITLE_MM + listing.head_mm
        room = max(rooms(above + heights[first]) - above, heights[first])
        even = sum(heights[first:]) / across + max(heights[first:])
        parts: list[TablePart] = []
        for _ in range(across):
            end = first
            while end < len(heights) and sum(heights[first : end + 1]) <= min(room, even):
                end += 1
            if end > first:
                parts.append(TablePart(listing, first, heights[first:end]))
                first = end
        if parts:
            yield tuple(parts)


def part_width(width_mm: float, across: int) -> float:
    """Return the width of each of so many parts beside each other, mm."""
    return (width_mm - (across - 1) * COLUMN_GAP_MM) / across


def draw_parts(sheet: Paper, parts: Sequence[TablePart], box: Box) -> float:
    """Draw parts side by side at the top of a box; return the height that they take, mm."""
    across = parts[0].listing.side_by_side(box.w)
    width = part_width(box.w, across)
    for number, part in enumerate(parts):
        _draw_part(sheet, part, Box(box.x + number * (width + COLUMN_GAP_MM), box.y, width, part.height))
    return max(part.height for part in parts)


def _draw_part(sheet: Paper, part: TablePart, box: Box) -> None:
    again = " (continued)" if part.first else ""
    sheet.text(Box(box.x, box.y, box.w, TITLE_MM - 0.4), part.listing.title + again, size=TITLE_PT, bold=True)
    y = box.y + TITLE_MM
    if part.listing.head_mm:
        part.listing.draw_head(sheet, Box(box.x, y, box.w, part.listing.head_mm))
    y += part.listing.head_mm
    for number, height in enumerate(part.heights, part.first):
        part.listing.draw_row(sheet, number, Box(box.x, y, box.w, height))
        y += height
