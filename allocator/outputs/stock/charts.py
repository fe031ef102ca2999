"""
The charts of a fleet's shelf: the range curve, what the stock covers, and service against money.

Comes in as a Stock; goes out as Sheets by file name. Nothing is told by colour alone: every bar and point has its
number, and what is not proven is drawn open with its bound.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from allocator.outputs.cautions import cautions_line
from allocator.outputs.charts.shapes import Block, Look, Scale, Shape, Stroke, paint
from allocator.outputs.fonts import legible
from allocator.outputs.marks import FEED_COLOURS, INK, PALE, SOFT, WASH
from allocator.outputs.order import CENTS
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet
from allocator.outputs.stock.lists import gains
from allocator.stocking.curve import Range, RangePoint
from allocator.stocking.shelf import ShelfLine
from allocator.stocking.stock import Stock

WIDTH_MM, MARGIN_MM = 210.0, 10.0
HEAD_MM, FOOT_MM = 16.0, 12.0
FIELD_MM, ROW_MM, LEFT_MM = 52.0, 5.2, 26.0
COVER_NAME_MM, COVER_VALUE_MM = 62.0, 50.0
MOST_PARTS = 45
NUMBER_MM = 13.0
LONGEST_NUMBER = 100_000
"""Larger amounts are given in thousands."""
_BAR, _OTHER = FEED_COLOURS[0], FEED_COLOURS[1]
_PROVEN, _OPEN = Look(fill=_BAR, weight=0.5), Look(fill=None, weight=0.8, dashed=True)
_LEAD = Look(weight=1.2, edge=INK)
_LINE = Look(weight=1.2, edge=INK)
_GRID = Look(weight=0.4, edge=PALE)


def stock_charts(stock: Stock) -> Mapping[str, Sheet]:
    """Return the finished charts by file name; those that would show nothing are left out."""
    charts = {"range": range_chart(stock)}
    if stock.lines:
        charts |= {"cover": cover_chart(stock), "service": service_chart(stock)}
    return charts


def _sheet(stock: Stock, title: str, explained: str, body_mm: float) -> tuple[Sheet, Box]:
    sheet = Sheet((WIDTH_MM, 2 * MARGIN_MM + HEAD_MM + body_mm + FOOT_MM))
    page = sheet.page.inset(MARGIN_MM)
    sheet.text(Box(page.x, page.y, page.w, 6), legible(f"{stock.fleet.name}: {title}"), size=12, bold=True)
    sheet.text(Box(page.x, page.y + 6.4, page.w, 8), explained, size=7.5, colour=SOFT, max_lines=2, middle=False)
    foot = Box(page.x, page.bottom - FOOT_MM + 2, page.w, FOOT_MM - 2)
    sheet.line([(foot.x, foot.y), (foot.right, foot.y)], weight=0.6)
    text = f"{legible(stock.catalogue.notice)} {cautions_line()}"
    sheet.text(foot.inset(0, 1), text, size=6, max_lines=4, middle=False)
    return sheet, Box(page.x, page.y + HEAD_MM, page.w, body_mm)


def range_chart(stock: Stock) -> Sheet:
    """Draw bays and housing price of the best set for each number of types, and below them which types these are."""
    points = stock.range.points
    table_mm = 8 + sum(_kept_mm(point) for point in points)
    explained = (
        "The best set of module types for each number of them: bays first, then the price of carriers and modules. "
        "Filled: proven, every vehicle has a checked plan. Open: the broken line is what no set can be below."
    )
    sheet, box = _sheet(stock, "module types to keep", explained, 2 * (FIELD_MM + 12) + table_mm)
    currency = stock.catalogue.currency
    bays = [(point.bays, point.least_bays) for point in points]
    cents = [(point.cents / CENTS, point.least_cents / CENTS) for point in points]
    proven = [point.is_exact for point in points]
    numbers = [str(point.most) for point in points]
    _bars(sheet, Box(box.x, box.y, box.w, FIELD_MM + 10), "bays a year", numbers, bays, proven, 0)
    below = Box(box.x, box.y + FIELD_MM + 12, box.w, FIELD_MM + 10)
    _bars(sheet, below, f"{currency} a year, carriers and modules", numbers, cents, proven, 0)
    _kept_table(sheet, stock.range, Box(box.x, below.bottom + 4, box.w, table_mm))
    return sheet


def _bars(
    sheet: Sheet,
    box: Box,
    title: str,
    names: Sequence[str],
    values: Sequence[tuple[Fraction, Fraction]],
    proven: Sequence[bool],
    decimals: int,
) -> None:
    """Draw a bar for each value with its number above; a broken line across at the bound of one that is not proven."""
    field = Box(box.x + LEFT_MM, box.y + 5, box.w - LEFT_MM, FIELD_MM - 5)
    sheet.text(Box(box.x, box.y, box.w, 4.4), title, size=8, bold=True)
    sheet.rectangle(field, fill=WASH, edge=None)
    most = max(float(value) for value, _ in values) or 1.0
    across = Scale(0, len(values), field.x, field.right)
    upward = Scale(0, most * 1.12, field.bottom, field.y)
    for tick in ticks(most):
        paint(sheet, [Stroke(((0, tick), (len(values), tick)), _GRID)], across, upward)
        at = Box(box.x, upward.at(tick) - 2, LEFT_MM - 2, 4)
        sheet.text(at, f"{tick:,.{decimals}f}", size=6.5, colour=SOFT, align="right")
    for place, ((value, bound), is_proven) in enumerate(zip(values, proven, strict=True)):
        shapes: list[Shape] = [Block(place + 0.2, place + 0.8, 0, float(value), _PROVEN if is_proven else _OPEN)]
        if not is_proven:
            shapes.append(Stroke(((place + 0.1, float(bound)), (place + 0.9, float(bound))), _OPEN))
        paint(sheet, shapes, across, upward)
        cell = across.at(place), across.at(place + 1) - across.at(place)
        top = Box(cell[0], upward.at(float(value)) - 4.2, cell[1], 4)
        sheet.text(top, f"{float(value):,.{decimals}f}", size=7, smallest=5, align="centre")
        sheet.text(Box(cell[0], field.bottom + 0.6, cell[1], 4), names[place], size=7, align="centre")
    sheet.text(Box(field.x, field.bottom + 4.4, field.w, 4), "module types kept", size=7, colour=SOFT, align="centre")


def ticks(most: float) -> Iterator[float]:
    """Yield round values from 0 up to a largest one, four to eight of them."""
    step = 10 ** math.floor(math.log10(most / 4)) if most > 0 else 1.0
    step *= next(factor for factor in (1, 2, 5, 10) if most / (step * factor) <= 8)
    for number in range(int(most / step) + 1):
        yield number * step


def _kept_lines(point: RangePoint) -> int:
    return max(1, -(-len(", ".join(point.kept)) // 95))


def _kept_mm(point: RangePoint) -> float:
    return 1.6 + 3.2 * _kept_lines(point)


def _kept_table(sheet: Sheet, curve: Range, box: Box) -> None:
    must = {item.module for item in curve.without if item.point is None}
    columns = (box.x, box.x + 12, box.x + 138, box.x + 164)
    heads = ("types", "kept (bold number: exact; * must stay)", "bays gained", "price gained")
    for x, head in zip(columns, heads, strict=True):
        sheet.text(Box(x, box.y, 126 if x == columns[1] else 26, 4), head, size=7, colour=SOFT)
    y, before = box.y + 5, None
    for point in curve.points:
        height = _kept_mm(point)
        kept = ", ".join(f"{name}*" if name in must else name for name in point.kept)
        gained = gains(before, point)
        sheet.text(Box(columns[0], y, 10, 4), str(point.most), size=7, bold=point.is_exact, middle=False)
        sheet.text(
            Box(columns[1], y, 124, height), legible(kept), size=7, max_lines=_kept_lines(point) + 1, middle=False
        )
        if gained is not None:
            sheet.text(Box(columns[2], y, 22, 4), f"{float(gained[0]):,.1f}", size=7, middle=False)
            sheet.text(Box(columns[3], y, 26, 4), f"{float(gained[1]) / CENTS:,.2f}", size=7, middle=False)
        y, before = y + height, point
        sheet.line([(box.x, y - 0.4), (box.right, y - 0.4)], colour=PALE, weight=0.4)


def cover_chart(stock: Stock) -> Sheet:
    """Draw for how many days the mean stock of each part lasts, against the days until a delivery comes."""
    kept = [line for line in stock.lines if line.kind != "not kept"]
    shown = sorted(kept, key=lambda line: (-line.money_cents, line.part.id))[:MOST_PARTS]
    more = (
        f" The {len(shown)} parts with most money in them; the others are in quantities.csv."
        if len(kept) > len(shown)
        else ""
    )
    explained = (
        "Days that the mean stock of a part lasts (bar), and days from order to delivery, with the time between two "
        f"looks at the shelf (stroke). Both on one scale, longer ones cut off and said in words.{more}"
    )
    sheet, box = _sheet(stock, "what the stock covers", explained, 8 + ROW_MM * len(shown))
    if not shown:
        return sheet
    days = sorted(line.cover_days for line in shown)
    most = max(30.0, min(days[-1], 3 * days[len(days) // 2]), *(_wait(line) for line in shown)) * 1.05
    field = Box(box.x + COVER_NAME_MM, box.y + 6, box.w - COVER_NAME_MM - COVER_VALUE_MM, ROW_MM * len(shown))
    sheet.rectangle(field, fill=WASH, edge=None)
    across = Scale(0, most, field.x, field.right)
    for tick in ticks(most):
        x = across.at(tick)
        sheet.line([(x, field.y), (x, field.bottom)], colour=PALE, weight=0.4)
        sheet.text(Box(x - 10, box.y, 20, 4), f"{tick:g} d", size=6.5, colour=SOFT, align="centre")
    for number, line in enumerate(shown):
        row = Box(box.x, field.y + number * ROW_MM, box.w, ROW_MM)
        upward = Scale(0, 1, row.bottom, row.y)
        wait = _wait(line)
        paint(sheet, [Block(0, line.cover_days, 0.2, 0.8, _PROVEN)], across, upward)
        paint(sheet, [Stroke(((wait, 0.02), (wait, 0.98)), _LEAD)], across, upward)
        sheet.text(
            Box(row.x, row.y, COVER_NAME_MM - 2, row.h), legible(line.part.label), size=7, smallest=5, align="right"
        )
        worth = (
            f"{line.cover_days:,.0f} days, {line.judged.on_hand:,.1f} {_unit(line)}, {line.money_cents / CENTS:,.2f}"
        )
        value = Box(field.right + 2, row.y, COVER_VALUE_MM - 2, row.h)
        sheet.text(value, f"{worth} {stock.catalogue.currency}", size=6.5, smallest=5)
    return sheet


def _wait(line: ShelfLine) -> float:
    return float(line.part.lead_days + line.review_days)


def _unit(line: ShelfLine) -> str:
    return {"piece": "pieces", "length": "lengths", "m": "m"}[line.unit]


def service_chart(stock: Stock) -> Sheet:
    """Draw the money on the shelf against the service level, with the shelf as planned."""
    explained = (
        "Money that lies on the shelf on average, if every part that is kept had the same service level: the share of "
        "orders that find all their pieces of the part. The cross is the shelf as planned, at its mean service."
    )
    sheet, box = _sheet(stock, "service against money", explained, 2 * FIELD_MM + 14)
    field = Box(box.x + LEFT_MM, box.y + 5, box.w - LEFT_MM - 4, 2 * FIELD_MM - 4)
    sheet.rectangle(field, fill=WASH, edge=None)
    service, money = planned_point(stock)
    most = max(money, *(point.money_cents / CENTS for point in stock.service)) * 1.1 or 1.0
    unit, currency = (1000, "thousand ") if most > LONGEST_NUMBER else (1, "")
    money, most = money / unit, most / unit
    head = f"{currency}{stock.catalogue.currency} on the shelf"
    sheet.text(Box(box.x, box.y - 1, box.w, 4.4), head, size=8, bold=True)
    # Evenly by what is missing to 100 %, in powers of ten: 90, 99 and 99.9 % are equally far apart.
    first, last = _nines(stock.service[0].service), _nines(stock.service[-1].service)
    across = Scale(first, last, field.x + NUMBER_MM + 1, field.right - 9)
    upward = Scale(0, most, field.bottom, field.y)
    for tick in ticks(most):
        sheet.line([(field.x, upward.at(tick)), (field.right, upward.at(tick))], colour=PALE, weight=0.4)
        sheet.text(
            Box(box.x, upward.at(tick) - 2, LEFT_MM - 2, 4), f"{tick:,.0f}", size=6.5, colour=SOFT, align="right"
        )
    for level in (50, 70, 80, 90, 95, 98, 99, 99.5, 99.9):
        x = across.at(_nines(level))
        sheet.line([(x, field.y), (x, field.bottom)], colour=PALE, weight=0.4)
        sheet.text(Box(x - 8, field.bottom + 0.8, 16, 4), f"{level:g} %", size=6.5, colour=SOFT, align="centre")
    sheet.text(Box(field.x, field.bottom + 5, field.w, 4), "service level", size=7, colour=SOFT, align="centre")
    points = tuple((_nines(point.service), point.money_cents / CENTS / unit) for point in stock.service)
    paint(sheet, [Stroke(points, _LINE)], across, upward)
    for x, y in points:
        at = across.at(x), upward.at(y)
        sheet.rectangle(Box(at[0] - 0.9, at[1] - 0.9, 1.8, 1.8), fill=_BAR, weight=0.6)
        sheet.text(Box(at[0] - NUMBER_MM, at[1] - 5.2, NUMBER_MM, 4), f"{y:,.0f}", size=6.5, align="right")
    _cross(sheet, field, across.at(_nines(service)), upward.at(money), f"as planned: {service:.1f} %, {money:,.0f}")
    return sheet


def planned_point(stock: Stock) -> tuple[float, float]:
    """Return the mean service over orders of the parts that are kept, %, and the money on the shelf."""
    kept = [line for line in stock.lines if line.kind != "not kept"]
    orders = sum(line.demand.orders_per_day for line in kept)
    service = sum(line.judged.service * line.demand.orders_per_day for line in kept) / orders if orders else 0.0
    return 100 * service, stock.money_cents / CENTS


def _nines(service: float) -> float:
    return -math.log10(max(1e-4, 1 - service / 100))


def _cross(sheet: Sheet, field: Box, x: float, y: float, text: str) -> None:
    """Draw a cross with its text to the right and below, where the curve is not, but within the field."""
    for dx in (-1.8, 1.8):
        sheet.line([(x - dx, y - 1.8), (x + dx, y + 1.8)], weight=1.4, colour=INK)
    wide = min(60.0, field.w)
    at = Box(min(x + 2.6, field.right - wide), min(y + 2.0, field.bottom - 4.2), wide, 4)
    sheet.text(at, text, size=7, bold=True, align="left" if at.x == x + 2.6 else "right")
