"""
The plot of trade-offs: every pair of goals, each plan with its number, the chosen one as a filled square.

Comes in as a front; goes out as SVG and PNG, the same bytes for the same front. Grey lines join what no plan beats in
the two goals alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from allocator.outputs.goals import goal_name
from allocator.outputs.marks import FEED_COLOURS, INK, PALE, PAPER, SOFT
from allocator.outputs.sheet import PNG_DPI, PNG_EFFORT, style
from allocator.requirements.amounts import MM3_PER_G, is_count
from allocator.requirements.scenario import Goal
from allocator.tradeoffs import Front

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CELL_IN = (3.6, 3.1)
MOST_ACROSS = 3
_SCALE: dict[Goal, tuple[str, float]] = {
    "peak-utilisation": ("%", 100.0),
    "price": ("", 1 / 100),
    "footprint": ("cm²", 1 / 100),
    "wire-length": ("m", 1 / 1000),
    "copper": ("kg", 1 / float(MM3_PER_G) / 1000),
}


def plot_pair(ax: Axes, front: Front, across: Goal, upward: Goal) -> None:
    """
    Draw all plans by two of their goals into axes.

    Parameters
    ----------
    ax
        Axes of the drawing library; gets limits, names and ticks.
    front
        The plans.
    across, upward
        Goals of the two axes; lower is better on both.
    """
    points: dict[tuple[float, float], list[int]] = {}
    for number, member in enumerate(front.members, 1):
        place = _at(across, float(member.values[across])), _at(upward, float(member.values[upward]))
        points.setdefault(place, []).append(number)
    edge = _edge(list(points))
    ax.step([x for x, _ in edge], [y for _, y in edge], where="post", color=PALE, linewidth=1.2, zorder=1)
    for (x, y), numbers in points.items():
        chosen = 1 in numbers
        ax.plot(
            [x], [y], marker="s" if chosen else "o", markersize=9 if chosen else 7,
            markerfacecolor=FEED_COLOURS[6] if chosen else PAPER, markeredgecolor=INK, linestyle="none", zorder=3,
        )  # fmt: skip
        ax.annotate(
            ", ".join(map(str, numbers)), (x, y), xytext=(7, 6), textcoords="offset points", fontsize=9, color=INK
        )
    currency = front.members[0].plan.requirements.catalogue.currency
    ax.set_xlabel(_name(across, currency), fontsize=9)
    ax.set_ylabel(_name(upward, currency), fontsize=9)
    ax.margins(0.22)
    for axis, goal in ((ax.xaxis, across), (ax.yaxis, upward)):
        axis.set_major_locator(MaxNLocator(nbins=5, integer=is_count(goal)))
    ax.tick_params(labelsize=8, colors=SOFT)
    ax.grid(color=PALE, linewidth=0.4)
    ax.set_axisbelow(True)


def _at(goal: Goal, value: float) -> float:
    return value * _SCALE[goal][1] if goal in _SCALE else value


def _name(goal: Goal, currency: str) -> str:
    unit = currency if goal == "price" else _SCALE.get(goal, ("", 1.0))[0]
    return f"{goal_name(goal)}, {unit}" if unit else goal_name(goal)


def _edge(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the points that none beats in the two goals, from left to right."""
    edge: list[tuple[float, float]] = []
    for point in sorted(points):
        if not edge or point[1] < edge[-1][1]:
            edge.append(point)
    return edge


def plotted(front: Front, title: str) -> Figure:
    """Return the figure of all pairs."""
    pairs = list(combinations([axis.goal for axis in front.axes], 2)) or [(front.axes[0].goal,) * 2]
    across = min(MOST_ACROSS, len(pairs))
    down = ceil(len(pairs) / across)
    figure = Figure(figsize=(CELL_IN[0] * across, CELL_IN[1] * down + 0.9), layout="constrained")
    key = "number: plan; filled square: the chosen plan; lower left is better; grey line: what no plan beats in the two"
    figure.suptitle(f"{title}\n{key}", fontsize=9 if across > 1 else 6, color=INK)
    for number, (one, other) in enumerate(pairs, 1):
        plot_pair(figure.add_subplot(down, across, number), front, one, other)
    return figure


def save_plot(front: Front, title: str, svg: Path, png: Path) -> None:
    """Write the plot as SVG and PNG, without dates."""
    with style():
        figure = plotted(front, title)
        vector: Any = FigureCanvasSVG(figure)
        vector.print_svg(svg, metadata={"Date": None, "Creator": None})
        figure = plotted(front, title)
        canvas: Any = FigureCanvasAgg(figure)
        figure.set_dpi(PNG_DPI)
        canvas.print_png(png, metadata={"Software": None}, pil_kwargs={"compress_level": PNG_EFFORT})
