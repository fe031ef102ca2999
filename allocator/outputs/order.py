"""
What to order: every part of a plan, stock deducted, packs rounded up; strips by the length, wire by size and colour.

Comes in as the Content of a plan; goes out as order lines, for ``parts.csv``, workbook and paper. Wire is ordered as it
is cut (``plan/cuts.py``), the bill counts it as it lies.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from allocator.explaining.accounts.account import counted
from allocator.outputs.content import Content
from allocator.outputs.records import Records, columns_of
from allocator.outputs.strips import CutStrip
from allocator.plan.colours import WireLook
from allocator.plan.parts import bill_of_index
from allocator.requirements.catalogue import Part, Wire
from allocator.requirements.markings import COLOURS
from allocator.units import MM_PER_M

CENTS = 100
COLUMNS = columns_of(
    "part", "label", "colour", "unit", "needed", "from_stock", "to_order", "packs", "ordered", "unit_price",
    "order_price", "currency", "lead_days", "note",
    unit_price=2, order_price=2,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OrderLine:
    """
    One part of the order.

    Attributes
    ----------
    part
        The part.
    unit
        What is counted: ``piece``, ``length`` of strip, ``m`` of wire.
    needed
        How many the plan takes.
    on_shelf
        How many of the shelf's are not taken by an earlier line.
    look
        Colour of a wire.
    note
        How it is cut or fitted, or what to mind.
    """

    part: Part
    unit: str
    needed: Fraction
    on_shelf: Fraction
    look: WireLook | None = None
    note: str = ""

    @property
    def from_stock(self) -> Fraction:
        """What the shelf provides."""
        return min(self.on_shelf, self.needed)

    @property
    def packs(self) -> int:
        """Packs (or reels) to order."""
        missing = self.needed - self.from_stock
        return -(-missing.numerator // (missing.denominator * self.part.pack))

    @property
    def order_cents(self) -> int:
        """Price of the packs, cents."""
        return self.packs * self.part.pack * self.part.price


def order_records(content: Content) -> Records:
    """Return the order as a list."""
    currency = content.sized.requirements.catalogue.currency
    rows = [
        (
            line.part.id, line.part.label, line.look.code if line.look else "", line.unit, line.needed,
            line.from_stock, line.needed - line.from_stock, line.packs, line.packs * line.part.pack,
            Fraction(line.part.price, CENTS), Fraction(line.order_cents, CENTS), currency, line.part.lead_days,
            line.note,
        )
        for line in order_lines(content)
    ]  # fmt: skip
    return Records("parts", COLUMNS, tuple(rows))


def order_value_text(content: Content) -> str:
    """Say what the order costs, and what the parts of the plan come to."""
    currency = content.sized.requirements.catalogue.currency
    ordered = Fraction(sum(line.order_cents for line in order_lines(content)), CENTS)
    placed = bill_of_index(content.index).price_cents(content.sized.price_by_part) / CENTS
    return (
        f"order value {float(ordered):.2f} {currency} in whole packs, stock deducted; "
        f"unit prices of what is placed come to {float(placed):.2f} {currency}"
    )


def order_lines(content: Content) -> Iterator[OrderLine]:
    """Return every part to order, in the catalogue's order; strips as whole lengths, wire by the metre and colour."""
    catalogue = content.sized.requirements.catalogue
    bill = bill_of_index(content.index)
    tables: Sequence[Sequence[Part]] = (
        catalogue.carriers, catalogue.modules, catalogue.fuses, catalogue.relays, catalogue.terminals, catalogue.studs,
        catalogue.holders, catalogue.main_holders, catalogue.accessories,
    )  # fmt: skip
    notes = {item.id: item.note for item in catalogue.accessories}
    for table in tables[:2]:
        yield from _counted(table, bill.parts, notes)
    yield from _strip_lines(content)
    for table in tables[2:]:
        yield from _counted(table, bill.parts, notes)
    for wire in catalogue.wires:
        yield from _wire_lines(content, wire)


def _counted(table: Iterable[Part], number_by_part: Mapping[str, int], notes: Mapping[str, str]) -> Iterator[OrderLine]:
    for part in table:
        if part.id in number_by_part:
            needed, shelf = Fraction(number_by_part[part.id]), Fraction(part.stock or 0)
            yield OrderLine(part, "piece", needed, shelf, note=notes.get(part.id, ""))


def _strip_lines(content: Content) -> Iterator[OrderLine]:
    for plan in content.strip_plans:
        cuts = "; ".join(cut_text(item, plan.usable) for item in plan.cuts)
        needed, shelf = Fraction(plan.cutting.num_stock), Fraction(plan.strip.stock or 0)
        yield OrderLine(plan.strip, "length", needed, shelf, note=f"{cuts}; {plan.proof}")


def cut_text(item: CutStrip, usable: int) -> str:
    """Say how one length of strip is cut, such as ``length of 24 ways: 9+7+5, 3 scrap``."""
    source = f"offcut of {item.ways}" if item.is_offcut else f"length of {item.ways}"
    pieces = "+".join(str(len(piece.ways)) for piece in item.pieces)
    left = f", {item.leftover} {'left' if item.leftover >= usable else 'scrap'}" if item.leftover else ""
    return f"{source} ways: {pieces}{left}"


def _wire_lines(content: Content, wire: Wire) -> Iterator[OrderLine]:
    """A reel has one colour; the metres on the shelf are counted without, and serve the colours in turn."""
    cuts: dict[WireLook, list[int]] = {}
    num_open: Counter[WireLook] = Counter()
    for run in content.runs:
        if run.wire == wire.id:
            known, length = cuts.setdefault(content.look_by_run[run.number], []), content.cut_mm_by_run[run.number]
            if length is None:
                num_open[content.look_by_run[run.number]] += 1
            else:
                known.append(length)
    shelf = Fraction(wire.stock or 0)
    for look in sorted(cuts, key=look_order):
        metres = Fraction(sum(cuts[look]), MM_PER_M)
        reels = f"sold in reels of {wire.pack} m" if wire.pack > 1 else ""
        doubt = "the shelf's metres are counted without colour: look which they have" if shelf else ""
        notes = _to_measure(num_open[look]), reels, _in_one_length(wire, max(cuts[look], default=0)), doubt
        yield OrderLine(wire, "m", metres, shelf, look, "; ".join(filter(None, notes)))
        shelf -= min(shelf, metres)


def _to_measure(number: int) -> str:
    """Say how many wires have no length yet: whoever orders adds theirs."""
    return f"{counted(number, 'wire')} to measure: not counted here, add their length" if number else ""


def _in_one_length(wire: Wire, longest_mm: int) -> str:
    """Say how long the longest piece is, rounded up to cm, where that is more than one pack."""
    if longest_mm <= wire.pack * MM_PER_M:
        return ""
    return f"the longest piece is {-(-longest_mm // 10) / 100:.2f} m: order lengths of at least that, in one piece"


def look_order(look: WireLook) -> tuple[int, int]:
    """Return the place of a colour in lists: as in the table of IEC 60757, plain ones first."""
    return COLOURS.index(look.colour), -1 if look.tracer is None else COLOURS.index(look.tracer)
