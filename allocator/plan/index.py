"""
Look-ups into a plan: addresses read once, every place joined with its module, need and sizing option.

Comes in as a Plan with its Sized; goes out to ``parts.py``, ``measures.py`` and the outputs. A plan that names things
which are not there is refused with all faults at once, so that nothing wrong is ever counted or drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from allocator.address import Place, SocketPlace, StudPlace, parse_place, parse_socket, parse_stud
from allocator.errors import Fault, InputError
from allocator.plan.plan import Piece, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import Carrier, Module, RelayClass, Row
from allocator.rulebook import RULES
from allocator.sizing.sized import Need, Option, Sized, Tail, supply_groups

Address = TypeVar("Address")


@dataclass(frozen=True, slots=True)
class ModuleAt:
    """A placed module: panel, first bay, type."""

    panel: str
    bay: int
    module: Module

    @property
    def sockets(self) -> tuple[RelayClass, ...]:
        """Class of every socket, in the order in which they are numbered."""
        return tuple(group.relay_class for group in self.module.sockets for _ in range(group.count))


@dataclass(frozen=True, slots=True)
class CarrierAt:
    """A placed carrier: panel, first bay, type."""

    panel: str
    first_bay: int
    carrier: Carrier

    @property
    def bays(self) -> range:
        """Bays of the panel that it provides."""
        return range(self.first_bay, self.first_bay + self.carrier.bays)


@dataclass(frozen=True, slots=True)
class EntryAt:
    """A feed entry with its module, the row (None at a stud or socket) and the ways it covers, from 1."""

    piece: Piece
    at: ModuleAt
    row: int | None = None
    ways: tuple[int, ...] = ()
    socket: int | None = None

    @property
    def group(self) -> int | None:
        """Index of the supply group of the module, None at a socket."""
        if self.socket is not None:
            return None
        groups = supply_groups(self.at.module)
        if self.row is not None:
            return groups.index((self.row,))
        return next(n for n, rows in enumerate(groups) if self.at.module.rows[rows[0]].bus == "stud")


@dataclass(frozen=True, slots=True)
class NeedAt:
    """A placed need with its option, and the way and socket that it has."""

    need: Need
    option: Option
    way: Place | None
    socket: SocketPlace | None
    feed: str

    @property
    def panel(self) -> str:
        """Panel it is at."""
        return self.option.panel

    @property
    def jumper(self) -> str | None:
        """``short`` or ``long`` for a need with way and socket, else None."""
        if self.way is None or self.socket is None:
            return None
        return "short" if self.way.bay == self.socket.bay else "long"


class PlanIndex:
    """
    All look-ups into one plan.

    Parameters
    ----------
    sized
        Sizing of ``plan.requirements``.
    plan
        Plan to read.

    Raises
    ------
    InputError
        If the plan names places, parts or needs that do not exist; all faults at once.
    """

    def __init__(self, sized: Sized, plan: Plan) -> None:
        self.sized, self.plan = sized, plan
        self._faults: list[Fault] = []
        self.panels = tuple(panel.name for panel in sized.requirements.scenario.panels)
        self.carriers = tuple(sorted(self._carriers(), key=lambda item: (self._rank(item.panel), item.first_bay)))
        self.modules = tuple(sorted(self._modules(), key=lambda item: (self._rank(item.panel), item.bay)))
        self.module_by_bay = {(item.panel, item.bay): item for item in self.modules}
        self.way_by_place = dict(self._ways())
        self.socket_by_place = dict(self._sockets())
        self.entries = tuple(sorted(self._entries(), key=self._entry_order))
        self.needs = tuple(self._needs())
        if self._faults:
            raise InputError(self._faults)

    @cached_property
    def need_by_id(self) -> Mapping[str, NeedAt]:
        """Placed needs by the id of the need."""
        return {item.need.id: item for item in self.needs}

    @cached_property
    def entry_by_way(self) -> Mapping[Place, EntryAt]:
        """Feed entry that stands on the supply side of each way; ways on a stud included."""
        stud = {(entry.at.panel, entry.at.bay): entry for entry in self.entries if entry.piece.kind == "stud"}
        found = {
            Place(module.panel, module.bay, number, way): stud[module.panel, module.bay]
            for module in self.modules
            if (module.panel, module.bay) in stud
            for number, row in enumerate(module.module.rows)
            if row.bus == "stud"
            for way in range(1, row.ways + 1)
        }
        for entry in self.entries:
            if entry.row is not None:
                found |= {Place(entry.at.panel, entry.at.bay, entry.row, way): entry for way in entry.ways}
        return found

    def entries_of(self, feed: str, panel: str) -> tuple[EntryAt, ...]:
        """Return the entries of a feed at a panel, in order of place."""
        return tuple(entry for entry in self.entries if entry.piece.feed == feed and entry.at.panel == panel)

    def needs_of(self, entry: EntryAt) -> tuple[NeedAt, ...]:
        """Return the needs that a feed entry supplies: of the ways on it in order of place, or of its socket."""
        if entry.socket is not None:
            return tuple(item for item in self.needs if str(item.socket) == entry.piece.at)
        ways = [place for place, at in self.entry_by_way.items() if at == entry and place in self.way_by_place]
        return tuple(self.need_by_id[self.way_by_place[place].need] for place in ways)

    def limit_ma(self, entry: EntryAt) -> int | None:
        """
        Return what may flow in at a feed entry, mA: the least of strip, inlet, stud, tail, row and module.

        At a relay socket it is what its tail carries; None where nothing in the sizing table limits it.
        """
        if entry.group is None:
            branches = (item.need.supplies for item in self.needs_of(entry))
            return next((self.sized.socket_limit_ma.get(branch) for branch in branches if branch), None)
        return self.sized.entry_limit_ma(entry.at.panel, entry.at.module.id, entry.group, entry.piece.feed)

    def tail_of(self, entry: EntryAt) -> Tail:
        """Return the tail of a feed entry, as the sizing table has it."""
        return self.sized.tail_of(entry.at.panel, entry.at.module.id, entry.group, entry.piece.feed)

    def _rank(self, panel: str) -> int:
        return self.panels.index(panel)

    def _entry_order(self, entry: EntryAt) -> tuple[int, int, int, int]:
        row = len(entry.at.module.rows) if entry.row is None else entry.row
        return self._rank(entry.at.panel), entry.at.bay, row, entry.ways[0] if entry.ways else entry.socket or 0

    def _known(self, good: bool, rule: str, where: str, value: str) -> bool:
        if not good:
            self._faults.append(Fault(rule, f'the plan names "{value}"', where=f"plan, {where}", known=RULES[rule]))
        return good

    def _carriers(self) -> Iterator[CarrierAt]:
        by_id = {carrier.id: carrier for carrier in self.sized.requirements.catalogue.carriers}
        for item in self.plan.carriers:
            at_panel = self._known(item.panel in self.panels, "carrier-allowed", "carriers", item.panel)
            if self._known(item.carrier in by_id, "carrier-allowed", item.panel, item.carrier) and at_panel:
                yield CarrierAt(item.panel, item.first_bay, by_id[item.carrier])

    def _modules(self) -> Iterator[ModuleAt]:
        for item in self.plan.modules:
            place = self._read(parse_place, item.at, "module-in-carrier")
            known = self._known(item.module in self.sized.module_by_id, "module-in-carrier", item.at, item.module)
            if place is None or not known:
                continue
            if self._known(
                place.panel in self.panels and place.bay is not None, "module-in-carrier", "modules", item.at
            ):
                yield ModuleAt(place.panel, place.bay or 0, self.sized.module_by_id[item.module])

    def _read(self, parse: Callable[[str], Address], text: str, rule: str) -> Address | None:
        try:
            return parse(text)
        except ValueError as reason:
            self._faults.append(Fault(rule, str(reason), where="plan", known=RULES[rule]))
            return None

    def _row(self, place: Place) -> Row | None:
        at = self.module_by_bay.get((place.panel, place.bay or 0))
        if at is None or place.row is None or place.row >= len(at.module.rows):
            return None
        return at.module.rows[place.row]

    def _ways(self) -> Iterator[tuple[Place, UsedWay]]:
        for item in self.plan.ways:
            place = self._read(parse_place, item.at, "way-exists")
            if place is None:
                continue
            row = self._row(place)
            inside = row is not None and place.last is None and place.first is not None and place.first <= row.ways
            if self._known(inside, "way-exists", "ways", item.at):
                self._known(item.feed in self.sized.feeds, "feed-accepted", item.at, item.feed)
                yield place, item

    def _sockets(self) -> Iterator[tuple[SocketPlace, UsedSocket]]:
        for item in self.plan.sockets:
            place = self._read(parse_socket, item.at, "socket-exists")
            if place is None:
                continue
            at = self.module_by_bay.get((place.panel, place.bay))
            if self._known(at is not None and place.socket <= len(at.sockets), "socket-exists", "sockets", item.at):
                yield place, item

    def _entries(self) -> Iterator[EntryAt]:
        for piece in self.plan.pieces:
            entry = self._entry(piece)
            self._known(piece.feed in self.sized.feeds, "one-feed-per-piece", piece.at, piece.feed)
            if self._known(entry is not None, "piece-exists", "pieces", piece.at) and entry is not None:
                yield entry

    def _entry(self, piece: Piece) -> EntryAt | None:
        if piece.kind == "socket":
            socket = self._read(parse_socket, piece.at, "piece-exists")
            holder = self.module_by_bay.get((socket.panel, socket.bay)) if socket else None
            if socket and holder and socket.socket <= len(holder.sockets):
                return EntryAt(_at(socket, piece), holder, socket=socket.socket)
            return None
        if piece.kind == "stud":
            stud = self._read(parse_stud, piece.at, "piece-exists")
            bus = self.module_by_bay.get((stud.panel, stud.bay)) if stud else None
            has_stud = bus is not None and any(row.bus == "stud" for row in bus.module.rows)
            return EntryAt(_at(stud, piece), bus) if stud and bus and has_stud else None
        place = self._read(parse_place, piece.at, "piece-exists")
        row = self._row(place) if place else None
        if place is None or row is None or place.first is None or row.bus != piece.kind:
            return None
        ways = tuple(range(place.first, (place.last or place.first) + 1))
        at = self.module_by_bay[place.panel, place.bay or 0]
        return EntryAt(_at(place, piece), at, place.row, ways) if ways and ways[-1] <= row.ways else None

    def _needs(self) -> Iterator[NeedAt]:
        ways = {item.need: place for place, item in sorted(self.way_by_place.items())}
        sockets = {item.need: place for place, item in sorted(self.socket_by_place.items())}
        for name in sorted({*ways, *sockets} - set(self.sized.need_by_id)):
            self._known(False, "every-need-placed", "ways and sockets", name)
        for need in self.sized.needs:
            way, socket = ways.get(need.id), sockets.get(need.id)
            if way is None and socket is None:
                self._known(False, "every-need-placed", "ways and sockets", f"nothing for {need.id}")
                continue
            option = self._option(need, way, socket)
            if option is not None:
                yield NeedAt(need, option, way, socket, self._feed(need, way))

    def _feed(self, need: Need, way: Place | None) -> str:
        return self.way_by_place[way].feed if way else need.feeds[0]

    def _option(self, need: Need, way: Place | None, socket: SocketPlace | None) -> Option | None:
        row = self._row(way) if way else None
        place = way or socket
        relay_class = self.module_by_bay[socket.panel, socket.bay].sockets[socket.socket - 1] if socket else None
        key = (place.panel if place else None, row.fuse_format if row else None, relay_class)
        for option in need.options:
            if (option.panel, option.fuse_format, option.relay_class) == key:
                return option
        self._known(False, "as-sized", str(place), need.id)
        return None


def _at(place: Place | SocketPlace | StudPlace, piece: Piece) -> Piece:
    """Return a feed entry with its address as it is printed: a person may write ``cabin/04/s1``."""
    return piece if piece.at == str(place) else piece.model_copy(update={"at": str(place)})
