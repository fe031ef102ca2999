"""
Charts as pictures of their own: every chart on pages as high as it needs, with vehicle, plan and cautions on each.

Comes in as the Content of a plan; goes out as Sheets by file name. The same charts stand in the layout drawing, which
cuts its own pages from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from allocator.outputs.cautions import cautions_line
from allocator.outputs.charts.drops import DropRows
from allocator.outputs.charts.feeds import FeedBlocks
from allocator.outputs.charts.gate_cells import GateCells
from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.marks import SOFT
from allocator.outputs.paper import Box, Paper
from allocator.outputs.sheet import Sheet
from allocator.outputs.tables import Listing, TablePart, draw_parts, parts_of

WIDTH_MM, MOST_HEIGHT_MM = 210.0, 297.0
MARGIN_MM = 10.0
HEAD_MM, FOOT_MM = 9.0, 17.0


def chart_listings(content: Content) -> Mapping[str, Listing]:
    """Return the charts of a plan by file name; one that would show nothing is left out."""
    cells = GateCells(content)
    found: dict[str, Listing] = {"feeds": FeedBlocks(content), "drops": DropRows(content)}
    return found | ({"fuses": cells} if cells.cells else {})


def chart_sheets(content: Content) -> Mapping[str, tuple[Sheet, ...]]:
    """Return the finished pages of every chart by file name."""
    return {name: _pages(content, listing) for name, listing in chart_listings(content).items()}


@dataclass(frozen=True, slots=True)
class ChartSlice:
    """Rows of a chart that go below those of the slice before; the first one has title and head."""

    part: TablePart

    @property
    def height_mm(self) -> float:
        """Height, mm."""
        return sum(self.part.heights) if self.part.first else self.part.height

    def draw(self, paper: Paper, box: Box) -> None:
        """Draw it at the top of a box of the width that it was cut for."""
        if self.part.first == 0:
            draw_parts(paper, (self.part,), box)
            return
        y = box.y
        for number, height in enumerate(self.part.heights, self.part.first):
            self.part.listing.draw_row(paper, number, Box(box.x, y, box.w, height))
            y += height


def chart_slices(listing: Listing, width_mm: float, most_mm: float) -> Iterator[ChartSlice]:
    """Cut a chart into slices whose rows are no higher together than that, or one row high: none is torn by a page."""
    heights = listing.heights(width_mm)
    first = 0
    for end in range(1, len(heights) + 1):
        if end == len(heights) or sum(heights[first : end + 1]) > most_mm:
            yield ChartSlice(TablePart(listing, first, heights[first:end]))
            first = end


def _pages(content: Content, listing: Listing) -> tuple[Sheet, ...]:
    width = WIDTH_MM - 2 * MARGIN_MM
    room = MOST_HEIGHT_MM - 2 * MARGIN_MM - HEAD_MM - FOOT_MM
    parts = list(parts_of(listing, width, lambda least: room))
    return tuple(_page(content, part, number, len(parts)) for number, part in enumerate(parts, 1))


def _page(content: Content, parts: tuple[TablePart, ...], number: int, of: int) -> Sheet:
    height = 2 * MARGIN_MM + HEAD_MM + max(part.height for part in parts) + FOOT_MM
    sheet = Sheet((WIDTH_MM, height))
    page = sheet.page.inset(MARGIN_MM)
    pages = f", page {number} of {of}" if of > 1 else ""
    sheet.text(Box(page.x, page.y, page.w * 0.6, 6), content.vehicle, size=12, bold=True)
    sheet.text(
        Box(page.x + page.w * 0.6, page.y, page.w * 0.4, 6.6),
        legible(". ".join(filter(None, (content.issue_text + pages, content.supersedes_text)))),
        size=7.5,
        colour=SOFT,
        align="right",
        max_lines=2,
    )
    draw_parts(sheet, parts, Box(page.x, page.y + HEAD_MM, page.w, page.h - HEAD_MM - FOOT_MM))
    foot = Box(page.x, page.bottom - FOOT_MM + 2, page.w, FOOT_MM - 2)
    sheet.line([(foot.x, foot.y), (foot.right, foot.y)], weight=0.6)
    sheet.text(foot.inset(0, 1), cautions_line(), size=6.5, max_lines=8, middle=False)
    return sheet
