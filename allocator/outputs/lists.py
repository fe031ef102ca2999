"""
parts.csv and wires.csv: what to order, and every wire with both ends.

Comes in as the Content of a plan; goes out as typed lists and as CSV text. ``docs/drawing-conventions.md`` documents
the columns.
"""

from __future__ import annotations

from fractions import Fraction

from allocator.outputs.cautions import cautions_of
from allocator.outputs.content import Content
from allocator.outputs.order import order_records, order_value_text
from allocator.outputs.records import Cell, Records, columns_of, records_csv
from allocator.plan.wiring import Run, WireEnd
from allocator.units import MM_PER_M

WIRE_COLUMNS = columns_of(
    "number", "kind", "from_place", "from_cavity", "from_terminal", "to_place", "to_cavity", "to_terminal", "wire",
    "area_mm2", "colour", "length_m", "cut_m", "circuit", "label", "feed", "note",
    length_m=3, cut_m=3,
)  # fmt: skip


def parts_csv(content: Content) -> str:
    """Return parts.csv."""
    return records_csv(order_records(content), [order_value_text(content), *remarks_of(content)])


def wires_csv(content: Content) -> str:
    """Return wires.csv."""
    return records_csv(wire_records(content), remarks_of(content))


def wire_records(content: Content) -> Records:
    """Return every wire with both ends as a list."""
    return Records("wires", WIRE_COLUMNS, tuple(_wire_row(content, run) for run in content.runs))


def _wire_row(content: Content, run: Run) -> tuple[Cell, ...]:
    areas = {wire.id: wire.area for wire in content.sized.requirements.catalogue.wires}
    need = content.sized.need_by_id.get(run.need)
    cut_mm = content.cut_mm_by_run[run.number]
    return (
        run.number, run.role, *_end_cells(run.start), *_end_cells(run.end), run.wire, areas[run.wire],
        content.look_by_run[run.number].code, _metres(run.length_mm), _metres(cut_mm), run.need,
        need.label if need else "", run.feed, run.note,
    )  # fmt: skip


def _metres(length_mm: int | None) -> Fraction | None:
    return Fraction(length_mm, MM_PER_M) if length_mm else None


def _end_cells(end: WireEnd) -> tuple[str, str, str]:
    return end.place, end.cavity, end.terminal


def remarks_of(content: Content) -> tuple[str, ...]:
    """Return what stands at the end of every list: notice of the catalogue, plan number, cautions."""
    issue = ", ".join(filter(None, (content.issue_text, content.supersedes_text)))
    return content.sized.requirements.catalogue.notice, issue, *cautions_of(content.plan)
