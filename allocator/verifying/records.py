"""Ways, sockets and feed entries of a plan with what was found at their addresses, and how addresses are read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from allocator.address import Place, SocketPlace, parse_place
from allocator.plan.plan import Piece, UsedSocket, UsedWay
from allocator.requirements.catalogue import Module, RelayClass, Row

NeedKey = tuple[str, str]
"""Kind (circuit, feed, spare) and id."""
ModuleKey = tuple[str, int]
"""Panel and first bay."""


@dataclass(frozen=True, slots=True)
class _Record:
    """What the plan uses, and where that is, if its address can be read."""

    used: UsedWay | UsedSocket
    place: Place | SocketPlace | None

    @property
    def need(self) -> NeedKey:
        """What it holds, or whose relay."""
        return self.used.kind, self.used.need

    @property
    def at(self) -> str:
        """The address as printed; as written where it cannot be read."""
        return self.used.at if self.place is None else str(self.place)


@dataclass(frozen=True, slots=True)
class WayRecord(_Record):
    """A used way: its address, and the module and row there, as far as they exist."""

    used: UsedWay
    place: Place | None
    module: Module | None
    row: Row | None

    @property
    def name(self) -> str:
        """The way and what it holds, for messages."""
        return f"{self.at} ({self.used.kind} {self.used.need})"

    @property
    def module_key(self) -> ModuleKey | None:
        """Panel and bay."""
        return None if self.place is None else module_key(self.place)

    @property
    def row_place(self) -> Place | None:
        """The row it is in."""
        return None if self.place is None else Place(self.place.panel, self.place.bay, self.place.row)


@dataclass(frozen=True, slots=True)
class SocketRecord(_Record):
    """A used socket: its address, the module there and the class of the socket, as far as they exist."""

    used: UsedSocket
    place: SocketPlace | None
    module: Module | None
    relay_class: RelayClass | None

    @property
    def module_key(self) -> ModuleKey | None:
        """Panel and bay."""
        return None if self.place is None else (self.place.panel, self.place.bay)


@dataclass(frozen=True, slots=True)
class EntryRecord:
    """
    A feed entry: what it covers, as far as the place exists.

    ``at`` is the address as printed; as written where it cannot be read. ``group`` is the index of the supply group
    that it enters; None at a socket, or where there is none. ``ways`` are the ways under it, used or not; ``fault``
    says why the place does not exist.
    """

    piece: Piece
    at: str
    panel: str | None
    module: Module | None = None
    group: int | None = None
    ways: tuple[Place, ...] = ()
    socket: SocketPlace | None = None
    fault: str = ""


def quoted(names: Iterable[str]) -> str:
    """Return names as a list in a sentence."""
    return ", ".join(f'"{name}"' for name in names)


def module_key(place: Place) -> ModuleKey | None:
    """Return panel and bay of a place; None where it is a whole panel."""
    return None if place.bay is None else (place.panel, place.bay)


def read_module_place(text: str) -> ModuleKey | None:
    """Read the place of a module, such as ``cabin/2``; None where the text is none."""
    try:
        place = parse_place(text)
    except ValueError:
        return None
    return module_key(place) if place.row is None else None


def read_way(text: str) -> Place | None:
    """Read the place of one way, such as ``cabin/2/A/3``; None where the text is none."""
    try:
        place = parse_place(text)
    except ValueError:
        return None
    return place if place.first is not None and place.last is None else None


def row_at(module: Module, place: Place) -> Row | None:
    """Return the row of a way in a module; None where the module has no such way."""
    if place.row is None or place.first is None or place.row >= len(module.rows):
        return None
    row = module.rows[place.row]
    return row if place.first <= row.ways else None


def class_of_socket(module: Module, socket: int) -> RelayClass | None:
    """Return the relay class of a module's socket, counted from 1 over all its classes; None where it has fewer."""
    for sockets in module.sockets:
        if socket <= sockets.count:
            return sockets.relay_class
        socket -= sockets.count
    return None


def group_of(module: Module, row: int) -> int:
    """Return the supply group of a row: groups are numbered by their first rows, and the rows on a stud are one."""
    on_stud = [index for index, other in enumerate(module.rows) if other.bus == "stud"]
    first = on_stud[0] if row in on_stud else row
    return first - sum(index < first for index in on_stud[1:])
