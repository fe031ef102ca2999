"""
What a larger problem costs: time and memory against circuits, feeds, module types and load cases, one at a time.

``grown.py`` measures; here it becomes a table and a plot with two logarithmic axes, on which a cost that grows with a
power of the size is a straight line. Its slope is the power.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import pairwise
from math import log
from pathlib import Path
from statistics import linear_regression, median

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import NullFormatter, NullLocator

from tests.benchmarks.grown import AXES, USUAL, measure
from tests.benchmarks.results import Row
from tests.benchmarks.section import Section, Task, table

PICTURE = Path(__file__).parents[2] / "docs" / "images" / "growth.svg"
LIMIT_S, SHORT_S = 120.0, 10.0
SEEDS = 5
NEXT_LABEL = 1.3
"""Times the size before, from which on two labels of the axis lie apart."""


def _tasks(quick: bool) -> Iterable[Task]:
    for name, axis in AXES.items():
        for size in axis.sizes[:2] if quick else axis.sizes:
            for seed in range(1 if quick else SEEDS):
                limit_s = SHORT_S if quick else LIMIT_S
                yield Task(f"{name}-{size:03d}-{seed}", partial(measure, name, size, seed, limit_s))


def _page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        f"One thing grows at a time; the others are those of a random vehicle of {USUAL} circuits with four load cases "
        "and eight module types. Time and memory of `allocate()` to the proof of bays, module types and strip pieces "
        "on two threads, each in a process of its own; memory is what it took beyond what the process held before. A "
        "line goes through the medians, a cross is a vehicle that was not proven in time."
    )
    yield ""
    plot(rows)
    yield "![Time and memory against size, log-log](images/growth.svg)"
    yield ""
    lines = []
    for name in AXES:
        sizes, times, memory = _medians(rows, name)
        held = [row for row in rows.values() if row["axis"] == name]
        late = sum(not row["proven"] for row in held)
        text = ", ".join(f"{size}: {seconds:.2f} s" for size, seconds in zip(sizes, times, strict=True))
        lines.append((name, text, _power(sizes, times), _power(sizes, memory), f"{late} of {len(held)}"))
    yield from table(("what grows", "median time", "power of time", "power of memory", "not proven in time"), lines)


def _medians(rows: Mapping[str, Row], name: str) -> tuple[list[int], list[float], list[float]]:
    held = [row for row in rows.values() if row["axis"] == name]
    sizes = sorted({int(row["size"]) for row in held})
    times, memory = (
        [median(float(row[what]) for row in held if row["size"] == size) for size in sizes]
        for what in ("seconds", "mib")
    )
    return sizes, times, memory


def _power(sizes: Sequence[int], costs: Sequence[float]) -> str:
    if len(sizes) < 2:
        return "-"
    return f"{linear_regression([log(size) for size in sizes], [log(cost) for cost in costs]).slope:.1f}"


def plot(rows: Mapping[str, Row]) -> None:
    """Draw time above and memory below, one column for everything that grows."""
    with mpl.rc_context({"svg.hashsalt": "growth", "svg.fonttype": "path", "font.size": 8}):
        figure = Figure(figsize=(9.0, 4.6), layout="constrained")
        grid = figure.subplots(2, len(AXES), sharey="row", squeeze=False)
        for column, name in enumerate(AXES):
            held = [row for row in rows.values() if row["axis"] == name]
            sizes, times, memory = _medians(rows, name)
            _draw(grid[0][column], held, "seconds", sizes, times)
            _draw(grid[1][column], held, "mib", sizes, memory)
            grid[1][column].set_xlabel(name)
        grid[0][0].set_ylabel("time, s")
        grid[1][0].set_ylabel("memory, MiB")
        figure.savefig(PICTURE, metadata={"Date": None})


def _draw(axes: Axes, held: Sequence[Row], what: str, sizes: Sequence[int], middle: Sequence[float]) -> None:
    axes.set(xscale="log", yscale="log")
    for proven, marker in ((True, "o"), (False, "x")):
        some = [row for row in held if row["proven"] is proven]
        axes.plot(
            [row["size"] for row in some], [row[what] for row in some], marker, ms=3.5, color="0.55", mfc="none", lw=0
        )
    axes.plot(sizes, middle, "-", color="0.1", lw=1.4)
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())
    labels = {size: str(size) for size in sizes}
    for size, further in pairwise(sizes):
        if further < NEXT_LABEL * size:
            labels[size] = ""
    axes.set_xticks(list(labels), list(labels.values()))
    axes.grid(True, which="both", lw=0.3, color="0.85")


SECTION = Section("growth", "Growth", _tasks, _page)
