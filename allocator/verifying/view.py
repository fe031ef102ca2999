"""
A plan read once: every address parsed, every name looked up, so that each rule is a few lines.

Nothing in a plan is trusted. What cannot be read or is not in the catalogue becomes None here, and the rule that is
about it reports it. The requirements themselves were validated when they were read.
"""

from __future__ import annotations

from collections.abc import Iterable, KeysView, Mapping
from dataclasses import replace
from functools import cached_property
from typing import TypeVar

from allocator.address import ROW_LETTERS, Place, SocketPlace, parse_place, parse_socket, parse_stud
from allocator.figures import Figures
from allocator.plan.plan import Piece, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import (
    Carrier,
    Fuse,
    Holder,
    MainHolder,
    Module,
    Part,
    Relay,
    RelayFunction,
    Strip,
    Stud,
    Terminal,
    Wire,
)
from allocator.requirements.scenario import Circuit, Spare
from allocator.requirements.vehicle import Feed, PanelSite
from allocator.sizing.sized import Need, Option, Sized
from allocator.verifying.records import (
    EntryRecord,
    ModuleKey,
    NeedKey,
    SocketRecord,
    WayRecord,
    class_of_socket,
    group_of,
    module_key,
    read_module_place,
    read_way,
    row_at,
)

_FUNCTION: Mapping[str, RelayFunction] = {"relay": "make", "changeover": "changeover", "flasher": "flasher"}
"""Which relay each kind of switching asks for."""

AnyPart = TypeVar("AnyPart", bound=Part)
Spot = TypeVar("Spot")
Record = TypeVar("Record")


def _by_id(parts: Iterable[AnyPart]) -> dict[str, AnyPart]:
    return {part.id: part for part in parts}


def _grouped(pairs: Iterable[tuple[Spot | None, Record]]) -> dict[Spot, tuple[Record, ...]]:
    found: dict[Spot, list[Record]] = {}
    for spot, record in pairs:
        if spot is not None:
            found.setdefault(spot, []).append(record)
    return {spot: tuple(records) for spot, records in found.items()}


