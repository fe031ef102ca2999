"""
The lists of a fleet's shelf as typed rows: range, quantities, what to build, what to buy, what to cut.

Comes in as a Stock; goes out as Records, one for each CSV file.
"""

from __future__ import annotations

from fractions import Fraction

from allocator.outputs.order import CENTS
from allocator.outputs.records import Cell, Records, columns_of
from allocator.requirements.catalogue import parts_by_id
from allocator.stocking.curve import Range, RangePoint
from allocator.stocking.stock import Stock

RANGE = columns_of(
    "module_types", "kept", "bays_per_year", "bays_at_least", "price_per_year", "price_at_least", "bays_gained",
    "price_gained", "exact", bays_per_year=2, bays_at_least=2, price_per_year=2, price_at_least=2, bays_gained=2,
    price_gained=2,
)  # fmt: skip
VEHICLES = columns_of("module_types", "vehicle", "types", "bays", "housing_price", "known_from", housing_price=2)
WITHOUT = columns_of(
    "left_out", "must_stay", "bays_more_per_year", "price_more_per_year", "why", bays_more_per_year=2,
    price_more_per_year=2,
)  # fmt: skip
QUANTITIES = columns_of(
    "part", "label", "unit", "per_month", "largest_order", "lead_days", "policy", "reorder_at", "order_quantity",
    "order_up_to", "service_percent", "mean_on_hand", "mean_owed", "orders_per_month", "money_on_shelf", "cover_days",
    "on_hand", "order_now", per_month=2, service_percent=2, mean_on_hand=2, orders_per_month=2, money_on_shelf=2,
    cover_days=1,
)  # fmt: skip
BUILD = columns_of("vehicle", "can_build", "lacking_for_one_more")
ORDERS = columns_of("day", "vehicle", "vehicles", "worth", "build_now", worth=2)
PURCHASES = columns_of("needed_by", "part", "label", "quantity", "packs", "lead_days")
CUTS = columns_of(
    "part", "label", "colour", "unit", "stock_length", "lengths", "offcuts", "one_by_one", "usable_from", "leftovers",
    "scrap", "proof",
)  # fmt: skip
CUT_PIECES = columns_of("part", "colour", "number", "from", "unit", "of", "pieces", "left")


def stock_lists(stock: Stock) -> tuple[Records, ...]:
    """Return every list."""
    return (
        _range(stock), _vehicles(stock), _without(stock), _quantities(stock), _build(stock), _orders(stock),
        _purchases(stock), _cuts(stock), _cut_pieces(stock),
    )  # fmt: skip


def gains(before: RangePoint | None, point: RangePoint) -> tuple[Fraction, Fraction] | None:
    """Return bays and cents a year that a point gains on the one before; None for the first."""
    return None if before is None else (before.bays - point.bays, before.cents - point.cents)


def costs_without(found: Range) -> dict[str, tuple[Fraction, Fraction]]:
    """Return bays and cents a year that leaving out each type would add to the end of the curve, where it may go."""
    end = found.points[-1]
    return {
        item.module: (item.point.bays - end.bays, item.point.cents - end.cents)
        for item in found.without
        if item.point is not None
    }


def _range(stock: Stock) -> Records:
    rows = []
    before = None
    for point in stock.range.points:
        gained = gains(before, point)
        rows.append(
            (
                point.most, " ".join(point.kept), point.bays, point.least_bays, point.cents / CENTS,
                point.least_cents / CENTS, gained[0] if gained else None, gained[1] / CENTS if gained else None,
                "yes" if point.is_exact else "no",
            )
        )  # fmt: skip
        before = point
    return Records("range", RANGE, tuple(rows))


def _vehicles(stock: Stock) -> Records:
    rows = [
        (
            point.most, name, " ".join(sorted(item.types)), item.bays, Fraction(item.cents, CENTS),
            "checked plan" if item.is_planned else "relaxation",
        )
        for point in stock.range.points
        for name, item in point.by_vehicle.items()
    ]  # fmt: skip
    return Records("range-vehicles", VEHICLES, tuple(rows))


def _without(stock: Stock) -> Records:
    more = costs_without(stock.range)
    rows: list[tuple[Cell, ...]] = []
    for item in stock.range.without:
        if item.point is None:
            why = f"{', '.join(item.unbuildable)} cannot be built without it"
            why += f": the only type with {', '.join(item.only_source_of)}" if item.only_source_of else ""
            rows.append((item.module, "yes", None, None, why))
        else:
            bays, cents = more[item.module]
            rows.append((item.module, "no", bays, cents / CENTS, f"then best: {' '.join(item.point.kept)}"))
    return Records("range-without", WITHOUT, tuple(rows))


def _quantities(stock: Stock) -> Records:
    rows = [
        (
            line.part.id, line.part.label, line.unit, line.per_month, line.demand.largest, line.part.lead_days,
            line.kind, line.reorder if line.kind != "not kept" else None,
            line.quantity if line.kind == "r, nQ" else None,
            line.order_up_to if line.kind in ("base stock", "s, S") else None,
            100 * line.judged.service, line.judged.on_hand, line.judged.owed,
            None if line.kind == "not kept" else line.lots_per_day * 365 / 12,
            line.money_cents / CENTS, line.cover_days, line.part.stock,
            None if line.part.stock is None else line.order_now,
        )
        for line in stock.lines
    ]  # fmt: skip
    return Records("quantities", QUANTITIES, tuple(rows))


def _build(stock: Stock) -> Records:
    rows = [
        (item.vehicle, item.number, "; ".join(f"{number} {part}" for part, number in item.lacking.items()))
        for item in stock.buildable
    ]
    return Records("build-today", BUILD, tuple(rows))


def _orders(stock: Stock) -> Records:
    picked = set(stock.book.picked.orders)
    rows = [
        (
            order.day, order.vehicle, order.vehicles, None if order.worth is None else Fraction(order.worth, CENTS),
            "yes" if number in picked else "no",
        )
        for number, order in enumerate(stock.book.orders)
    ]  # fmt: skip
    return Records("open-orders", ORDERS, tuple(rows))


def _purchases(stock: Stock) -> Records:
    parts = parts_by_id(stock.catalogue)
    rows = [
        (
            item.month, item.part, parts[item.part].label, item.pieces, item.pieces // parts[item.part].pack,
            item.lead_days,
        )
        for item in stock.purchases
    ]  # fmt: skip
    return Records("purchases", PURCHASES, tuple(rows))


def _cuts(stock: Stock) -> Records:
    rows = [
        (
            item.part.id, item.part.label, item.colour, item.unit, item.stock_length, item.cutting.num_stock,
            len(item.cutting.lengths) - item.cutting.num_stock, item.one_by_one, item.usable,
            " ".join(map(str, item.leftovers)), item.scrap, item.proof,
        )
        for item in stock.cuts
    ]  # fmt: skip
    return Records("cuts", CUTS, tuple(rows))


def _cut_pieces(stock: Stock) -> Records:
    rows = [
        (
            item.part.id, item.colour, number, "offcut" if length.is_offcut else "length", item.unit, length.of,
            " ".join(map(str, length.pieces)), length.leftover,
        )
        for item in stock.cuts
        for number, length in enumerate(item.cutting.lengths, 1)
    ]  # fmt: skip
    return Records("cut-pieces", CUT_PIECES, tuple(rows))
