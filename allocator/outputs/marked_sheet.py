"""
Sheets that write marks over the places that they draw: what a revision changes, what differs between two plans.

Comes in as the texts of marks by place; goes out as a sheet to draw panels on. Nothing is told by colour: a mark is
letters in white on ink, and a line around the place, whole where something is new or moved, broken elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from typing import Any

from allocator.outputs.arrangement import INLET_MM
from allocator.outputs.lettering import LEAST_PT, Fitted
from allocator.outputs.marks import INK, PAPER
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet

MarkTexts = Mapping[tuple[str, str], str]
"""What is written, by kind of place (way, socket, piece, module) and address."""
COMES = frozenset("NM")
"""Letters of what is new or moved."""
_TAG_MM = 3.6
_LETTER_MM = 1.5
"""What each further letter or figure of a mark needs at a socket."""
_OUTLINE_PT = 1.6


class MarkedSheet(Sheet):
    """A sheet with marks; ``marks`` are those of the plan in hand, and may change from one panel to the next."""

    def __init__(self, size_mm: tuple[float, float], marks: MarkTexts | None = None) -> None:
        super().__init__(size_mm)
        self.marks: MarkTexts = marks or {}
        self._covered: Box | None = None
        """Where the mark of the way in hand will be: its number is written there anew."""
        self._corner: Box | None = None
        """Where the mark of the socket in hand will be: its name ends before it."""

    def part(self, kind: str, address: str, box: Box) -> AbstractContextManager[None]:
        """Draw a way, socket or feed entry, and its mark when it is done."""
        return self._marked(kind, address, box)

    @contextmanager
    def _marked(self, kind: str, address: str, box: Box) -> Iterator[None]:
        mark = self.marks.get((kind, address))
        self._covered = Box(box.x, box.y, box.w, _TAG_MM) if mark is not None and kind == "way" else None
        self._corner = _corner_of(box, mark) if mark is not None and kind == "socket" else None
        corner = self._corner
        yield
        self._covered = self._corner = None
        if mark is None:
            return
        if kind == "piece":
            bar = Box(box.x, box.y + INLET_MM, box.w, box.h - INLET_MM)
            width = min(_TAG_MM, bar.w)
            self._tag(Box(bar.x + (bar.w - width) / 2, bar.y, width, bar.h), mark)
            return
        super().rectangle(box, weight=_OUTLINE_PT, dashed=not COMES & {*mark})
        if kind == "way":
            self._tag(Box(box.x, box.y, box.w, _TAG_MM), f"{address.rpartition('/')[2]}  {mark}", mark)
        elif corner is not None:
            self._tag(corner, mark)

    def text(self, box: Box, text: str, **style: Any) -> Fitted:
        """Write text inside a box, but nothing where a mark will cover it."""
        middle = box.y + box.h / 2
        if self._covered is not None and self._covered.y <= middle <= self._covered.bottom:
            return Fitted((), LEAST_PT, shortened=False)
        return super().text(self._beside_mark(box), text, **style)

    def first_text(self, box: Box, texts: Sequence[str], **style: Any) -> Fitted:
        """Write the first of some texts that fits, beside a mark where there is one."""
        return super().first_text(self._beside_mark(box), texts, **style)

    def _beside_mark(self, box: Box) -> Box:
        corner = self._corner
        if corner is None or box.y >= corner.bottom or box.right <= corner.x:
            return box
        return Box(box.x, box.y, corner.x - box.x, box.h)

    def rectangle(self, box: Box, **style: Any) -> None:
        """Draw a box; that of a module gets its mark."""
        super().rectangle(box, **style)
        _, is_module, address = str(style.get("name") or "").partition(" module ")
        mark = self.marks.get(("module", address)) if is_module else None
        if mark is not None:
            super().rectangle(box, weight=_OUTLINE_PT)
            self._tag(Box(box.x, box.y - _TAG_MM, _TAG_MM, _TAG_MM), mark)

    def _tag(self, box: Box, *texts: str) -> None:
        """Write the first of some texts that fits: in a narrow way the mark counts more than the number of the way."""
        super().rectangle(box, fill=INK, edge=INK, weight=0.4)
        self.first_text(box.inset(0.2, 0.1), texts, size=7, bold=True, colour=PAPER, align="centre")


def _corner_of(box: Box, mark: str) -> Box:
    """The upper right corner of a socket, beside its name: below it wires are written over the whole height."""
    width = min(_TAG_MM + _LETTER_MM * (len(mark) - 1), box.w / 2)
    return Box(box.right - width, box.y, width, _TAG_MM)