class View:
    """Everything the rules look up, from the sizing table and the plan."""

    def __init__(self, sized: Sized, plan: Plan) -> None:
        self.sized = sized
        self.plan = plan
        self.scenario = sized.requirements.scenario
        self.rules = self.scenario.rules
        self.figures: Figures = sized.requirements.figures
        self.catalogue = sized.requirements.catalogue
        self.module_types: Mapping[str, Module] = _by_id(self.catalogue.modules)
        self.carrier_types: Mapping[str, Carrier] = _by_id(self.catalogue.carriers)
        self.fuses: Mapping[str, Fuse] = _by_id(self.catalogue.fuses)
        self.holders: Mapping[str, Holder] = _by_id(self.catalogue.holders)
        self.main_holders: Mapping[str, MainHolder] = _by_id(self.catalogue.main_holders)
        self.relays: Mapping[str, Relay] = _by_id(self.catalogue.relays)
        self.strips: Mapping[str, Strip] = _by_id(self.catalogue.strips)
        self.wires: Mapping[str, Wire] = _by_id(self.catalogue.wires)
        self.terminals: Mapping[str, Terminal] = _by_id(self.catalogue.terminals)
        self.studs: Mapping[str, Stud] = _by_id(self.catalogue.studs)
        self.relay_tabs: Mapping[tuple[str | None, str | None], Mapping[str, float]] = {
            (item.relay_class, item.function): {str(name): width for name, width in item.tabs.items()}
            for item in self.catalogue.relay_tabs
        }
        self.panels: Mapping[str, PanelSite] = {panel.name: panel for panel in self.scenario.panels}
        self.feeds: Mapping[str, Feed] = {feed.name: feed for feed in self.scenario.feeds}
        self.circuits: Mapping[str, Circuit] = {circuit.id: circuit for circuit in sized.requirements.circuits}
        self.spares: Mapping[str, Spare] = {
            f"spare-{rule}-{count}": spare
            for rule, spare in enumerate(self.rules.spares, 1)
            for count in range(1, spare.count + 1)
        }
        self.sized_needs: Mapping[NeedKey, Need] = {(need.kind, need.supplies or need.id): need for need in sized.needs}
        self.num_cases = len(self.scenario.load_cases)

    # what the requirements ask for

    @cached_property
    def needs_with_way(self) -> KeysView[NeedKey]:
        """Every need that takes a way."""
        fused = (name for name, feed in self.feeds.items() if feed.source is not None and feed.fuse_format is not None)
        circuits, spares = (("circuit", name) for name in self.circuits), (("spare", name) for name in self.spares)
        return dict.fromkeys([*circuits, *(("feed", feed) for feed in fused), *spares]).keys()

    @cached_property
    def needs_with_socket(self) -> KeysView[NeedKey]:
        """Every need that takes a relay socket."""
        branches = ((name, feed) for name, feed in self.feeds.items() if feed.source is not None)
        relayed = (name for name, feed in branches if feed.relay_class is not None)
        switched = (name for name, circuit in self.circuits.items() if circuit.switching != "none")
        return dict.fromkeys([*(("circuit", name) for name in switched), *(("feed", name) for name in relayed)]).keys()

    @cached_property
    def known_needs(self) -> KeysView[NeedKey]:
        """Every need of the requirements."""
        return dict.fromkeys([*self.needs_with_way, *self.needs_with_socket]).keys()

    def enters_at_socket(self, need: NeedKey) -> bool:
        """Whether a need is a feed with a relay and no fuse, which its source enters directly at the socket."""
        return need[0] == "feed" and need in self.needs_with_socket and need not in self.needs_with_way

    def relay_function(self, need: NeedKey) -> RelayFunction | None:
        """Return which relay a need asks for: a circuit by its switching, a feed a make relay; None for no relay."""
        if need not in self.needs_with_socket:
            return None
        return _FUNCTION[self.circuits[need[1]].switching] if need[0] == "circuit" else "make"

    def reach(self, feed: Feed) -> tuple[str, ...]:
        """Return the panels a feed reaches."""
        return feed.panels or tuple(self.panels)

    def home(self, feed: Feed) -> str | None:
        """Return the panel of a branch's own fuse and relay; None where the requirements leave it open."""
        source = self.feeds.get(feed.source or "")
        if feed.home is not None or source is None:
            return feed.home
        common = [panel for panel in self.reach(feed) if panel in self.reach(source)]
        return common[0] if len(common) == 1 else None

    def branches(self, feed: str) -> tuple[str, ...]:
        """Return the feeds that branch from a feed."""
        return tuple(name for name, branch in self.feeds.items() if branch.source == feed)

    # what the plan holds

    @cached_property
    def placed(self) -> Mapping[ModuleKey, Module]:
        """Module type by panel and first bay: of the modules that can be read and are in the catalogue."""
        found: dict[ModuleKey, Module] = {}
        for placed in self.plan.modules:
            key, module = read_module_place(placed.at), self.module_types.get(placed.module)
            if key is not None and module is not None:
                found.setdefault(key, module)
        return found

    @cached_property
    def ways(self) -> tuple[WayRecord, ...]:
        """All used ways."""
        return tuple(self._way(used) for used in self.plan.ways)

    def _way(self, used: UsedWay) -> WayRecord:
        place = read_way(used.at)
        module = None if place is None else self.placed.get((place.panel, place.bay or 0))
        return WayRecord(used, place, module, None if place is None or module is None else row_at(module, place))

    @cached_property
    def sockets(self) -> tuple[SocketRecord, ...]:
        """All used sockets."""
        return tuple(self._socket(used) for used in self.plan.sockets)

    def _socket(self, used: UsedSocket) -> SocketRecord:
        try:
            place = parse_socket(used.at)
        except ValueError:
            return SocketRecord(used, None, None, None)
        module = self.placed.get((place.panel, place.bay))
        return SocketRecord(used, place, module, None if module is None else class_of_socket(module, place.socket))

    @cached_property
    def entries(self) -> tuple[EntryRecord, ...]:
        """All feed entries."""
        return tuple(self._entry(piece) for piece in self.plan.pieces)

    def _entry(self, piece: Piece) -> EntryRecord:
        try:
            if piece.kind == "socket":
                return self._socket_entry(piece, parse_socket(piece.at))
            if piece.kind == "stud":
                stud = parse_stud(piece.at)
                return self._stud_entry(piece, str(stud), (stud.panel, stud.bay))
            return self._row_entry(piece, parse_place(piece.at))
        except ValueError as unreadable:
            return EntryRecord(piece, piece.at, None, fault=str(unreadable))

    def _socket_entry(self, piece: Piece, place: SocketPlace) -> EntryRecord:
        module = self.placed.get((place.panel, place.bay))
        exists = module is not None and class_of_socket(module, place.socket) is not None
        fault = "" if exists else "there is no such socket"
        return EntryRecord(piece, str(place), place.panel, module, socket=place, fault=fault)

    def _stud_entry(self, piece: Piece, at: str, key: ModuleKey) -> EntryRecord:
        module = self.placed.get(key)
        rows = [] if module is None else [index for index, row in enumerate(module.rows) if row.bus == "stud"]
        if module is None or not rows:
            return EntryRecord(piece, at, key[0], fault="there is no module with a stud")
        ways = tuple(Place(*key, row, way) for row in rows for way in range(1, module.rows[row].ways + 1))
        return EntryRecord(piece, at, key[0], module, group_of(module, rows[0]), ways)

    def _row_entry(self, piece: Piece, place: Place) -> EntryRecord:
        key, strip = module_key(place), piece.kind == "strip"
        nowhere = EntryRecord(piece, str(place), place.panel)
        if place.first is None or place.row is None or key is None or strip != (place.last is not None):
            return replace(nowhere, fault="expected a span such as A/1-4" if strip else "expected a way such as A/1")
        module = self.placed.get(key)
        if module is None or place.row >= len(module.rows):
            return replace(nowhere, fault="there is no such row")
        row, last = module.rows[place.row], place.last or place.first
        if row.bus != piece.kind:
            kinds = f"is of the kind {row.bus}, not {piece.kind}"
            return replace(nowhere, fault=f"row {ROW_LETTERS[place.row]} of {module.id} {kinds}")
        if not place.first <= last <= row.ways:
            return replace(nowhere, fault=f"the row has the ways 1 to {row.ways}")
        ways = tuple(Place(*key, place.row, way) for way in range(place.first, last + 1))
        return replace(nowhere, module=module, group=group_of(module, place.row), ways=ways)

    @cached_property
    def ways_at(self) -> Mapping[Place, tuple[WayRecord, ...]]:
        """What the plan puts in each way, by address."""
        return _grouped((way.place, way) for way in self.ways)

    @cached_property
    def ways_in_row(self) -> Mapping[Place, tuple[WayRecord, ...]]:
        """What the plan puts in the ways of each row, by address of the row; only ways that exist."""
        return _grouped((way.row_place, way) for way in self.ways if way.row is not None)

    @cached_property
    def sockets_at(self) -> Mapping[SocketPlace, tuple[SocketRecord, ...]]:
        """What the plan puts in each socket, by address."""
        return _grouped((socket.place, socket) for socket in self.sockets)

    def ways_under(self, entry: EntryRecord) -> tuple[WayRecord, ...]:
        """Return the used ways under a feed entry."""
        return tuple(way for place in entry.ways for way in self.ways_at.get(place, ()))

    def feeds_entered_by(self, entry: EntryRecord) -> tuple[str, ...]:
        """Return the feeds whose relay stands in the socket of an entry, and which their source enters there."""
        here = () if entry.socket is None else self.sockets_at.get(entry.socket, ())
        return tuple(socket.used.need for socket in here if self.enters_at_socket(socket.need))

    @cached_property
    def way_of(self) -> Mapping[NeedKey, WayRecord]:
        """The way of each need; the first one where the plan has several."""
        return {way.need: way for way in reversed(self.ways)}

    @cached_property
    def socket_of(self) -> Mapping[NeedKey, SocketRecord]:
        """The socket of each need; the first one where the plan has several."""
        return {socket.need: socket for socket in reversed(self.sockets)}

    @cached_property
    def arrivals(self) -> Mapping[tuple[str, str], tuple[EntryRecord, ...]]:
        """The feed entries of each feed at each panel."""
        return _grouped((None if e.panel is None else (e.piece.feed, e.panel), e) for e in self.entries)

    def option_of(self, need: NeedKey) -> Option | None:
        """Return the row of the sizing table for the place of a need; None where there is none."""
        return self._options.get(need)

    @cached_property
    def options_in_use(self) -> Mapping[NeedKey, Option]:
        """The row of the sizing table for each circuit and feed that has one for its place."""
        found = {need: self.option_of(need) for need in self.known_needs if need[0] != "spare"}
        return {need: option for need, option in found.items() if option is not None}

    @cached_property
    def _options(self) -> Mapping[NeedKey, Option | None]:
        return {need: self._find_option(need) for need in dict.fromkeys([*self.way_of, *self.socket_of])}

    def _find_option(self, need: NeedKey) -> Option | None:
        way, socket, sized = self.way_of.get(need), self.socket_of.get(need), self.sized_needs.get(need)
        place = (way or self.socket_of[need]).place
        if place is None or sized is None:
            return None
        fuse_format = way.row.fuse_format if way is not None and way.row is not None else None
        row = (place.panel, fuse_format, None if socket is None else socket.relay_class)
        return next((o for o in sized.options if (o.panel, o.fuse_format, o.relay_class) == row), None)
