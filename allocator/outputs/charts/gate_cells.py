"""
Small multiples of fuse gates: one cell for every circuit whose load starts with more than its steady current.

Comes in as the Content of a plan; goes out as a Listing whose rows hold as many cells as the width has room for.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from allocator.outputs.charts.gates import LEAST_S, MOST_S, SHOWN_SHARES, TIMES_S, GateChart, amperes, time_text
from allocator.outputs.charts.shapes import Scale, paint
from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.marks import INK, PALE, PAPER, SOFT
from allocator.outputs.paper import Box, Paper
from allocator.plan.index import NeedAt
from allocator.sizing.current import design_current_a
from allocator.sizing.inrush import inrush_of

CELL_MM, CELL_GAP_MM = 58.0, 6.0
LABEL_MM, FACTS_MM, PLOT_MM, AMPERES_MM, VERDICT_MM, ROW_GAP_MM = 6.6, 3.2, 34.0, 3.4, 6.4, 3.4
TIME_MM, TIME_TEXT_MM = 9.5, 2.8
HEAD_MM = 11.0


@dataclass(frozen=True, slots=True)
class _Cell:
    item: NeedAt
    chart: GateChart


@dataclass(frozen=True)
class GateCells:
    """The fuse gates of a plan, as rows of cells that pages can be cut from."""

    content: Content

    @property
    def title(self) -> str:
        """Title."""
        return "Fuses at the start of their loads"

    @property
    def head_mm(self) -> float:
        """Height of the key, mm."""
        return HEAD_MM

    @cached_property
    def cells(self) -> tuple[_Cell, ...]:
        """Every circuit with an inrush, in listing order."""
        requirements = self.content.sized.requirements
        circuits = {circuit.id: circuit for circuit in requirements.circuits}
        found = []
        for item in self.content.index.needs:
            circuit = circuits.get(item.need.id) if item.need.kind == "circuit" else None
            if circuit is None or item.option.fuse_format is None:
                continue
            steady_a = design_current_a(
                circuit.load, circuit.load_type, requirements.scenario.vehicle, requirements.figures
            )
            inrush = inrush_of(circuit, steady_a, requirements.figures)
            if inrush is not None:
                chart = GateChart(item.option.fuse_format, item.option.fuse_rating_a, inrush, requirements.figures)
                found.append(_Cell(item, chart))
        return tuple(found)

    def side_by_side(self, width_mm: float) -> int:
        """Return how many parts go beside each other: one."""
        return 1

    def heights(self, width_mm: float) -> tuple[float, ...]:
        """Return the height of every row of cells, mm."""
        row = LABEL_MM + FACTS_MM + PLOT_MM + AMPERES_MM + VERDICT_MM + ROW_GAP_MM
        return (row,) * -(-len(self.cells) // self._across(width_mm))

    def draw_head(self, sheet: Paper, box: Box) -> None:
        """Draw the key."""
        text = (
            "A bar is a gate: at this current the fuse opens within this span of time; a broken bar is open where "
            "nothing is published. Between gates nothing is published, so nothing is drawn. Solid line: the load, from "
            "its start to its steady current. Broken line: a motor that is held fast. A start that ends below the next "
            "gate to its right leaves the fuse whole. Currents and times have logarithmic scales."
        )
        sheet.text(Box(box.x, box.y, box.w, box.h - 1.5), text, size=7, middle=False, max_lines=4, colour=SOFT)

    def draw_row(self, sheet: Paper, number: int, box: Box) -> None:
        """Draw one row of cells."""
        across = self._across(box.w)
        width = (box.w - (across - 1) * CELL_GAP_MM) / across
        for place, cell in enumerate(self.cells[number * across : (number + 1) * across]):
            at = Box(box.x + place * (width + CELL_GAP_MM), box.y, width, box.h - ROW_GAP_MM)
            _CellDrawing(sheet, self.content, cell, at).draw()

    @staticmethod
    def _across(width_mm: float) -> int:
        return max(1, int((width_mm + CELL_GAP_MM) // (CELL_MM + CELL_GAP_MM)))


class _CellDrawing:
    """Draws one cell: label, facts, gates with the load, verdict."""

    def __init__(self, sheet: Paper, content: Content, cell: _Cell, box: Box) -> None:
        self.sheet, self.content, self.cell, self.box = sheet, content, cell, box
        top = box.y + LABEL_MM + FACTS_MM
        self.plot = Box(box.x + TIME_MM, top, box.w - TIME_MM, PLOT_MM)
        least, most = cell.chart.span_a
        self.across = Scale(least, most, self.plot.x, self.plot.right, logarithmic=True)
        self.upward = Scale(LEAST_S, MOST_S, self.plot.bottom, self.plot.y, logarithmic=True)

    def draw(self) -> None:
        """Draw the cell."""
        box, chart = self.box, self.cell.chart
        label = self.content.label(self.cell.item.need)
        self.sheet.text(Box(box.x, box.y, box.w, LABEL_MM), label, size=8, bold=True, max_lines=2, smallest=6)
        self.sheet.text(Box(box.x, box.y + LABEL_MM, box.w, FACTS_MM), self._facts(), size=7, colour=SOFT)
        self.sheet.rectangle(self.plot, fill=PAPER, edge=None)
        paint(self.sheet, chart.shapes(), self.across, self.upward)
        self.sheet.rectangle(self.plot, edge=INK, weight=0.6)
        self._names()
        below = Box(box.x, self.plot.bottom + AMPERES_MM, box.w, VERDICT_MM)
        self._verdict(below)

    def _facts(self) -> str:
        chart = self.cell.chart
        start = chart.inrush
        fuse = f"{chart.rating_a:g}{NO_BREAK}A {chart.fuse_format}"
        return f"{fuse}; {amperes(start.steady_a)}, starts with {amperes(start.peak_a)} for {time_text(start.time_s)}"

    def _names(self) -> None:
        """Write times beside the plot, currents under it."""
        for time, name in TIMES_S[::2]:
            y = self.upward.at(time) - TIME_TEXT_MM / 2
            y = min(max(y, self.plot.y), self.plot.bottom - TIME_TEXT_MM)
            at = Box(self.box.x, y, TIME_MM - 0.8, TIME_TEXT_MM)
            self.sheet.text(at, name, size=6, colour=SOFT, align="right")
        for share in SHOWN_SHARES:
            current = share * self.cell.chart.rating_a
            x = self.across.at(current)
            self.sheet.line([(x, self.plot.bottom), (x, self.plot.bottom + 0.7)], weight=0.5)
            at = Box(x - 4.6, self.plot.bottom + 0.8, 9.2, AMPERES_MM - 0.8)
            self.sheet.text(at, amperes(current), size=6, colour=SOFT, align="centre")
        if not self.cell.chart.gates:
            at = Box(self.plot.x + 1, self.plot.y + 1, self.plot.w - 2, 3.4)
            self.sheet.rectangle(at, fill=PAPER, edge=None)
            self.sheet.text(at, f"no gates published for type {self.cell.chart.fuse_format}", size=7, colour=SOFT)

    def _verdict(self, box: Box) -> None:
        chart = self.cell.chart
        shown, stall = chart.verdict(), chart.stall_verdict()
        half = box.h / 2
        self.sheet.text(Box(box.x, box.y, box.w, half), shown, size=7, bold=not chart.is_shown)
        if stall:
            self.sheet.text(Box(box.x, box.y + half, box.w, half), stall, size=7)
        self.sheet.line([(self.box.x, box.bottom + 0.8), (self.box.right, box.bottom + 0.8)], colour=PALE, weight=0.3)
