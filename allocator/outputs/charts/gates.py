"""
A fuse's published operating-time gates with the start of its load, current against time.

A fuse and an inrush come in; shapes in amperes and seconds go out. A gate is drawn as what it is, the span of time in
which the fuse opens at one current; between gates nothing is drawn, because nothing is published.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from allocator.figures import PUBLISHED, Figures
from allocator.outputs.charts.shapes import Block, Look, Shape, Stroke, plot
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.marks import PALE, SOFT, WASH
from allocator.sizing.fuses import melting_a2s, opening_time_s
from allocator.sizing.inrush import Inrush, evidence, opens_at_start

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LEAST_S, MOST_S = 1e-3, 1e6
"""Span of the time scale, s."""
TIMES_S = ((1e-3, "1 ms"), (1e-2, "10 ms"), (0.1, "0.1 s"), (1.0, "1 s"), (10.0, "10 s"), (100.0, "100 s"),
           (1e3, "1000 s"), (3600.0 * 10, "10 h"), (360_000.0, "100 h"))  # fmt: skip
"""Grid lines of the time scale with their names."""
LEAST_SHARE, MOST_SHARE = 0.35, 9.0
"""Span of the current scale, as shares of the rating; wider where a load asks for it."""
BEYOND = 1.25
SHOWN_SHARES = (1.0, 2.0, 3.5, 6.0)
"""Shares of the rating at which the scale names a current: the rating, and gates that lie far enough apart."""
LOAD = "#d55e00"
GATE_HALF, CAP_HALF = 1.035, 1.075
"""Half of the width of a gate and of its end, as ratios on the logarithmic scale."""
_GATE = Look(fill=SOFT, weight=0.5)
_OPEN_GATE = Look(fill=WASH, edge=SOFT, weight=0.5, dashed=True)
_CAP = Look(weight=1.1)
_GRID = Look(edge=PALE, weight=0.35)
_START = Look(edge=LOAD, weight=1.7)
_STALL = Look(edge=LOAD, weight=1.0, dashed=True)


@dataclass(frozen=True, slots=True)
class GateChart:
    """One fuse with the start of its load."""

    fuse_format: str
    rating_a: float
    inrush: Inrush
    figures: Figures = PUBLISHED

    @property
    def span_a(self) -> tuple[float, float]:
        """Least and largest current of the scale, A."""
        currents = [self.inrush.steady_a, self.inrush.peak_a, self.inrush.stall_a or self.inrush.peak_a]
        least = min(LEAST_SHARE * self.rating_a, min(currents) / BEYOND)
        return least, max(MOST_SHARE * self.rating_a, max(currents) * BEYOND)

    @property
    def gates(self) -> Sequence[tuple[float, float | None, float | None]]:
        """Current, A, earliest and latest time, s, of every published gate of the type, the lowest current first."""
        gates = self.figures.fuse_gates.value.get(self.fuse_format, {})
        return [(percent / 100 * self.rating_a, *gates[percent]) for percent in sorted(gates)]

    def shapes(self) -> Iterator[Shape]:
        """Yield grid, gates and load in amperes and seconds."""
        least, most = self.span_a
        for time, _ in TIMES_S:
            yield Stroke(((least, time), (most, time)), _GRID)
        for current, earliest, latest in self.gates:
            yield from _gate(current, earliest, latest)
        start = self.inrush
        corner = ((start.peak_a, LEAST_S), (start.peak_a, start.time_s), (start.steady_a, start.time_s))
        yield Stroke((*corner, (start.steady_a, MOST_S)), _START)
        if start.stall_a is not None:
            yield Stroke(((start.stall_a, LEAST_S), (start.stall_a, MOST_S)), _STALL)

    @property
    def is_shown(self) -> bool:
        """Whether a published figure shows that the fuse stays whole."""
        return evidence(self.fuse_format, self.rating_a, self.inrush, self.figures) != "none"

    def verdict(self) -> str:
        """Say what shows that the fuse stays whole at the start, or that nothing does."""
        start = self.inrush
        shown = evidence(self.fuse_format, self.rating_a, start, self.figures)
        if shown == "gate":
            earliest_s = opening_time_s(self.fuse_format, self.rating_a, start.peak_a, self.figures)[0]
            if math.isinf(earliest_s):
                return "stays whole: the start is within its rating"
            return f"stays whole: opens after {time_text(earliest_s)} at the earliest"
        if shown == "melting":
            melting = melting_a2s(self.fuse_format, self.rating_a, self.figures)
            return f"stays whole: {start.peak_a**2 * start.time_s:.3g} A²s of the {melting:g} A²s that melt it"
        if opens_at_start(self.fuse_format, self.rating_a, start, self.figures):
            return "opens during the start: take a larger one"
        return "not shown to stay whole: try it"

    def stall_verdict(self) -> str:
        """Say by when the fuse opens while a motor is held fast; empty for other loads."""
        if self.inrush.stall_a is None:
            return ""
        latest_s = opening_time_s(self.fuse_format, self.rating_a, self.inrush.stall_a, self.figures)[1]
        by_when = "opens within no published time" if math.isinf(latest_s) else f"opens within {time_text(latest_s)}"
        return f"held fast at {amperes(self.inrush.stall_a)}: {by_when}"


def plot_gates(ax: Axes, chart: GateChart) -> None:
    """
    Draw one fuse with the start of its load into axes.

    Parameters
    ----------
    ax
        Axes of the drawing library; gets logarithmic scales, limits, names and a title.
    chart
        The fuse and the start.
    """
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xlim(*chart.span_a)
    currents = [share * chart.rating_a for share in SHOWN_SHARES]
    ax.set_xticks(currents, [f"{current:.3g}" for current in currents])
    ax.minorticks_off()
    ax.set_ylim(LEAST_S, MOST_S)
    ax.set_xlabel("current, A")
    ax.set_ylabel("time, s")
    ax.set_title(f"{chart.rating_a:g} A type {chart.fuse_format}: {chart.verdict()}", fontsize="medium")
    plot(ax, list(chart.shapes()))


def amperes(current_a: float) -> str:
    """Return a current as charts write it."""
    return f"{current_a:.3g}{NO_BREAK}A"


def time_text(time_s: float) -> str:
    """Return a time as a builder says it: ``5 ms``, ``0.15 s``, ``100 h``."""
    if time_s < 0.1:
        return f"{time_s * 1000:g}{NO_BREAK}ms"
    if time_s >= 36_000:
        return f"{time_s / 3600:g}{NO_BREAK}h"
    return f"{time_s:g}{NO_BREAK}s"


def _gate(current: float, earliest: float | None, latest: float | None) -> Iterator[Shape]:
    """Yield the bar of one gate; an end of which nothing is published has no cap and a broken outline."""
    low, high = LEAST_S if earliest is None else earliest, MOST_S if latest is None else latest
    is_open = earliest is None or latest is None
    yield Block(current / GATE_HALF, current * GATE_HALF, low, high, _OPEN_GATE if is_open else _GATE)
    for time in (earliest, latest):
        if time is not None:
            yield Stroke(((current / CAP_HALF, time), (current * CAP_HALF, time)), _CAP)
