"""
parts.csv and wires.csv: what to order, and every wire with both ends.

Comes in as the Content of a plan; goes out as CSV text (UTF-8, comma, one header row). The last rows carry notice and
cautions: their first cell is ``#`` and their second the text. No cell can be taken for a formula by a spreadsheet.
``docs/drawing-conventions.md`` documents the columns.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from allocator.outputs.cautions import cautions_of
from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.strips import CutStrip
from allocator.plan.parts import MM_PER_M, bill_of_index
from allocator.plan.wiring import Run, WireEnd
from allocator.requirements.catalogue import Part

PART_COLUMNS = (
    "part", "label", "unit", "needed", "from_stock", "to_order", "packs", "ordered", "unit_price", "order_price",
    "currency", "lead_days", "note",
)  # fmt: skip
WIRE_COLUMNS = (
    "number", "kind", "from_place", "from_cavity", "from_terminal", "to_place", "to_cavity", "to_terminal", "wire",
    "area_mm2", "colour", "length_m", "circuit", "label", "feed", "note",
)  # fmt: skip
REMARK = "#"
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One part of the order; ``needed`` is in pieces, whole strip lengths, or metres of wire."""

    part: Part
    unit: str
    needed: Fraction
    note: str = ""

    @property
    def from_stock(self) -> Fraction:
        """What the shelf provides."""
        return min(Fraction(self.part.stock or 0), self.needed)

    @property
    def packs(self) -> int:
        """Packs (or reels) to order."""
        missing = self.needed - self.from_stock
        return -(-missing.numerator // (missing.denominator * self.part.pack))

    @property
    def order_cents(self) -> int:
        """Price of the packs, cents."""
        return self.packs * self.part.pack * self.part.price


def safe_cell(value: object) -> str:
    """Return a cell's text; text that a spreadsheet would run as a formula gets an apostrophe in front."""
    text = clean(str(value))
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text


def parts_csv(content: Content) -> str:
    """Return parts.csv."""
    lines = list(order_lines(content))
    currency = content.sized.requirements.catalogue.currency
    rows = [
        (
            line.part.id, line.part.label, line.unit, _number(line.needed), _number(line.from_stock),
            _number(line.needed - line.from_stock), line.packs, line.packs * line.part.pack, _money(line.part.price),
            _money(line.order_cents), currency, line.part.lead_days, line.note,
        )
        for line in lines
    ]  # fmt: skip
    placed = bill_of_index(content.index).price_cents(content.sized.price_by_part)
    total = (
        f"order value {_money(sum(line.order_cents for line in lines))} {currency} in whole packs, stock deducted; "
        f"unit prices of what is placed come to {float(placed) / 100:.2f} {currency}"
    )
    return csv_text(PART_COLUMNS, rows, [total, *remarks_of(content)])


def order_lines(content: Content) -> Iterator[OrderLine]:
    """Return every part to order, in the catalogue's order; strips as whole lengths, wire by the metre."""
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
        if wire.id in bill.wire_mm:
            note = f"sold in reels of {wire.pack} m" if wire.pack > 1 else ""
            yield OrderLine(wire, "m", Fraction(bill.wire_mm[wire.id], MM_PER_M), note)


def _counted(table: Iterable[Part], number_by_part: Mapping[str, int], notes: Mapping[str, str]) -> Iterator[OrderLine]:
    for part in table:
        if part.id in number_by_part:
            yield OrderLine(part, "piece", Fraction(number_by_part[part.id]), notes.get(part.id, ""))


def _strip_lines(content: Content) -> Iterator[OrderLine]:
    for plan in content.strip_plans:
        cuts = "; ".join(_cut_text(item, plan.usable) for item in plan.cuts)
        yield OrderLine(plan.strip, "length", Fraction(plan.cutting.num_stock), f"{cuts}; {plan.proof}")


def _cut_text(item: CutStrip, usable: int) -> str:
    source = f"offcut of {item.ways}" if item.is_offcut else f"length of {item.ways}"
    pieces = "+".join(str(len(piece.ways)) for piece in item.pieces)
    left = f", {item.leftover} {'left' if item.leftover >= usable else 'scrap'}" if item.leftover else ""
    return f"{source} ways: {pieces}{left}"


def wires_csv(content: Content) -> str:
    """Return wires.csv."""
    return csv_text(WIRE_COLUMNS, [_wire_row(content, run) for run in content.runs], remarks_of(content))


def _wire_row(content: Content, run: Run) -> tuple[object, ...]:
    areas = {wire.id: wire.area for wire in content.sized.requirements.catalogue.wires}
    need = content.sized.need_by_id.get(run.need)
    length = f"{run.length_mm / MM_PER_M:.3f}" if run.length_mm else ""
    return (
        run.number, run.role, *_end_cells(run.start), *_end_cells(run.end), run.wire, f"{areas[run.wire]:.4g}",
        content.look_by_run[run.number].code, length, run.need, need.label if need else "", run.feed, run.note,
    )  # fmt: skip


def _end_cells(end: WireEnd) -> tuple[str, str, str]:
    return end.place, end.cavity, end.terminal


def remarks_of(content: Content) -> tuple[str, ...]:
    """Return what stands at the end of every list: notice of the catalogue, plan number, cautions."""
    issue = ", ".join(filter(None, (content.issue_text, content.supersedes_text)))
    return content.sized.requirements.catalogue.notice, issue, *cautions_of(content.plan)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]], remarks: Iterable[str]) -> str:
    """
    Return a list as CSV.

    Parameters
    ----------
    columns
        Heads, one for each cell of a row.
    rows
        Cells, shape (n_rows, n_columns); none of them becomes a formula.
    remarks
        Text for the rows at the end, whose first cell is ``#``.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    padding = [""] * (len(columns) - 2)
    writer.writerows([REMARK, safe_cell(remark), *padding] for remark in remarks if remark)
    return text.getvalue()


def _number(value: Fraction) -> str:
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.3f}"


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"
