"""
The marks of a revision in the drawing of the new panel: letters on ways, sockets, strip pieces and modules.

Comes in as a change list; goes out as letters by place.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Literal

from allocator.outputs.marked_sheet import MarkTexts
from allocator.plan.change_list import ChangeList
from allocator.plan.wire_changes import WireChange

Letter = Literal["N", "M", "C", "X"]
MEANINGS: Mapping[Letter, str] = {
    "N": "new here",
    "M": "moved to here",
    "C": "stays here, with another fuse, wire, terminal or relay, or cut anew",
    "X": "what was here is taken out or moved away",
}
_LETTERS: tuple[Letter, ...] = ("X", "N", "M", "C")


def marks_of(changes: ChangeList) -> MarkTexts:
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
    ends = [place for item in changes.wires for place in _worked_on(item)]
    ends += [step.new.rpartition(" ")[0] for step in changes.steps if step.kind == "terminal"]  # before its cavity
    for place in ends:
        for kind in ("way", "socket"):
            if (kind, place) not in found and place in _places(changes, kind):
                found[kind, place].add("C")
    for step in changes.steps:
        if step.kind in ("strip piece", "feed entry") and step.new:
            found["piece", step.new].add("C" if step.doing == "change" else "N")
        if step.kind == "module" and step.doing == "add":
            found["module", step.new].add("N")
    return {key: "".join(letter for letter in _LETTERS if letter in letters) for key, letters in found.items()}


def _worked_on(wire: WireChange) -> Iterator[str]:
    """Yield the places in which an end of a wire comes or goes: both of a wire that is new, replaced or out."""
    if wire.fate == "stays":
        return
    was, now = (
        {(end.place, end.cavity) for end in (run.start, run.end)} if run else set() for run in (wire.old, wire.new)
    )
    yield from sorted(place for place, _ in (was ^ now if wire.fate == "moved" else was | now))


def _places(changes: ChangeList, kind: str) -> set[str]:
    places = changes.new.way_by_place if kind == "way" else changes.new.socket_by_place
    return {str(place) for place in places}
