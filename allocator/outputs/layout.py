"""
The layout drawing: sheets with front and wiring side of every panel, then the tables.

Comes in as the Content of a plan; goes out as Sheets in order. A panel of some bays has both sides on one sheet, front
above wiring side; a larger one has sheets of its own for each side. Small panels have both sides beside each other, two
panels on a sheet; a single one fits on A4, table included.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from allocator.outputs.arrangement import CARRIER_GAP_MM, FRAME_MM, Area, Side, View, arrange, stretches
from allocator.outputs.book import LINE_GAP_MM, Book
from allocator.outputs.charts import chart_listings
from allocator.outputs.content import Content
from allocator.outputs.faces import Face
from allocator.outputs.paper import Box
from allocator.outputs.schedule import cautions_table, feeds_table, notes_table, places_table, wires_table
from allocator.outputs.sheet import A3_MM, A4_MM, Sheet
from allocator.outputs.supply import SupplyListing
from allocator.outputs.tables import Listing

MOST_BAYS_IN_LINE = 6
BAY_MM = 100.0
SMALL_BAYS = 2
"""A panel of so few bays has both sides beside each other; alone it fits on A4."""
SIDES: tuple[Side, Side] = ("front", "wiring side")
HEADING_MM = 7.0
SIDE_GAP_MM = 6.0
A4_VIEW_MM = 93.0
DOCUMENT = "layout"


def layout_sheets(content: Content) -> tuple[Sheet, ...]:
    """Return the finished sheets of the layout drawing."""
    book = panels_book(content, DOCUMENT)
    _add_tables(book)
    return book.finish()


def panels_book(content: Content, document: str, make: Callable[[tuple[float, float]], Sheet] = Sheet) -> Book:
    """Return a book with both sides of every panel, ready for the tables of a document; ``make`` makes its sheets."""
    index = content.index
    panels = [panel for panel in index.panels if any(item.panel == panel for item in index.carriers)]
    num_bays = {panel: sum(item.carrier.bays for item in index.carriers if item.panel == panel) for panel in panels}
    small = [panel for panel in panels if num_bays[panel] <= SMALL_BAYS]
    if panels == small and len(small) == 1:
        book = Book(content, A4_MM, document, make=make)
        body = book.new(f"panel {content.panel_name(small[0])}: front and wiring side", small[0])
        _side_by_side(book, small[0], Box(body.x, body.y, body.w, A4_VIEW_MM))
        book.used_mm = A4_VIEW_MM + LINE_GAP_MM / 2
    else:
        book = Book(content, A3_MM, document, make=make)
        for panel in panels:
            if panel not in small:
                _add_panel(book, panel)
        _add_small_panels(book, small)
    return book


def _add_panel(book: Book, panel: str) -> None:
    lines = stretches(book.content.index, panel, MOST_BAYS_IN_LINE)
    name = book.content.panel_name(panel)
    if len(lines) == 1:
        body = book.new(f"panel {name}: front and wiring side", panel)
        _stacked(book, body, panel, [(lines[0], "front"), (lines[0], "wiring side")])
        return
    for side in SIDES:
        for first in range(0, len(lines), 2):
            pair = lines[first : first + 2]
            part = f", bays {pair[0][0]} to {pair[-1][-1]}" if len(lines) > 2 else ""
            body = book.new(f"panel {name}: {side}{part}", panel)
            _stacked(book, body, panel, [(line, side) for line in pair])


def _add_small_panels(book: Book, panels: Sequence[str]) -> None:
    """Put two panels of few bays on each sheet, one above the other; tables may follow under a single one."""
    for first in range(0, len(panels), 2):
        pair = panels[first : first + 2]
        names = ", ".join(book.content.panel_name(panel) for panel in pair)
        body = book.new(f"panel{'s' if len(pair) > 1 else ''} {names}: front and wiring side", *pair)
        height = (body.h - LINE_GAP_MM) / 2
        for number, panel in enumerate(pair):
            _side_by_side(book, panel, Box(body.x, body.y + number * (height + LINE_GAP_MM), body.w, height))
        book.used_mm = len(pair) * (height + LINE_GAP_MM)


def _side_by_side(book: Book, panel: str, box: Box) -> None:
    half = (box.w - SIDE_GAP_MM) / 2
    bays = tuple(bay for item in book.content.index.carriers if item.panel == panel for bay in item.bays)
    area = _arranged(book, panel, bays, half, box.h - HEADING_MM)
    for side, x in zip(SIDES, (box.x, box.x + half + SIDE_GAP_MM), strict=True):
        _draw_view(book, View(area, side, x, box.y + HEADING_MM), Box(x, box.y, half, HEADING_MM))


def _stacked(book: Book, body: Box, panel: str, lines: list[tuple[tuple[int, ...], Side]]) -> None:
    height = (body.h - LINE_GAP_MM) / 2
    for number, (bays, side) in enumerate(lines):
        y = body.y + number * (height + LINE_GAP_MM)
        area = _arranged(book, panel, bays, body.w, height - HEADING_MM)
        _draw_view(book, View(area, side, body.x, y + HEADING_MM), Box(body.x, y, body.w, HEADING_MM))


def _arranged(book: Book, panel: str, bays: tuple[int, ...], width: float, height: float) -> Area:
    index = book.content.index
    num_carriers = sum(item.panel == panel and any(bay in item.bays for bay in bays) for item in index.carriers)
    frames = num_carriers * 2 * FRAME_MM + (num_carriers - 1) * CARRIER_GAP_MM
    return arrange(index, panel, bays, min(BAY_MM, (width - frames) / len(bays)), height)


def _draw_view(book: Book, view: View, heading: Box) -> None:
    sheet, content = book.sheets[-1], book.content
    name = content.panel_name(view.area.panel)
    bays = view.area.bays
    span = f"bays {bays[0]} to {bays[-1]}" if len(bays) > 1 else f"bay {bays[0]}"
    if view.side == "front":
        text = f"Panel {name}, front, {span}" + (f", right of bay {bays[0] - 1}" if bays[0] > 1 else "")
    else:
        text = f"Panel {name}, wiring side, {span}: mirrored, bay {bays[0]} is at the right"
        text += f", beside bay {bays[0] - 1}" if bays[0] > 1 else ""
    sheet.text(Box(heading.x, heading.y, heading.w, heading.h - 1.5), text, size=10, bold=True)
    Face(sheet, content, view).draw()


def _add_tables(book: Book) -> None:
    content = book.content
    listings: tuple[Listing, ...] = (
        places_table(content), SupplyListing(content), feeds_table(content), *chart_listings(content).values(),
        wires_table(content), *((notes_table(content),) if content.plan.notes else ()), cautions_table(content),
    )  # fmt: skip
    for listing in listings:
        book.add(listing)
