"""
Strips and wire cut over the whole order book: fewest lengths and reels, least scrap, leftovers that are of use.

Comes in as the open orders with what each vehicle takes; goes out as cuttings, by the same function that cuts one
vehicle's strips, with what it would come to vehicle by vehicle.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from allocator.requirements.catalogue import Catalogue, Part
from allocator.requirements.fleet import FleetOrder
from allocator.solving.cutting import GUARD_S, Cutting, cut
from allocator.solving.engine import Clock
from allocator.solving.packing import pack
from allocator.stocking.takes import Takes, WireKind, cut_strip

CM_PER_M = 100
MM_PER_CM = 10


@dataclass(frozen=True, slots=True)
class BookCut:
    """
    One strip, or wire of one colour, over all orders.

    Attributes
    ----------
    unit
        Of the lengths in the cutting: ``ways`` or ``cm``; wire is rounded up to whole centimetres.
    usable
        Length from which a leftover is of use.
    one_by_one
        Lengths or reels that it takes where every vehicle is cut by itself and nothing left over is used.
    """

    part: Part
    colour: str
    unit: str
    stock_length: int
    usable: int
    cutting: Cutting
    one_by_one: int

    @property
    def proof(self) -> str:
        """What is proven of it, in words."""
        if not self.cutting.is_fewest:
            return f"{self.cutting.num_stock} found; {self.cutting.fewest} might do"
        if not self.cutting.leftovers_proven:
            return "no cutting needs fewer; other leftovers may be of more use"
        return "proven: no cutting needs fewer, and none of so many leaves less scrap"

    @property
    def scrap(self) -> int:
        """What is left in pieces too short to be of use, in ``unit``."""
        return sum(item.leftover for item in self.cutting.lengths if item.leftover < self.usable)

    @property
    def leftovers(self) -> tuple[int, ...]:
        """Leftovers that are of use, in ``unit``."""
        return tuple(item.leftover for item in self.cutting.lengths if item.leftover >= self.usable)


def book_cuts(
    orders: Sequence[FleetOrder], takes: Mapping[str, Takes], catalogue: Catalogue, usable_wire_m: float
) -> tuple[BookCut, ...]:
    """
    Cut everything that some orders take.

    Parameters
    ----------
    orders
        Orders to build, each of some vehicles.
    takes
        What one vehicle takes, by its name.
    catalogue
        Strips with their offcuts; wire that is sold on reels (``pack`` above 1 m).
    usable_wire_m
        Length from which a leftover of wire is of use, m.
    """
    return (*_strips(orders, takes, catalogue), *_wires(orders, takes, catalogue, usable_wire_m))


def _strips(orders: Sequence[FleetOrder], takes: Mapping[str, Takes], catalogue: Catalogue) -> list[BookCut]:
    found = []
    for strip in catalogue.strips:
        pieces: list[int] = []
        alone = 0
        for order in orders:
            pieces += list(takes[order.vehicle].strip_pieces.get(strip.id, ())) * order.vehicles
            alone += takes[order.vehicle].number_by_part.get(strip.id, 0) * order.vehicles
        if pieces:
            usable = min(row.ways for module in catalogue.modules for row in module.rows if row.strip == strip.id)
            cutting = cut_strip(strip, pieces, usable, on_shelf=True)
            found.append(BookCut(strip, "", "ways", strip.ways, usable, cutting, alone))
    return found


def least_reels(cuts: Sequence[int], reel: int) -> int:
    """Return the reels that one vehicle's wires are cut from."""
    return len(pack(sorted(cuts, reverse=True), reel, Clock(time.monotonic() + GUARD_S)).holders)


def _wires(
    orders: Sequence[FleetOrder], takes: Mapping[str, Takes], catalogue: Catalogue, usable_m: float
) -> list[BookCut]:
    wires = {wire.id: wire for wire in catalogue.wires}
    pieces: dict[WireKind, list[int]] = defaultdict(list)
    alone: dict[WireKind, int] = defaultdict(int)
    for order in orders:
        for kind, cuts_mm in takes[order.vehicle].wire_cuts_mm.items():
            cuts = [-(-mm // MM_PER_CM) for mm in cuts_mm]
            pieces[kind] += cuts * order.vehicles
            reel = wires[kind[0]].pack * CM_PER_M
            if wires[kind[0]].pack > 1 and max(cuts) <= reel:
                alone[kind] += least_reels(cuts, reel) * order.vehicles
    found = []
    for kind in sorted(pieces, key=lambda kind: (list(wires).index(kind[0]), kind[1])):
        wire = wires[kind[0]]
        reel = wire.pack * CM_PER_M
        if wire.pack > 1 and max(pieces[kind]) <= reel:
            usable = max(1, round(usable_m * CM_PER_M))
            cutting = cut(pieces[kind], reel, usable=usable)
            found.append(BookCut(wire, kind[1], "cm", reel, usable, cutting, alone[kind]))
    return found
