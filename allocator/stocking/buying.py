"""
When to buy: a calendar for the open orders, and a rhythm in which all parts are ordered together.

Comes in as open orders with what they take, and as shelf lines; goes out as purchases and as a rhythm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from allocator.requirements.catalogue import Catalogue, parts_by_id
from allocator.requirements.fleet import FleetOrder, StockTerms
from allocator.stocking.lots import JointItem, joint_orders, lots_over_time
from allocator.stocking.shelf import DAYS_PER_YEAR, ShelfLine
from allocator.stocking.takes import Takes

MONTHS_PER_YEAR = 12
_MONTH = len("2025-03")


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to have bought of a part by the start of a month, in whole packs: pieces, for the orders due until then."""

    month: str
    part: str
    pieces: int
    lead_days: int


def calendar(
    orders: Sequence[FleetOrder], takes: Mapping[str, Takes], catalogue: Catalogue, terms: StockTerms
) -> tuple[Purchase, ...]:
    """
    Return what to buy when, so that every open order can be built in its month: lines and keeping cost least.

    The stock on hand goes to the first orders. The lots are exact before they are rounded up to packs.
    """
    months = _months(sorted(order.day[:_MONTH] for order in orders if order.open))
    needed: dict[str, dict[str, int]] = defaultdict(lambda: dict.fromkeys(months, 0))
    for order in orders:
        if order.open:
            for taken, number in takes[order.vehicle].number_by_part.items():
                needed[taken][order.day[:_MONTH]] += number * order.vehicles
    found: list[Purchase] = []
    for name, part in parts_by_id(catalogue).items():
        if name in needed:
            short = _beyond(list(needed[name].values()), part.stock or 0)
            holding = part.price * terms.holding / 100 / MONTHS_PER_YEAR
            lots, _ = lots_over_time(short, float(terms.line_cost), holding)
            found += _in_packs(name, part.pack, part.lead_days, dict(zip(months, lots, strict=True)))
    return tuple(sorted(found, key=lambda purchase: purchase.month))


def _in_packs(part: str, pack: int, lead_days: int, lot_by_month: Mapping[str, float]) -> list[Purchase]:
    """Round lots up to packs; what one pack has too much is taken off the next lot."""
    found, over = [], 0
    for month, lot in lot_by_month.items():
        pieces = -(-max(0, round(lot) - over) // pack) * pack
        over += pieces - round(lot)
        if pieces:
            found.append(Purchase(month, part, pieces, lead_days))
    return found


def _months(named: Sequence[str]) -> list[str]:
    """Return every month from the first to the last that is named."""
    if not named:
        return []
    year, month = map(int, named[0].split("-"))
    found = [named[0]]
    while found[-1] < named[-1]:
        year, month = (year, month + 1) if month < MONTHS_PER_YEAR else (year + 1, 1)
        found.append(f"{year:04d}-{month:02d}")
    return found


def _beyond(needed: Sequence[int], on_hand: int) -> list[int]:
    """Return what is needed in each month beyond what is on hand."""
    short = []
    for number in needed:
        short.append(max(0, number - on_hand))
        on_hand = max(0, on_hand - number)
    return short


@dataclass(frozen=True, slots=True)
class Rhythm:
    """Days between two orders to the supplier, how many of them each part waits for, and the cost of a year, cents."""

    days: float
    every_by_part: Mapping[str, int]
    cents_per_year: float


def rhythm(lines: Sequence[ShelfLine], terms: StockTerms) -> Rhythm | None:
    """Return a rhythm for all parts that are kept; None where ordering costs nothing."""
    kept = [line for line in lines if line.kind != "not kept" and line.part.price]
    if not kept or not (terms.order_cost or terms.line_cost):
        return None
    items = [
        JointItem(
            float(terms.line_cost), line.part.price * terms.holding / 100, line.demand.pieces_per_day * DAYS_PER_YEAR
        )
        for line in kept
    ]
    found = joint_orders(float(terms.order_cost), items)
    every = {line.part.id: multiple for line, multiple in zip(kept, found.multiples, strict=True)}
    return Rhythm(found.cycle * DAYS_PER_YEAR, every, found.cost)
