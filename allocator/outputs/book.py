"""
Sheets in the making: a new one when the last one is full, tables one after the other, and the foot when all are there.

Comes in as a Content, a size of paper and what is put onto it; goes out as Sheets that say which they are of how many.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from allocator.outputs.content import Content
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet
from allocator.outputs.tables import Listing, draw_parts, parts_of
from allocator.outputs.titleblock import LAYOUT_FOOT, Foot, SheetTitle, body_of

LINE_GAP_MM = 4.0
LEAST_TABLE_MM = 30.0
TABLES, MOST_NAMED = "tables", 2


@dataclass
class Book:
    """
    The sheets of one document.

    Attributes
    ----------
    content
        The plan that they are about.
    size_mm
        Width and height of every sheet.
    document
        Name of the document, as its sheets say it.
    foot
        What stands along the lower edge of every sheet.
    make
        What makes an empty sheet of a size.
    used_mm
        Height of the last sheet's body that is taken, mm.
    """

    content: Content
    size_mm: tuple[float, float]
    document: str
    foot: Foot = LAYOUT_FOOT
    make: Callable[[tuple[float, float]], Sheet] = Sheet
    sheets: list[Sheet] = field(default_factory=list)
    used_mm: float = 0.0
    _titles: list[str] = field(default_factory=list)
    _panels: list[tuple[str, ...]] = field(default_factory=list)
    """Panels that are drawn on each sheet."""
    _tables: list[str] = field(default_factory=list)
    """Tables on the last sheet, where it holds only tables."""

    def new(self, title: str, *panels: str) -> Box:
        """Begin a sheet, on which these panels are drawn; return the room on it."""
        self.sheets.append(self.make(self.size_mm))
        self._titles.append(title)
        self._panels.append(panels)
        self.used_mm = 0.0
        return self.body

    @property
    def body(self) -> Box:
        """The room above the foot of the last sheet."""
        return body_of(self.sheets[-1], self.foot)

    def add(self, listing: Listing) -> None:
        """Put a table below what is there, and on as many sheets as it takes."""
        width = body_of(Sheet(self.size_mm), self.foot).w
        for parts in parts_of(listing, width, self._rooms()):
            room = Box(self.body.x, self.body.y + self.used_mm, width, self.body.h - self.used_mm)
            self._name_table(listing.title.lower())
            self.used_mm += draw_parts(self.sheets[-1], parts, room) + LINE_GAP_MM

    def finish(self) -> tuple[Sheet, ...]:
        """Draw the foot of every sheet."""
        made = zip(self.sheets, self._titles, self._panels, strict=True)
        for number, (sheet, title, panels) in enumerate(made, 1):
            self.foot.draw(sheet, self.content, SheetTitle(title, self.document, number, len(self.sheets), panels))
        return tuple(self.sheets)

    def _rooms(self) -> Callable[[float], float]:
        def room(least_mm: float) -> float:
            left = self.body.h - self.used_mm if self.sheets and self.used_mm else 0.0
            if left < max(LEAST_TABLE_MM, least_mm):
                left = self.new(TABLES).h
            return left

        return room

    def _name_table(self, table: str) -> None:
        """Add a table to the title of the sheet that it is on; by name, if the sheet holds only tables."""
        title = self._titles[-1]
        if not title.startswith(TABLES) and not title.endswith(", tables"):
            self._titles[-1] = f"{title}, tables"
        if title == TABLES:
            self._tables = []
        if title.startswith(TABLES) and table not in self._tables:
            self._tables.append(table)
            named, more = self._tables[:MOST_NAMED], len(self._tables) - MOST_NAMED
            self._titles[-1] = f"{TABLES}: {', '.join(named)}" + (f" and {more} more" if more > 0 else "")
