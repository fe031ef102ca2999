"""
Marks of a comparison in the drawings of two panels: what has another place in the other plan, what is changed or new.

Comes in as a ``Comparison`` and one of its plans; goes out as marks by place: a letter, with the number that its
circuit has in the table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from allocator.outputs.comparing.side import Comparison
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
