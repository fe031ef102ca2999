"""
What can be built today: each vehicle from the shelf, and the best set of the open orders.

Comes in as what vehicles take and what the catalogue has on hand; goes out as counts, what lacks, and the set. A part
whose stock is not counted never lacks. Wire is looked at in metres, whatever reels they are on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from allocator.requirements.catalogue import Catalogue, parts_by_id
from allocator.requirements.fleet import FleetOrder
from allocator.solving.picking import Picked, pick
from allocator.stocking.takes import Takes, cut_strip

MOST_COUNTED = 1000


@dataclass(frozen=True, slots=True)
class Buildable:
    """How many of one vehicle the shelf has parts for, and what lacks for one more, by part."""

    vehicle: str
    number: int
    lacking: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class OrderBook:
    """The open orders, which of them to build from the shelf, and what lacks for all the others together."""

    orders: tuple[FleetOrder, ...]
    picked: Picked
    lacking: Mapping[str, int]

    @property
    def built(self) -> tuple[FleetOrder, ...]:
        """Orders to build."""
        return tuple(self.orders[number] for number in self.picked.orders)


@dataclass(frozen=True)
class Shelf:
    """What is on hand, and whether it does for some vehicles."""

    catalogue: Catalogue

    @property
    def stock(self) -> Mapping[str, int]:
        """Pieces on hand of every part that is counted, strips left out."""
        strips = {strip.id for strip in self.catalogue.strips}
        parts = parts_by_id(self.catalogue).values()
        return {part.id: part.stock for part in parts if part.stock is not None and part.id not in strips}

    def lacking(self, vehicles: Sequence[tuple[Takes, int]]) -> dict[str, int]:
        """Return what lacks, by part, to build so many of some vehicles together."""
        needed: dict[str, int] = defaultdict(int)
        pieces: dict[str, list[int]] = defaultdict(list)
        for takes, number in vehicles:
            for part, count in takes.number_by_part.items():
                needed[part] += number * count
            for name, ways in takes.strip_pieces.items():
                pieces[name] += list(ways) * number
        lacking = {part: needed[part] - on_hand for part, on_hand in self.stock.items() if needed[part] > on_hand}
        for strip in self.catalogue.strips:
            if strip.stock is not None and pieces[strip.id]:
                short = cut_strip(strip, pieces[strip.id], 1, on_shelf=True).num_stock - strip.stock
                lacking |= {strip.id: short} if short > 0 else {}
        return lacking

    def buildable(self, vehicle: str, takes: Takes) -> Buildable:
        """Return how many of a vehicle can be built, if nothing else is."""
        low, high = 0, 1
        while high <= MOST_COUNTED and not self.lacking([(takes, high)]):
            low, high = high, 2 * high
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.lacking([(takes, middle)]) else (middle, high)
        return Buildable(vehicle, low, self.lacking([(takes, low + 1)]))

    def order_book(self, orders: Sequence[FleetOrder], takes: Mapping[str, Takes]) -> OrderBook:
        """
        Return the best set of open orders to build now, each whole or not at all.

        Most worth comes first, then most vehicles, then the earliest days.
        """
        listed = tuple(sorted((order for order in orders if order.open), key=lambda order: order.day))
        each = [
            {part: order.vehicles * count for part, count in takes[order.vehicle].number_by_part.items()}
            for order in listed
        ]
        valued = any(order.worth is not None for order in listed)
        worth = [(order.worth or 0) if valued else order.vehicles for order in listed]
        days = sorted({order.day for order in listed}, reverse=True)
        early = [1 + days.index(order.day) for order in listed]

        def can_build(chosen: Collection[int]) -> bool:
            return not self.lacking([(takes[listed[number].vehicle], listed[number].vehicles) for number in chosen])

        picked = pick(each, self.stock, (worth, [order.vehicles for order in listed], early), can_build)
        everything = [(takes[order.vehicle], order.vehicles) for order in listed]
        return OrderBook(listed, picked, self.lacking(everything))
