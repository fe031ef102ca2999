"""
What stands in a built panel, read off its plan, for the oracle of revisions.

Comes in as the plan as built with its sizing table; goes out in the plainest form.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from allocator.address import SocketPlace, parse_place, parse_socket
from allocator.plan.plan import Piece, Plan
from allocator.sizing.sized import Need, Option, Sized, supply_groups
from tests.oracles.arrangement import Arrangement, FeedEntry, Seat, Standing, parts_and_wires

Spot = tuple[str, int, int]
"""Panel, bay, and number of the socket; of a way row x 100 + way."""


@dataclass(frozen=True)
class AsBuilt:
    """What stands in the panel, in the plainest form."""

    carriers: tuple[tuple[str, str], ...]
    modules: Mapping[tuple[str, int], str]
    way_of: Mapping[str, Spot]
    socket_of: Mapping[str, Spot]
    wires_of: Mapping[str, Counter[tuple[str, ...]]]
    pieces: frozenset[tuple[str, str]]
    """Address and feed."""
    parts: Counter[str]


def as_built(sized: Sized, plan: Plan) -> AsBuilt:
    """Read a plan off its addresses."""
    ways = {way.need: parse_place(way.at) for way in plan.ways}
    sockets = {socket.need: parse_socket(socket.at) for socket in plan.sockets}
    modules = {(place.panel, place.bay or 0): m.module for m in plan.modules if (place := parse_place(m.at))}
    carriers = tuple((item.panel, item.carrier) for item in plan.carriers)
    places = list(modules)
    feeds = {way.need: way.feed for way in plan.ways}
    seats = []
    for need in sized.needs:
        way, socket = ways.get(need.id), sockets.get(need.id)
        panel = way.panel if way else sockets[need.id].panel
        row = None if way is None else sized.module_by_id[modules[way.panel, way.bay or 0]].rows[way.row or 0]
        relay_class = None if socket is None else _class(sized, modules, socket)
        key = (panel, row.fuse_format if row else None, relay_class)
        option = next(o for o in need.options if (o.panel, o.fuse_format, o.relay_class) == key)
        module = None if way is None else places.index((way.panel, way.bay or 0))
        socket_module = None if socket is None else places.index((socket.panel, socket.bay))
        feed = feeds.get(need.id, need.feeds[0])
        seats.append(Seat(need, option, feed, module, None if way is None else way.row, socket_module))
    standing = tuple(Standing(panel, bay, module) for (panel, bay), module in modules.items())
    entries = tuple(_entry(sized, modules, piece) for piece in plan.pieces)
    made = Arrangement(carriers, standing, tuple(seats), entries)
    return AsBuilt(
        carriers=carriers,
        modules=modules,
        way_of={need: (p.panel, p.bay or 0, 100 * (p.row or 0) + (p.first or 0)) for need, p in ways.items()},
        socket_of={need: (at.panel, at.bay, at.socket) for need, at in sockets.items()},
        wires_of={seat.need.id: wires(seat.need, seat.option) for seat in seats},
        pieces=frozenset((piece.at, piece.feed) for piece in plan.pieces),
        parts=counted(sized, parts_and_wires(sized, made)[0]),
    )


def _class(sized: Sized, modules: Mapping[tuple[str, int], str], at: SocketPlace) -> str:
    classes = [s.relay_class for s in sized.module_by_id[modules[at.panel, at.bay]].sockets for _ in range(s.count)]
    return classes[at.socket - 1]


def _entry(sized: Sized, modules: Mapping[tuple[str, int], str], piece: Piece) -> FeedEntry:
    panel, bay, *_ = piece.at.split("/")
    if piece.kind == "socket":
        return FeedEntry(panel, piece.feed, None, None, 0)
    module = sized.module_by_id[modules[panel, int(bay)]]
    place = None if piece.kind == "stud" else parse_place(piece.at)
    row = next(n for n, r in enumerate(module.rows) if r.bus == "stud") if place is None else place.row or 0
    group = next(g for g, rows in enumerate(supply_groups(module)) if row in rows)
    sizing = sized.entries[panel, module.id, group, piece.feed]
    ways = (place.last or 0) - (place.first or 0) + 1 if place is not None and piece.kind == "strip" else 0
    strip = module.rows[row].strip if piece.kind == "strip" else None
    return FeedEntry(panel, piece.feed, sizing.terminal, strip, ways, sizing.tail)


def counted(sized: Sized, parts: Counter[str]) -> Counter[str]:
    """Leave out terminals, strips and accessories."""
    catalogue = sized.requirements.catalogue
    left_out = {part.id for table in (catalogue.terminals, catalogue.strips, catalogue.accessories) for part in table}
    return Counter({part: number for part, number in parts.items() if part not in left_out})


def wires(need: Need, option: Option) -> Counter[tuple[str, ...]]:
    """Count the wires of a need by what they touch, their far end and their kind."""
    found: Counter[tuple[str, ...]] = Counter()
    for cut in option.wires:
        at_way = "way" if cut.start == "way" or cut.end == "own fuse way" else ""
        at_socket = cut.start if cut.start != "way" else ""
        found[at_way, at_socket, cut.end, cut.wire, str(cut.length_mm)] += 1
    if need.takes_way and option.relay_class:
        found["way", "30", "jumper", str(option.jumper_wire), ""] += 1
    return found
