"""
The chart of drops: what every circuit loses between the supply and its load, part by part, against what it may lose.

Comes in as the Content of a plan; goes out as a Listing with one row for each circuit. All rows share one scale, per
cent of the nominal voltage.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from allocator.outputs.charts.shapes import Block, Look, Scale, Shape, Stroke, paint, patch_of, plot
from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK, drawable
from allocator.outputs.marks import PALE, PAPER, SOFT, WASH
from allocator.outputs.paper import Box, Paper
from allocator.plan.drops import Drop, drops
from allocator.plan.index import NeedAt

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEAD_MM, ROW_MM = 11.0, 6.2
NAME_SHARE, VALUE_MM = 0.24, 62.0
BEYOND = 1.05
LEAST_PERCENT = 3.0
RUN = "#d3dade"
"""None of the colours of feeds, which stand on the same sheets."""
PARTS: Mapping[str, tuple[str, Look]] = {
    "cables_v": ("cables of its feeds", Look(fill=SOFT, weight=0.4)),
    "panel_v": ("tails and jumper in the panel", Look(fill=PAPER, pattern="||||", weight=0.4)),
    "run_v": ("run to the load", Look(fill=RUN, weight=0.4)),
    "return_v": ("wire back", Look(fill=RUN, pattern="////", weight=0.4)),
}
"""Parts of the way from the supply to the load and back, with their names and looks."""
_LIMIT, _LIMIT_EDGE = Look(weight=1.8), Look(edge=PAPER, weight=3.8)
"""The mark of the limit, and the edge of paper around it that shows it on a bar of any shade."""
_BAR = (0.22, 0.78)
"""Lower and upper edge of a bar within its row of height 1."""


def drop_shapes(drop: Drop, nominal_v: float, row: float = 0.0) -> Iterator[Shape]:
    """Yield the bar of one circuit and the mark of its limit, in per cent of the nominal voltage and rows."""
    left = 0.0
    for name, (_, look) in PARTS.items():
        right = left + 100 * getattr(drop, name) / nominal_v
        if right > left:
            yield Block(left, right, row + _BAR[0], row + _BAR[1], look)
        left = right
    limit = 100 * drop.limit_v / nominal_v
    for look in (_LIMIT_EDGE, _LIMIT):
        yield Stroke(((limit, row + 0.06), (limit, row + 0.94)), look)


def plot_drops(ax: Axes, found: Sequence[Drop], nominal_v: float) -> None:
    """
    Draw the drops of circuits into axes, the first one on top.

    Parameters
    ----------
    ax
        Axes of the drawing library; gets limits, names and ticks.
    found
        What circuits lose (``plan.drops``).
    nominal_v
        Nominal voltage, V.
    """
    shapes = [shape for row, drop in enumerate(reversed(found)) for shape in drop_shapes(drop, nominal_v, row)]
    ax.set_xlim(0, _most_percent(found, nominal_v))
    ax.set_ylim(0, len(found))
    ax.set_yticks([row + 0.5 for row in range(len(found))], [drop.circuit for drop in reversed(found)])
    ax.set_xlabel("drop, % of the nominal voltage\n(heavy stroke: what is allowed)")
    plot(ax, shapes)
    handles = [patch_of(look, words) for words, look in PARTS.values()]
    ax.legend(handles=handles, fontsize="small", ncols=2, loc="lower left", bbox_to_anchor=(0, 1))


def _most_percent(found: Sequence[Drop], nominal_v: float) -> float:
    largest = max((max(drop.total_v, drop.limit_v) for drop in found), default=0.0)
    return max(LEAST_PERCENT, 100 * largest / nominal_v) * BEYOND


@dataclass(frozen=True)
class DropRows:
    """The drops of a plan, as rows that pages can be cut from."""

    content: Content

    @property
    def title(self) -> str:
        """Title."""
        return "Drop along the runs"

    @property
    def head_mm(self) -> float:
        """Height of key and scale, mm."""
        return HEAD_MM

    @cached_property
    def drops(self) -> tuple[Drop, ...]:
        """What every circuit loses, in listing order."""
        return drops(self.content.index)

    @property
    def _nominal_v(self) -> float:
        return self.content.sized.requirements.scenario.vehicle.nominal_voltage

    def _item(self, drop: Drop) -> NeedAt:
        return self.content.index.need_by_id[drop.circuit]

    def _scale(self, box: Box) -> Scale:
        return Scale(0.0, _most_percent(self.drops, self._nominal_v), box.x + NAME_SHARE * box.w, box.right - VALUE_MM)

    def side_by_side(self, width_mm: float) -> int:
        """Return how many parts go beside each other: one."""
        return 1

    def heights(self, width_mm: float) -> tuple[float, ...]:
        """Return the height of every row, mm."""
        return (ROW_MM,) * len(self.drops)

    def draw_head(self, sheet: Paper, box: Box) -> None:
        """Draw the key and the scale."""
        at = Box(box.x, box.y, box.w, 4.4)
        x = at.x
        for words, look in PARTS.values():
            sheet.rectangle(
                Box(x, at.y + 0.8, 6, 2.8), fill=look.fill, pattern=look.pattern, stroke=look.stroke, weight=look.weight
            )
            room = Box(x + 7, at.y, at.w / 5 - 8, at.h)
            sheet.text(room, words, size=7)
            x += at.w / 5
        sheet.line([(x + 3, at.y + 0.4), (x + 3, at.bottom - 0.4)], weight=_LIMIT.weight)
        sheet.text(Box(x + 7, at.y, at.w / 5 - 8, at.h), "what it may lose", size=7)
        scale = self._scale(box)
        for percent in self._ticks():
            tick = Box(scale.at(percent) - 6, box.y + 6.2, 12, 3.4)
            sheet.text(tick, f"{percent:g}{NO_BREAK}%", size=6.5, colour=SOFT, align="centre")
        sheet.text(Box(box.x, box.y + 6.2, NAME_SHARE * box.w - 7, 3.4), "circuit", size=6.5, colour=SOFT)

    def _ticks(self) -> Iterator[float]:
        most = _most_percent(self.drops, self._nominal_v)
        step = next((step for step in (1, 2, 5, 10, 20) if most / step <= 8), 50)
        yield from (step * number for number in range(int(most // step) + 1))

    def draw_row(self, sheet: Paper, number: int, box: Box) -> None:
        """Draw one circuit: its label, its bar with the limit, its volts."""
        drop = self.drops[number]
        scale = self._scale(box)
        field = Box(scale.start, box.y, scale.end - scale.start, box.h)
        sheet.rectangle(field, fill=WASH, edge=None)
        for percent in self._ticks():
            sheet.line([(scale.at(percent), field.y), (scale.at(percent), field.bottom)], colour=PALE, weight=0.35)
        paint(sheet, drop_shapes(drop, self._nominal_v), scale, Scale(0, 1, box.bottom, box.y))
        label = Box(box.x, box.y + 0.2, NAME_SHARE * box.w - 2, box.h - 0.4)
        sheet.text(
            label, self.content.label(self._item(drop).need), size=7.5, smallest=5, bold=drop.is_over, max_lines=2
        )
        half = (box.h - 0.4) / 2
        for line, text in enumerate(self._amounts(drop)):
            at = Box(scale.end + 2, box.y + 0.2 + line * half, VALUE_MM - 2, half)
            sheet.text(at, text, size=6.5, bold=drop.is_over)
        sheet.line([(box.x, box.bottom), (box.right, box.bottom)], colour=PALE, weight=0.3)

    def _amounts(self, drop: Drop) -> tuple[str, str]:
        parts = [volts for name in PARTS if (volts := getattr(drop, name))]
        sums, total = " + ".join(f"{volts:.2f}" for volts in parts), f"{drop.total_v:.2f}"
        adds_up = sum(Fraction(f"{volts:.2f}") for volts in parts) == Fraction(total)  # each is rounded alone
        equals = "=" if adds_up else "≈"
        share, limit = (100 * volts / self._nominal_v for volts in (drop.total_v, drop.limit_v))
        over = "too much: " if drop.is_over else ""
        return (
            f"{sums} {equals} {total}{NO_BREAK}V in {drawable(drop.case, drop.circuit)}",
            f"{over}{share:.2f}{NO_BREAK}% of {limit:.3g}{NO_BREAK}%, {drop.limit_v:.2f}{NO_BREAK}V",
        )
