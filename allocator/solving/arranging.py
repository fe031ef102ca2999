"""
From a placement to a plan: bays, ways and sockets get their numbers, in an order that reads like the user's list.

Comes from ``placement.py``; goes out as the places of a ``Plan``. Direct construction, so equal placements give equal
plans.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

from allocator.address import Place, SocketPlace, StudPlace
from allocator.model.frame import Instance, RowSlot
from allocator.plan.plan import Piece, PlacedCarrier, PlacedModule, UsedSocket, UsedWay
from allocator.requirements.catalogue import bays_by_carrier
from allocator.solving.placement import Placement
from allocator.solving.row_order import order_row

T = TypeVar("T")
AnyPlace = Place | StudPlace | SocketPlace


@dataclass(frozen=True)
class Arrangement:
    """All places of a plan, sorted by address."""

    carriers: tuple[PlacedCarrier, ...]
    modules: tuple[PlacedModule, ...]
    ways: tuple[UsedWay, ...]
    sockets: tuple[UsedSocket, ...]
    pieces: tuple[Piece, ...]


def arrange(placement: Placement) -> Arrangement:
    """Give every module its bay, every need its way and every relay its socket."""
    rank = {need.id: number for number, need in enumerate(placement.frame.sized.needs)}
    bays = _bays(placement, rank)
    ways: list[tuple[AnyPlace, UsedWay]] = []
    pieces: list[tuple[AnyPlace, Piece]] = []
    for instance, bay in bays.items():
        for group, rows in enumerate(placement.frame.groups_of(instance.module)):
            slots = [RowSlot(instance, row, group) for row in rows]
            for slot in slots:
                placed = _ways_of_row(placement, slot, bay)
                ways += [(place, _used_way(placement, need, place)) for place, need, _ in placed]
                if placement.frame.bus(slot) != "stud":
                    pieces += _pieces_of_row(placement, slot, placed)
            feeds = [feed for (i, g, feed) in placement.entries if (i, g) == (instance, group)]
            if feeds and placement.frame.bus(slots[0]) == "stud":
                stud = StudPlace(instance.panel, bay)
                fuse = _tail_fuse(placement, slots[0], feeds[0])
                pieces.append((stud, Piece(at=str(stud), kind="stud", feed=feeds[0], tail_fuse=fuse)))
    sockets = _sockets(placement, bays, rank)
    for place, socket in sockets:
        if not placement.frame.sized.need_by_id[socket.need].takes_way:
            feed = placement.feed_of[socket.need]
            fuse = placement.frame.sized.feeds[feed].tail_fuse
            pieces.append((place, Piece(at=str(place), kind="socket", feed=feed, tail_fuse=fuse)))
    panels = [site.name for site in placement.frame.panels]
    return Arrangement(
        carriers=tuple(_carriers(placement)),
        modules=tuple(
            PlacedModule(at=str(Place(i.panel, bay)), module=i.module)
            for i, bay in sorted(bays.items(), key=lambda item: (panels.index(item[0].panel), item[1]))
        ),
        ways=tuple(way for _, way in _by_place(ways, panels)),
        sockets=tuple(socket for _, socket in _by_place(sockets, panels)),
        pieces=tuple(piece for _, piece in _by_place(pieces, panels)),
    )


def _by_place(items: Iterable[tuple[AnyPlace, T]], panels: Sequence[str]) -> list[tuple[AnyPlace, T]]:
    def key(item: tuple[AnyPlace, T]) -> tuple[int, int, int, int, int]:
        place = item[0]
        if isinstance(place, Place):
            return panels.index(place.panel), place.bay or 0, 0, place.row or 0, place.first or 0
        return panels.index(place.panel), place.bay, 1, 0, place.socket if isinstance(place, SocketPlace) else 0

    return sorted(items, key=key)


def _carriers(placement: Placement) -> Iterable[PlacedCarrier]:
    bays = bays_by_carrier(placement.frame.sized.requirements.catalogue)
    for panel, carriers in placement.carriers.items():
        first = 1
        for carrier in carriers:
            yield PlacedCarrier(panel=panel, carrier=carrier, first_bay=first)
            first += bays[carrier]


def _bays(placement: Placement, rank: Mapping[str, int]) -> dict[Instance, int]:
    """Return the first bay of every module: as the model says where a pin names bays, else by what it holds."""
    contents: dict[Instance, list[int]] = defaultdict(list)
    for (slot, _), needs in placement.needs_at.items():
        contents[slot.instance] += [rank[need] for need in needs]
    relays: dict[Instance, list[int]] = defaultdict(list)
    for need, (instance, _) in placement.relay_at.items():
        relays[instance].append(rank[need])
    last = len(rank)

    def reading_order(instance: Instance) -> tuple[int, int, str, int]:
        return (
            min(contents[instance], default=last),
            min(relays[instance], default=last),
            instance.module,
            instance.copy,
        )

    bays: dict[Instance, int] = {}
    for site in placement.frame.panels:
        here = sorted((i for i in placement.instances if i.panel == site.name), key=reading_order)
        if any(instance in placement.start for instance in here):
            bays |= {instance: placement.start[instance] for instance in here}
        else:
            bays |= _fill_carriers(placement, site.name, here)
    return dict(sorted(bays.items(), key=lambda item: (item[0].panel, item[1])))


def _fill_carriers(placement: Placement, panel: str, instances: Sequence[Instance]) -> dict[Instance, int]:
    bays_of = bays_by_carrier(placement.frame.sized.requirements.catalogue)
    room = [bays_of[carrier] for carrier in placement.carriers[panel]]
    held: list[list[Instance]] = [[] for _ in room]
    wide = sorted(
        (i for i in instances if placement.frame.module(i).bays > 1), key=lambda i: -placement.frame.module(i).bays
    )
    for instance in wide:
        width = placement.frame.module(instance).bays
        number = next(
            n
            for n in range(len(room))
            if sum(placement.frame.module(i).bays == width for i in held[n])
            < placement.wide_in_carrier[panel, n, width]
        )
        held[number].append(instance)
        room[number] -= width
    for instance in instances:
        if placement.frame.module(instance).bays == 1:
            number = next(n for n in range(len(room)) if room[n] > 0)
            held[number].append(instance)
            room[number] -= 1
    bays: dict[Instance, int] = {}
    first = 1
    for carrier, inside in zip(placement.carriers[panel], held, strict=True):
        bay = first
        for instance in sorted(inside, key=instances.index):
            bays[instance] = bay
            bay += placement.frame.module(instance).bays
        first += bays_of[carrier]
    return bays


def _ways_of_row(placement: Placement, slot: RowSlot, bay: int) -> list[tuple[Place, str, int]]:
    """Return (place, need, number of its piece in the row) for every used way of a row."""
    ordered = order_row(placement, slot)
    if ordered is None:
        raise RuntimeError("a row that was checked has no order")
    return [(Place(slot.instance.panel, bay, slot.row, way), need, piece) for way, need, piece in ordered]


def _pieces_of_row(
    placement: Placement, slot: RowSlot, placed: Sequence[tuple[Place, str, int]]
) -> list[tuple[AnyPlace, Piece]]:
    if placement.frame.bus(slot) == "single":
        return [(place, _piece(placement, slot, str(place), placement.feed_of[need])) for place, need, _ in placed]
    by_piece: dict[int, list[tuple[Place, str]]] = defaultdict(list)
    for place, need, number in placed:
        by_piece[number].append((place, need))
    pieces: list[tuple[AnyPlace, Piece]] = []
    for members in by_piece.values():
        first, last = members[0][0], members[-1][0]
        span = Place(first.panel, first.bay, first.row, first.first, last.first)
        pieces.append((span, _piece(placement, slot, str(span), placement.feed_of[members[0][1]])))
    return pieces


def _piece(placement: Placement, slot: RowSlot, at: str, feed: str) -> Piece:
    kind: Literal["strip", "single"] = "single" if placement.frame.bus(slot) == "single" else "strip"
    return Piece(at=at, kind=kind, feed=feed, tail_fuse=_tail_fuse(placement, slot, feed))


def _tail_fuse(placement: Placement, slot: RowSlot, feed: str) -> str | None:
    return placement.frame.sized.tail_of(slot.instance.panel, slot.instance.module, slot.group, feed).fuse


def _used_way(placement: Placement, need: str, place: Place) -> UsedWay:
    n, option = placement.frame.sized.need_by_id[need], placement.option_of[need]
    return UsedWay(
        at=str(place), kind=n.kind, need=need, feed=placement.feed_of[need], fuse=option.fuse, wire=option.wire
    )


def _sockets(
    placement: Placement, bays: Mapping[Instance, int], rank: Mapping[str, int]
) -> list[tuple[AnyPlace, UsedSocket]]:
    sockets: list[tuple[AnyPlace, UsedSocket]] = []
    for instance, bay in bays.items():
        number = 1
        for group in placement.frame.module(instance).sockets:
            here = [need for need, where in placement.relay_at.items() if where == (instance, group.relay_class)]
            already = [socket.need for _, socket in sockets]
            left = [need for need in sorted(here, key=rank.__getitem__) if need not in already]
            for socket, need in _numbered(placement, left, range(number, number + group.count)):
                place = SocketPlace(instance.panel, bay, socket)
                kind = placement.frame.sized.need_by_id[need].kind
                relay = placement.option_of[need].relay
                if relay is None or kind == "spare":
                    raise RuntimeError(f"{need} has a socket and no relay")
                sockets.append((place, UsedSocket(at=str(place), kind=kind, need=need, relay=relay)))
            number += group.count
    return sockets


def _numbered(placement: Placement, needs: Sequence[str], sockets: range) -> list[tuple[int, str]]:
    """Return (socket, need) as far as the sockets go: relays that stay in theirs, then the others in order."""
    staying = {need: number for need in needs if (number := placement.sockets.get(need, 0)) in sockets}
    free = [number for number in sockets if number not in staying.values()]
    others = [need for need in needs if need not in placement.sockets]
    return sorted([*((number, need) for need, number in staying.items()), *zip(free, others, strict=False)])
