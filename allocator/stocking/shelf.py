"""
How many of each part to keep and when to order again, with the money that lies on the shelf.

Comes in as members with what one vehicle takes and the terms of the fleet; goes out as a line for each part. Money is
in cents, time in days.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from allocator.requirements.catalogue import Catalogue, Part, parts_by_id
from allocator.requirements.fleet import PartStock, StockTerms
from allocator.stocking.demand import DAYS_PER_MONTH, Counted, Demand, demand_of
from allocator.stocking.lots import lot_with_breaks
from allocator.stocking.members import Member
from allocator.stocking.policy import (
    Costs,
    Judged,
    Positions,
    base_stock,
    best_lot,
    best_reorder,
    best_s_and_s,
    judge,
    least_level_for_service,
    lots_per_day,
    positions_of_s_and_s,
    uniform,
)
from allocator.stocking.takes import unit_of

DAYS_PER_YEAR = 365
Kind = Literal["base stock", "r, nQ", "s, S", "not kept"]


@dataclass(frozen=True)
class ShelfLine:
    """
    One part of the shelf.

    Attributes
    ----------
    kind
        ``base stock``: order what was taken, piece by piece, up to ``order_up_to``. ``r, nQ``: at ``reorder`` or below
        order packs of ``quantity`` until it is above. ``s, S``: at ``reorder`` or below order up to ``order_up_to``.
    positions
        What is on the shelf or on its way, less what is owed, after each order, with weights.
    judged
        Service, and mean numbers on the shelf and owed.
    lots_per_day
        Orders to the supplier.
    """

    part: Part
    unit: str
    demand: Demand
    kind: Kind
    reorder: int
    quantity: int
    order_up_to: int
    positions: Positions
    judged: Judged
    lots_per_day: float
    review_days: int

    @property
    def per_month(self) -> float:
        """Pieces taken in a month."""
        return self.demand.pieces_per_day * float(DAYS_PER_MONTH)

    @property
    def money_cents(self) -> float:
        """Money that lies on the shelf on average, cents."""
        return self.judged.on_hand * self.part.price

    @property
    def cover_days(self) -> float:
        """Days that the mean stock on hand lasts."""
        return self.judged.on_hand / self.demand.pieces_per_day

    @property
    def order_now(self) -> int:
        """Pieces to order today, with nothing on its way; 0 where the stock is not counted."""
        if self.part.stock is None or self.part.stock > self.reorder or self.kind == "not kept":
            return 0
        if self.kind == "s, S":
            return self.order_up_to - self.part.stock
        packs = (self.reorder - self.part.stock) // self.quantity + 1
        return packs * self.quantity


def demand_by_part(
    members: Sequence[Member], takes: Mapping[str, Mapping[str, int]], catalogue: Catalogue
) -> dict[str, Demand]:
    """Return the demand of every part that some expected vehicle takes, in the catalogue's order."""
    found = {}
    for part in parts_by_id(catalogue):
        demand = demand_of((member.process, takes[member.name].get(part, 0)) for member in members)
        if demand is not None:
            found[part] = demand
    return found


def shelf_lines(
    demands: Mapping[str, Demand],
    catalogue: Catalogue,
    terms: StockTerms,
    progress: Callable[[str], None] | None = None,
) -> tuple[ShelfLine, ...]:
    """Return a line for every part with a demand."""
    parts, own = parts_by_id(catalogue), {item.part: item for item in terms.parts}
    lines = []
    for number, (name, demand) in enumerate(demands.items(), 1):
        lines.append(shelf_line(parts[name], unit_of(catalogue, name), demand, terms, own.get(name)))
        if progress is not None and number % 20 == 0:
            progress(f"shelf: {number} of {len(demands)} parts")
    return tuple(lines)


