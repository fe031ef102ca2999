"""
The bench documents, and the one to build from: steps, what to cut and crimp, the wiring side, what to order.

Comes in as the Content of a plan; goes out as finished Sheets.
"""

from __future__ import annotations

from collections.abc import Mapping

from allocator.outputs.book import Book
from allocator.outputs.content import Content
from allocator.outputs.crimps import crimp_lines
from allocator.outputs.fonts import legible
from allocator.outputs.order import order_lines, order_value_text
from allocator.outputs.records import number_text
from allocator.outputs.sheet import A4_MM, Sheet
from allocator.outputs.tables import Table
from allocator.outputs.titleblock import BENCH_FOOT
from allocator.outputs.workshop.cavities import cavities_table
from allocator.outputs.workshop.cutting import strips_table, wire_cuts_table, wire_kinds_table
from allocator.outputs.workshop.labels import label_sheets
from allocator.outputs.workshop.legend import legend_sheets
from allocator.outputs.workshop.steps import steps_table
from allocator.outputs.workshop.testing import testing_sheets

CENTS = 100


def bench_documents(content: Content) -> Mapping[str, tuple[Sheet, ...]]:
    """Return every document for the bench, by the name of its file."""
    return {
        "build": build_sheets(content),
        "legend": legend_sheets(content),
        "labels": label_sheets(content),
        "tests": testing_sheets(content),
    }


def build_sheets(content: Content) -> tuple[Sheet, ...]:
    """Return the sheets for the bench."""
    book = Book(content, A4_MM, "build", BENCH_FOOT)
    tables = (
        steps_table(content), strips_table(content), crimps_table(content), wire_kinds_table(content),
        wire_cuts_table(content), cavities_table(content), order_table(content),
    )  # fmt: skip
    for table in tables:
        book.add(table)
    return book.finish()


def crimps_table(content: Content) -> Table:
    """Return how many crimps of each kind there are on which wires, with the sign that drawings have for the kind."""
    columns = ("kind", "terminal", "label", "fits", "on wire", "crimps")
    rows = [
        (
            content.letter_by_terminal[line.terminal], legible(line.terminal), legible(line.label),
            f"{line.kind} {line.fits}", " with ".join(line.sizes), str(line.count),
        )
        for line in crimp_lines(content)
    ]  # fmt: skip
    return Table("Terminals to crimp", columns, tuple(rows), right=("crimps",))


def order_table(content: Content) -> Table:
    """Return the order, its value in the last row."""
    price = legible(f"price, {content.sized.requirements.catalogue.currency}")
    columns = ("part", "label", "colour", "needed", "from stock", "packs", "ordered", price, "days", "note")
    rows = [
        (
            legible(line.part.id), legible(line.part.label), line.look.code if line.look else "",
            f"{number_text(line.needed)} {'m' if line.unit == 'm' else ''}".strip(), number_text(line.from_stock),
            f"{line.packs} x {line.part.pack}" if line.packs else "", str(line.packs * line.part.pack),
            f"{line.order_cents / CENTS:.2f}", str(line.part.lead_days or ""), legible(line.note),
        )
        for line in order_lines(content)
    ]  # fmt: skip
    total = ("in all", legible(order_value_text(content)), *[""] * (len(columns) - 2))
    numbers = ("needed", "from stock", "packs", "ordered", price, "days")
    return Table("Parts to order", columns, (*rows, total), right=numbers)
