"""
The marks of a revision in the drawing of the new panel: letters on ways, sockets, strip pieces and modules.

Comes in as a change list; goes out as letters by place, and as sheets that write them over what they draw. No mark is
told by colour: each is a letter in white on ink, and a line of its own kind around what it is about.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from typing import Any, Literal

from allocator.outputs.arrangement import INLET_MM
from allocator.outputs.marks import INK, PAPER
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet
from allocator.plan.change_list import ChangeList

Letter = Literal["N", "M", "C", "X"]
MEANINGS: Mapping[Letter, str] = {
    "N": "new here",
    "M": "moved to here",
    "C": "stays here, with another fuse, wire or relay, or cut anew",
    "X": "what was here is taken out or moved away",
}
_LETTERS: tuple[Letter, ...] = ("X", "N", "M", "C")
_TAG_MM, _STRIP_MM = 3.4, 3.6
_OUTLINE_PT = 1.5
Marks = Mapping[tuple[str, str], str]
"""Letters by kind of place (way, socket, piece, module) and address."""


def marks_of(changes: ChangeList) -> Marks:
    """Return the letters of every place of the new panel that something is done to."""
    found: dict[tuple[str, str], set[Letter]] = defaultdict(set)
    built = changes.built
    now = {item.need.id: item for item in changes.new.needs}
    for name in dict.fromkeys([*built.needs, *now]):
        was, item = built.needs.get(name), now.get(name)
        pairs = {
            "way": (was.way if was else None, item.way if item else None),
            "socket": (was.socket if was else None, item.socket if item else None),
        }
        for kind, (old, new) in pairs.items():
            if old is not None and old != new:
                found[kind, str(old)].add("X")
            if new is not None and old != new:
                found[kind, str(new)].add("N" if was is None or old is None else "M")
        if was is not None and item is not None:
            if was.way is not None and was.way == item.way and was.fuse != item.option.fuse:
                found["way", str(item.way)].add("C")
            if was.socket is not None and was.socket == item.socket and was.relay != item.option.relay:
                found["socket", str(item.socket)].add("C")
    for change in changes.wires:
        if change.fate == "replaced" and change.new is not None:
            for place in (change.new.start.place, change.new.end.place):
                for kind in ("way", "socket"):
                    if (kind, place) not in found and place in _places(changes, kind):
                        found[kind, place].add("C")
    for step in changes.steps:
        if step.kind in ("strip piece", "feed entry") and step.new:
            found["piece", step.new].add("C" if step.doing == "change" else "N")
        if step.kind == "module" and step.doing == "add":
            found["module", step.new].add("N")
    return {key: "".join(letter for letter in _LETTERS if letter in letters) for key, letters in found.items()}


def _places(changes: ChangeList, kind: str) -> set[str]:
    places = changes.new.way_by_place if kind == "way" else changes.new.socket_by_place
    return {str(place) for place in places}


class MarkedSheet(Sheet):
    """A sheet that writes marks over the places that it draws."""

    def __init__(self, size_mm: tuple[float, float], marks: Marks) -> None:
        super().__init__(size_mm)
        self._marks = marks

    def part(self, kind: str, address: str, box: Box) -> AbstractContextManager[None]:
        """Draw a way, socket or feed entry, and its mark when it is done."""
        return self._marked(kind, address, box)

    @contextmanager
    def _marked(self, kind: str, address: str, box: Box) -> Iterator[None]:
        yield
        letters = self._marks.get((kind, address))
        if letters is None:
            return
        if kind == "way":
            self._outline(box, letters)
            number = address.rpartition("/")[2]
            self._tag(Box(box.x, box.y, box.w, _STRIP_MM), f"{letters} {number}")
        elif kind == "socket":
            self._outline(box, letters)
            self._tag(Box(box.right - _TAG_MM * len(letters), box.y, _TAG_MM * len(letters), _TAG_MM), letters)
        else:
            bar = Box(box.x, box.y + INLET_MM, box.w, box.h - INLET_MM)
            width = min(_TAG_MM, bar.w)
            self._tag(Box(bar.x + (bar.w - width) / 2, bar.y, width, bar.h), letters)

    def rectangle(self, box: Box, **style: Any) -> None:
        """Draw a box; that of a new module gets its mark."""
        super().rectangle(box, **style)
        _, _, address = str(style.get("name") or "").partition(" module ")
        letters = self._marks.get(("module", address))
        if letters is not None:
            self._outline(box, letters)
            self._tag(Box(box.x, box.y, 2 * _TAG_MM, _TAG_MM), letters)

    def _outline(self, box: Box, letters: str) -> None:
        """Draw a heavy line around a place: whole where something comes, broken where it only goes or changes."""
        super().rectangle(box, weight=_OUTLINE_PT, dashed="N" not in letters and "M" not in letters)

    def _tag(self, box: Box, letters: str) -> None:
        super().rectangle(box, fill=INK, edge=INK, weight=0.4)
        self.text(box.inset(0.2, 0.1), letters, size=7.5, bold=True, colour=PAPER, align="centre")
