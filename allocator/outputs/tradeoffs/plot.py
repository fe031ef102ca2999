"""
The plot of trade-offs: every pair of goals, each plan with its number, the chosen one as a filled square.

Comes in as a front; goes out as SVG and PNG, the same bytes for the same front. Grey lines join what no plan beats in
the two goals alone.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from itertools import combinations
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from allocator.outputs.cautions import cautions_line
from allocator.outputs.fonts import legible
from allocator.outputs.goals import goal_name
from allocator.outputs.marks import FEED_COLOURS, INK, PALE, PAPER, SOFT
from allocator.outputs.sheet import PNG_DPI, PNG_EFFORT, style
from allocator.requirements.amounts import MORE_IS_BETTER, is_count, sense
from allocator.requirements.scenario import Goal
from allocator.requirements.shown_goals import SHOWN
from allocator.tradeoffs import Front

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CELL_IN = (3.6, 3.1)
MOST_ACROSS = 3
LETTERS_ACROSS, FOOT_LETTERS_ACROSS = 52, 80
"""Letters of a line of the title above one plot, and of the cautions below it."""
NEAR = 0.16, 0.075
"""Shares of an axis, across and upward, within which the numbers of two points would touch."""


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
        Goals of the two axes; lower is better on both, and where more is better the axis runs backwards.
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
    currency = front.members[0].plan.requirements.catalogue.currency
    ax.set_xlabel(_name(across, currency), fontsize=9)
    ax.set_ylabel(_name(upward, currency), fontsize=9)
    ax.set_xlim(*_limits(across, [x for x, _ in points]))
    ax.set_ylim(*_limits(upward, [y for _, y in points]))
    for (x, y), numbers in labels(points, ax.get_xlim(), ax.get_ylim()):
        left = x > sum(ax.get_xlim()) / 2
        ax.annotate(
            ", ".join(map(str, numbers)), (x, y), xytext=(-8 if left else 8, 5), textcoords="offset points",
            ha="right" if left else "left", fontsize=9, color=INK,
        )  # fmt: skip
    for axis, goal in ((ax.xaxis, across), (ax.yaxis, upward)):
        axis.set_major_locator(MaxNLocator(nbins=5, integer=is_count(goal)))
        if goal in MORE_IS_BETTER:
            axis.set_major_formatter(lambda place, _: f"{-place:g}")
    ax.tick_params(labelsize=8, colors=SOFT)
    ax.grid(color=PALE, linewidth=0.4)
    ax.set_axisbelow(True)


def labels(
    points: Mapping[tuple[float, float], Sequence[int]], across: tuple[float, float], upward: tuple[float, float]
) -> list[tuple[tuple[float, float], list[int]]]:
    """
    Return where numbers are written: points so near each other that their numbers would touch have one label.

    Parameters
    ----------
    points
        Numbers of the plans at each point.
    across, upward
        Limits of the two axes.

    Returns
    -------
    list
        The highest point of every group, with the numbers of all of it, from the top.
    """
    groups: list[list[tuple[float, float]]] = []
    for x, y in sorted(points, key=lambda point: -point[1]):
        near = [
            group
            for group in groups
            if any(
                abs(x - other_x) < NEAR[0] * (across[1] - across[0]) and other_y - y < NEAR[1] * (upward[1] - upward[0])
                for other_x, other_y in group
            )
        ]
        groups = [group for group in groups if group not in near]
        groups.append(sorted([point for group in near for point in group] + [(x, y)], key=lambda point: -point[1]))
    return [(group[0], [number for point in group for number in points[point]]) for group in groups]


def _limits(goal: Goal, values: Sequence[float]) -> tuple[float, float]:
    """Return the ends of an axis, with room for numbers beside the points; a count keeps whole numbers apart."""
    span = max(max(values) - min(values), 2.0 if is_count(goal) else 0.02 * max(values), 1e-9)
    middle = (max(values) + min(values)) / 2
    return middle - 0.72 * span, middle + 0.72 * span


def _at(goal: Goal, value: float) -> float:
    """Return where a value stands on its axis: a cost, in the unit that is shown."""
    return sense(goal) * value * float(SHOWN[goal].factor)


def _name(goal: Goal, currency: str) -> str:
    if goal in MORE_IS_BETTER:
        return f"{goal_name(goal)} (more is better)"
    unit = currency if goal == "price" else SHOWN[goal].unit
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
    figure = Figure(figsize=(CELL_IN[0] * across, CELL_IN[1] * down + 1.3), layout="constrained")
    backwards = [goal_name(axis.goal) for axis in front.axes if axis.goal in MORE_IS_BETTER]
    key = (
        "number: plan (of points that touch, from the top); filled square: the chosen plan; lower left is better"
        f"{f' ({backwards[0]} run backwards)' if backwards else ''}; grey line: what no plan beats in the two"
    )
    text = "\n".join([title, *textwrap.wrap(key, LETTERS_ACROSS * across)])
    figure.suptitle(text, fontsize=9, color=INK)
    notice = front.members[0].plan.requirements.catalogue.notice
    foot = textwrap.wrap(f"{legible(notice)} {cautions_line()}", FOOT_LETTERS_ACROSS * across)
    figure.supxlabel("\n".join(foot), x=0.01, ha="left", fontsize=6, color=INK)
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