def shelf_line(part: Part, unit: str, demand: Demand, terms: StockTerms, own: PartStock | None = None) -> ShelfLine:
    """
    Decide on one part.

    With a cost of owing the cheapest way of ordering is sought, else the one with the least stock that gives the
    service. Owing is then counted at the end of the time between two looks, when it is worst.
    """
    own = own or PartStock(part=part.id)
    if not own.keep:
        return _line(part, unit, demand, "not kept", -demand.largest - 1, demand.largest, terms)
    shortage = terms.shortage if own.shortage is None else own.shortage
    if shortage is None or own.service is not None:
        share = (terms.service if own.service is None else own.service) / 100
        quantity = _lot(part, demand, terms, own)
        reorder = least_level_for_service(
            demand, lambda level: uniform(level, quantity, demand.step), part.lead_days, terms.review_days, share
        )
        return _line(part, unit, demand, "base stock" if quantity == 1 else "r, nQ", reorder, quantity, terms)
    costs = Costs(
        part.price * terms.holding / 100 / DAYS_PER_YEAR, shortage / float(DAYS_PER_MONTH), float(terms.line_cost)
    )
    taken = demand.over(part.lead_days + terms.review_days)
    if not terms.line_cost or not costs.holding:
        reorder = base_stock(taken, costs) - 1 if part.pack == 1 else best_reorder(taken, costs, part.pack, demand.step)
        return _line(part, unit, demand, "base stock" if part.pack == 1 else "r, nQ", reorder, part.pack, terms)
    one_period = demand.over(terms.review_days) if terms.review_days else None
    if part.pack == 1 and isinstance(one_period, Counted) and isinstance(taken, Counted):
        by_period = replace(
            costs, holding=costs.holding * terms.review_days, shortage=costs.shortage * terms.review_days
        )
        low, high, _ = best_s_and_s(one_period, taken, by_period)
        return _s_and_s(part, unit, demand, low, high, terms, one_period)
    reorder, quantity = best_lot(demand, taken, costs, part.pack)
    return _line(part, unit, demand, "base stock" if quantity == 1 else "r, nQ", reorder, quantity, terms)


def _lot(part: Part, demand: Demand, terms: StockTerms, own: PartStock) -> int:
    """Return the quantity of an order: the economic one in whole packs, with regard to price breaks."""
    if not terms.line_cost and not own.price_breaks:
        return part.pack
    price_from = {0: float(part.price)} | {step.quantity: float(step.price) for step in own.price_breaks}
    if not min(price_from.values()):
        return part.pack
    yearly = demand.pieces_per_day * DAYS_PER_YEAR
    quantity, _ = lot_with_breaks(float(terms.line_cost), terms.holding / 100, yearly, price_from, part.pack)
    return max(part.pack, round(quantity / part.pack) * part.pack)


def _line(
    part: Part, unit: str, demand: Demand, kind: Kind, reorder: int, quantity: int, terms: StockTerms
) -> ShelfLine:
    positions = uniform(reorder, quantity, demand.step)
    judged = judge(demand, positions, part.lead_days, terms.review_days)
    if kind == "not kept":
        judged = Judged(0.0, 0.0, demand.pieces_per_day * (part.lead_days + terms.review_days / 2))
    lots = lots_per_day(demand, quantity)
    if terms.review_days:
        lots = _lots_a_review(demand.over(terms.review_days).short, quantity, demand, terms.review_days)
    return ShelfLine(
        part, unit, demand, kind, reorder, quantity, reorder + quantity, positions, judged, lots, terms.review_days
    )


def _lots_a_review(short: Callable[[float], float], quantity: int, demand: Demand, days: int) -> float:
    """Return the orders of a day where the shelf is looked at now and then: E[min(taken, Q)] / Q of the looks."""
    mean = demand.pieces_per_day * days
    return (mean - short(quantity)) / quantity / days


def _s_and_s(
    part: Part, unit: str, demand: Demand, low: int, high: int, terms: StockTerms, one_period: Counted
) -> ShelfLine:
    positions = positions_of_s_and_s(one_period, low, high)
    judged = judge(demand, positions, part.lead_days, terms.review_days)
    ordered = sum(weight * (1 - one_period.within(level - low - 1)) for level, weight in positions.items())
    lots = ordered / terms.review_days
    return ShelfLine(part, unit, demand, "s, S", low, high - low, high, positions, judged, lots, terms.review_days)


@dataclass(frozen=True, slots=True)
class ServicePoint:
    """What the shelf comes to at one service level: money on it on average, cents."""

    service: float
    money_cents: float


def service_curve(
    demands: Mapping[str, Demand], catalogue: Catalogue, terms: StockTerms, levels: Sequence[float]
) -> tuple[ServicePoint, ...]:
    """Return the money on the shelf for each service level, %, the same for all parts that are kept."""
    parts = tuple(
        item.model_copy(update={"service": None, "shortage": None}) for item in terms.parts
    )  # keep, and price breaks
    found = []
    for level in levels:
        asked = terms.model_copy(update={"service": level, "shortage": None, "parts": parts})
        lines = shelf_lines(demands, catalogue, asked)
        found.append(ServicePoint(level, sum(line.money_cents for line in lines)))
    return tuple(found)
