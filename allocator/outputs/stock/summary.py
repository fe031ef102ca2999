"""
What the terminal shows of a fleet's shelf, and ``summary.txt`` holds.

Comes in as a Stock; goes out as text. Every figure of the range says whether checked plans or relaxations stand behind
it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from allocator.notices import CAUTIONS
from allocator.outputs.order import CENTS
from allocator.outputs.stock.lists import costs_without, gains
from allocator.outputs.summary import WIDTH, caution_lines, columns
from allocator.stocking.curve import Range, RangePoint
from allocator.stocking.stock import Stock

_MOST_PARTS = 12


def stock_summary(stock: Stock, *, brief: bool = False) -> str:
    """Return the summary; a brief one names only the parts with most money in them."""
    return "\n".join([*_lines(stock, brief)]) + "\n"


def _lines(stock: Stock, brief: bool) -> Iterator[str]:
    monthly = sum(float(member.process.vehicles_per_month) for member in stock.members)
    yield f"{stock.fleet.name}: {len(stock.members)} kinds of vehicle, {monthly:.3g} vehicles a month"
    yield ""
    yield from _range(stock)
    yield ""
    yield from _shelf(stock, brief)
    yield ""
    yield from _orders(stock)
    if stock.cuts:
        yield ""
        yield from _cuts(stock)
    yield ""
    yield from caution_lines((stock.catalogue.notice, *CAUTIONS))


def _range(stock: Stock) -> Iterator[str]:
    currency = stock.catalogue.currency
    yield "Module types to keep: the best set for each number of them (carriers and modules of a year)"
    rows: list[tuple[str, ...]] = [("types", "bays", currency, "bays gained", f"{currency} gained", "", "kept")]
    before: RangePoint | None = None
    for point in stock.range.points:
        gained = gains(before, point)
        cells = ("", "") if gained is None else (f"{float(gained[0]):.1f}", f"{float(gained[1]) / CENTS:.2f}")
        values = f"{float(point.bays):.1f}", f"{float(point.cents) / CENTS:.2f}"
        rows.append((str(point.most), *values, *cells, proof_of(point), ", ".join(point.kept)))
        before = point
    yield from columns(rows, right=(0, 1, 2, 3, 4))
    yield f"  {stock.range.num_plans} plans were made and checked for it"
    if stock.range.was_cut:
        yield "  cut by time: give it more with --time-limit; another run may end elsewhere"
    yield from _fewest(stock.range)
    yield from _without(stock.range, currency)


def _fewest(found: Range) -> Iterator[str]:
    """Say why the curve does not begin at one type."""
    fewest = found.points[0].most
    if fewest == 1:
        return
    if found.has_fewest:
        yield f"  {fewest} types at least: no set of fewer types builds every vehicle"
    elif not found.was_cut:
        yield f"  {fewest} types: no set of fewer types was found that builds every vehicle; not proven"


def _without(found: Range, currency: str) -> Iterator[str]:
    """Say which types must stay and why, and what leaving out each of the others costs."""
    for item in found.without:
        if item.point is None:
            only = f", the only type with {', '.join(item.only_source_of)}" if item.only_source_of else ""
            yield from _wrapped(
                f"{item.module} must stay{only}: without it {', '.join(item.unbuildable)} cannot be built"
            )
    more = [
        f"{module} {float(bays):.1f} bays, {float(cents) / CENTS:.2f} {currency}"
        for module, (bays, cents) in costs_without(found).items()
    ]
    if more:
        yield from _wrapped(f"more a year if one were left out of {found.points[-1].most}: {'; '.join(more)}")


def proof_of(point: RangePoint) -> str:
    """Say how a point of the curve is known."""
    if point.is_exact:
        return "best possible"
    if (point.bays, point.cents) == (point.least_bays, point.least_cents):
        return "relaxation alone"
    return f"bays at least {float(point.least_bays):.1f}, price at least {float(point.least_cents) / CENTS:.2f}"


def _shelf(stock: Stock, brief: bool) -> Iterator[str]:
    currency, terms = stock.catalogue.currency, stock.fleet.stock
    kept = [line for line in stock.lines if line.kind != "not kept"]
    by_cost = "the cheapest shelf" if terms.shortage is not None else f"service {terms.service:g} % for each part"
    yield f"Shelf: {len(kept)} parts, {stock.money_cents / CENTS:.2f} {currency} on it on average, {by_cost}"
    rows: list[tuple[str, ...]] = [("part", "a month", "order", "service", "on hand", currency)]
    most = sorted(kept, key=lambda line: (-line.money_cents, line.part.id))
    for line in most[:_MOST_PARTS] if brief else most:
        how = {
            "base stock": f"always up to {line.order_up_to}",
            "r, nQ": f"at {line.reorder}: {line.quantity}",
            "s, S": f"at {line.reorder}: up to {line.order_up_to}",
            "not kept": "for each vehicle",
        }[line.kind]
        rows.append(
            (
                line.part.id, f"{line.per_month:.1f}", how, f"{100 * line.judged.service:.1f} %",
                f"{line.judged.on_hand:.1f}", f"{line.money_cents / CENTS:.2f}",
            )
        )  # fmt: skip
    yield from columns(rows, right=(1, 3, 4, 5))
    if brief and len(most) > _MOST_PARTS:
        yield f"  and {len(most) - _MOST_PARTS} more in quantities.csv"
    if stock.rhythm is not None:
        every = stock.rhythm.every_by_part
        each_time = sum(number == 1 for number in every.values())
        waits = f"; {each_time} parts each time, {len(every) - each_time} every second time or less often"
        yield from _wrapped(
            f"ordered together every {stock.rhythm.days:.0f} days{waits if each_time < len(every) else ''} "
            "(a good rhythm, not proven best)"
        )


def _orders(stock: Stock) -> Iterator[str]:
    yield "What can be built today, each vehicle by itself"
    rows = []
    for item in stock.buildable:
        lacking = ", ".join(f"{number} {part}" for part, number in item.lacking.items())
        rows.append((item.vehicle, str(item.number), f"for one more: {lacking}" if lacking else ""))
    yield from columns(rows, right=(1,))
    book = stock.book
    if not book.orders:
        return
    yield f"Open orders: {len(book.built)} of {len(book.orders)} can be built from the shelf together, " + (
        "proven best" if book.picked.is_best else "not proven best"
    )
    for order in book.built:
        yield f"  {order.day}  {order.vehicles} x {order.vehicle}"
    if book.lacking:
        yield from _wrapped("for all of them: " + ", ".join(f"{n} {part}" for part, n in book.lacking.items()))


def _cuts(stock: Stock) -> Iterator[str]:
    yield "Strips and wire of all open orders together"
    rows = [
        (
            item.part.id, item.colour, f"{item.cutting.num_stock} of {item.stock_length} {item.unit}",
            f"{item.one_by_one} one by one", item.proof.partition(":")[0],
        )
        for item in stock.cuts
    ]  # fmt: skip
    yield from columns(rows)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
