"""
The greedy baseline's modules as they fill, and what adding another one is worth.

A module is worth what it takes of the needs that are left and find no free way or socket in the panel already.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from allocator.requirements.catalogue import Module
from allocator.sizing.sized import Need, Sized

RELAY_CLASSES = ("micro", "standard", "heavy")


@dataclass(eq=False)
class OpenPiece:
    """A strip piece (or single way, or stud) as it grows."""

    feed: str
    needs: list[Need] = field(default_factory=list)


@dataclass(eq=False)
class OpenModule:
    """A module as it fills; ``bay`` is set only where a pin asks for it."""

    panel: str
    module: Module
    bay: int | None
    pieces: dict[int, list[OpenPiece]]
    row_of: dict[str, int] = field(default_factory=dict)
    relays: dict[str, list[Need]] = field(default_factory=dict)

    def free_ways(self, letter: str) -> int:
        """Ways of a format that are not in use."""
        rows = [index for index, row in enumerate(self.module.rows) if row.fuse_format == letter]
        return sum(self.module.rows[row].ways - self.used(row) for row in rows)

    def free_sockets(self, relay_class: str) -> int:
        """Sockets of a class that are not in use."""
        room = sum(sockets.count for sockets in self.module.sockets if sockets.relay_class == relay_class)
        return room - len(self.relays.get(relay_class, []))

    def used(self, row: int) -> int:
        """Ways of a row in use."""
        return sum(found == row for found in self.row_of.values())

    def inside(self, needs: Mapping[str, Need], rows: Sequence[int]) -> list[Need]:
        """Needs at some rows."""
        return [needs[name] for name, row in self.row_of.items() if row in rows]


def worth(sized: Sized, modules: Sequence[OpenModule], left: Sequence[Need], new: OpenModule) -> int:
    """Count the ways and sockets of a module that something left can use and finds nowhere else in the panel."""
    here = [module for module in modules if module.panel == new.panel]
    letters: list[str] = sorted(
        {row.fuse_format for module in sized.requirements.catalogue.modules for row in module.rows}
    )
    ways = {letter: sum(module.free_ways(letter) for module in here) for letter in letters}
    sockets = {name: sum(module.free_sockets(name) for module in here) for name in RELAY_CLASSES}
    homeless: list[list[str]] = []
    for need in left:
        options = [option for option in need.options if option.panel == new.panel]
        formats: list[str] = [option.fuse_format for option in options if option.fuse_format]
        classes: list[str] = [option.relay_class for option in options if option.relay_class]
        homeless += [
            asked for free, asked in ((ways, formats), (sockets, classes)) if asked and not _taken(free, asked)
        ]
    room = {letter: new.free_ways(letter) for letter in letters}
    room |= {name: new.free_sockets(name) for name in RELAY_CLASSES}
    return sum(_taken(room, asked) for asked in homeless)


def _taken(free: dict[str, int], asked: Sequence[str]) -> bool:
    """Take one place of the first kind that has any; say whether there was one."""
    home = next((name for name in asked if free.get(name, 0) > 0), None)
    if home is not None:
        free[home] -= 1
    return home is not None
