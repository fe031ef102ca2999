"""
Marks of a comparison in the drawings of two panels: what has another place in the other plan, what is changed or new.

Comes in as a ``Comparison`` and one of its plans; goes out as marks by place, and as sheets that write them over what
they draw. Each mark is a letter in white on ink, with the number that its circuit has in the table, and a line of its
own kind around the place: nothing is told by colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from typing import Any, Literal

from allocator.outputs.arrangement import INLET_MM
from allocator.outputs.comparing.side import Comparison
from allocator.outputs.marks import INK, PAPER
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet
from allocator.plan.index import PlanIndex

Letter = Literal["M", "C", "N"]
Kind = Literal["way", "socket"]
MEANINGS: Mapping[Letter, str] = {
    "M": "moved: its circuit has another place in the other plan",
    "C": "changed: same place, other feed, fuse, wire or relay; a strip piece that is cut otherwise",
    "N": "not in the other plan: circuit, or module of this type in this bay",
}
_FIELDS_AT: Mapping[Kind, tuple[str, ...]] = {"way": ("feed", "format", "fuse", "wire"), "socket": ("relay", "jumper")}
"""What may change at a way, and at a socket, without a move."""
_TAG_MM = 3.6
_TABS_MM = 6.0
_OUTLINE_PT = 1.6


@dataclass(frozen=True, slots=True)
class Mark:
    """What is written at a place: a letter, and the number of its circuit, 0 for a strip piece or module."""

    letter: Letter
    number: int = 0

    @property
    def text(self) -> str:
        """The mark as it is written."""
        return f"{self.letter}{self.number or ''}"


Marks = Mapping[tuple[str, str], Mark]
"""By kind of place (way, socket, piece, module) and address."""


def marks_of(comparison: Comparison, side: int, other: int) -> Marks:
    """Return the marks of one of two plans, the first and ``other``, against the one of the two that it is not."""
    found: dict[tuple[str, str], Mark] = {}
    for number, row in comparison.numbered(other):
        standing, changed = row.standings[side], row.fields(other)
        for kind, fields in _FIELDS_AT.items() if standing is not None else ():
            is_new = row.fate(other) in ("only here", "only there")
            letter: Letter = "N" if is_new else "M" if kind in changed or "panel" in changed else "C"
            if standing is not None and standing[kind] and (letter != "C" or set(fields) & set(changed)):
                found[kind, standing[kind]] = Mark(letter, number)
    here, there = (comparison.sides[number].content.index for number in (side, other if side == 0 else 0))
    modules = {(item.panel, item.bay): item.module.id for item in there.modules}
    for item in here.modules:
        if modules.get((item.panel, item.bay)) != item.module.id:
            found["module", f"{item.panel}/{item.bay}"] = Mark("N")
    cuts = set(_cuts(there))
    for at, feed in _cuts(here):
        if (at, feed) not in cuts:
            found["piece", at] = Mark("C")
    return found


def _cuts(index: PlanIndex) -> Iterator[tuple[str, str]]:
    for entry in index.entries:
        yield entry.piece.at, entry.piece.feed


class MarkedSheet(Sheet):
    """A sheet that writes marks over the places that it draws; ``marks`` are those of the plan in hand."""

    def __init__(self, size_mm: tuple[float, float]) -> None:
        super().__init__(size_mm)
        self.marks: Marks = {}

    def part(self, kind: str, address: str, box: Box) -> AbstractContextManager[None]:
        """Draw a way, socket or feed entry, and its mark when it is done."""
        return self._marked(kind, address, box)

    @contextmanager
    def _marked(self, kind: str, address: str, box: Box) -> Iterator[None]:
        yield
        mark = self.marks.get((kind, address))
        if mark is None:
            return
        if kind == "piece":
            bar = Box(box.x, box.y + INLET_MM, box.w, box.h - INLET_MM)
            width = min(_TAG_MM, bar.w)
            self._tag(Box(bar.x + (bar.w - width) / 2, bar.y, width, bar.h), mark.text)
            return
        super().rectangle(box, weight=_OUTLINE_PT, dashed=mark.letter == "C")
        if kind == "way":
            self._tag(Box(box.x, box.y, box.w, _TAG_MM), f"{address.rpartition('/')[2]}  {mark.text}", mark.text)
        else:  # above the tabs, where a socket has least to say
            width = min(box.w, 2.4 * _TAG_MM)
            self._tag(Box(box.right - width, box.bottom - _TABS_MM - _TAG_MM, width, _TAG_MM), mark.text)

    def rectangle(self, box: Box, **style: Any) -> None:
        """Draw a box; that of a module gets its mark."""
        super().rectangle(box, **style)
        _, is_module, address = str(style.get("name") or "").partition(" module ")
        mark = self.marks.get(("module", address)) if is_module else None
        if mark is not None:
            super().rectangle(box, weight=_OUTLINE_PT)
            self._tag(Box(box.x, box.y - _TAG_MM, _TAG_MM, _TAG_MM), mark.text)

    def _tag(self, box: Box, *texts: str) -> None:
        """Write the first of some texts that fits: in a narrow way the mark counts more than the number of the way."""
        super().rectangle(box, fill=INK, edge=INK, weight=0.4)
        self.first_text(box.inset(0.2, 0.1), texts, size=7, bold=True, colour=PAPER, align="centre")
