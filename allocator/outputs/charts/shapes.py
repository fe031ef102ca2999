"""
The shapes of a chart in its own units, painted either on a sheet or into axes of the drawing library.

Comes in as blocks and strokes in data units with scales; goes out as marks on a Sheet (mm) or as artists of an ``ax``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from allocator.outputs.marks import INK
from allocator.outputs.paper import Box, Paper
from allocator.outputs.sheet import HATCH_PT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Rectangle


@dataclass(frozen=True, slots=True)
class Look:
    """How a shape is drawn: colours, pattern in the drawing library's notation, weight in points."""

    fill: str | None = None
    edge: str | None = INK
    pattern: str = ""
    stroke: str = INK
    weight: float = 0.6
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle in data units."""

    left: float
    right: float
    low: float
    high: float
    look: Look


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points in data units."""

    points: tuple[tuple[float, float], ...]
    look: Look


Shape = Block | Stroke


@dataclass(frozen=True, slots=True)
class Scale:
    """
    Where values lie along one edge of a chart.

    ``least`` and ``most`` are the values at ``start`` and ``end``, mm; what lies beyond is put at the nearer end.
    """

    least: float
    most: float
    start: float
    end: float
    logarithmic: bool = False

    def at(self, value: float) -> float:
        """Return the place of a value, mm."""
        share = min(max(self._share(value), 0.0), 1.0)
        return self.start + share * (self.end - self.start)

    def _share(self, value: float) -> float:
        if not self.logarithmic:
            return (value - self.least) / (self.most - self.least)
        return math.log(max(value, self.least) / self.least) / math.log(self.most / self.least)


def paint(sheet: Paper, shapes: Iterable[Shape], across: Scale, upward: Scale) -> None:
    """Draw shapes on a sheet, the first one at the bottom of the pile."""
    for shape in shapes:
        if isinstance(shape, Block):
            left, right = across.at(shape.left), across.at(shape.right)
            low, high = upward.at(shape.low), upward.at(shape.high)
            if right > left and high != low:
                look = shape.look
                sheet.rectangle(
                    Box(left, min(low, high), right - left, abs(high - low)), fill=look.fill, edge=look.edge,
                    pattern=look.pattern, stroke=look.stroke, weight=look.weight, dashed=look.dashed,
                )  # fmt: skip
        else:
            points = [(across.at(x), upward.at(y)) for x, y in shape.points]
            look = shape.look
            sheet.line(points, colour=look.edge or INK, weight=look.weight, dashed=look.dashed)


def plot(ax: Axes, shapes: Sequence[Shape]) -> None:
    """Add shapes to axes of the drawing library, whose scales and limits are the caller's."""
    from matplotlib.lines import Line2D

    for order, shape in enumerate(shapes, 2):
        look = shape.look
        style: Any = (0, (3, 2)) if look.dashed else "solid"
        if isinstance(shape, Block):
            patch = patch_of(look)
            patch.set_bounds(shape.left, shape.low, shape.right - shape.left, shape.high - shape.low)
            patch.set_zorder(order)
            ax.add_patch(patch)
        else:
            xs, ys = zip(*shape.points, strict=True)
            ax.add_line(Line2D(xs, ys, color=look.edge or INK, linewidth=look.weight, linestyle=style, zorder=order))


def patch_of(look: Look, label: str = "") -> Rectangle:
    """Return a rectangle of the drawing library with a look, for axes or for their legend."""
    from matplotlib.patches import Rectangle

    style: Any = (0, (3, 2)) if look.dashed else "solid"
    patch = Rectangle(
        (0, 0), 1, 1, facecolor=look.fill or "none", edgecolor=look.edge or "none", linewidth=look.weight,
        linestyle=style, hatch=look.pattern or None, hatchcolor=look.stroke, label=label,
    )  # fmt: skip
    patch.set_hatch_linewidth(HATCH_PT)
    return patch
