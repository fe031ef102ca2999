"""
The chart of feed loads: for every feed and load case, what it draws against what it may draw.

Comes in as the Content of a plan; goes out as a Listing with a block for each feed. All bars share one scale, the share
of what the feed may carry, so that the limits stand in line; amperes are written beside each bar.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from allocator.outputs.charts.shapes import Block, Look, Scale, Shape, Stroke, paint, plot
from allocator.outputs.content import Content
from allocator.outputs.fonts import drawable
from allocator.outputs.marks import INK, PALE, SOFT, WASH, FeedMark
from allocator.outputs.paper import Box, Paper
from allocator.plan.measures import FeedLoad, feed_loads
from allocator.units import from_model

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FEED_HEAD_MM, BAR_MM, FEED_GAP_MM = 6.5, 5.0, 4.0
HEAD_MM = 9.4
NAME_MM, VALUE_MM = 36.0, 47.0
BEYOND = 1.04
"""How far the scale goes beyond the rating."""
MOST_CASES = 12
"""A feed with more load cases than this goes on in another block, which may be on the next page."""
_ALLOWED, _RATING = Look(weight=1.0), Look(weight=1.0, dashed=True)
_BAR = (0.16, 0.84)


def case_shape(share: float, mark: FeedMark, row: float = 0.0) -> Block:
    """Return the bar of one load case: share of what is allowed, in a row of height 1."""
    look = Look(fill=mark.colour, pattern=mark.pattern, stroke=mark.stroke, weight=0.5)
    return Block(0.0, share, row + _BAR[0], row + _BAR[1], look)


def plot_feed(ax: Axes, load: FeedLoad, cases: Sequence[str], mark: FeedMark) -> None:
    """
    Draw the load of one feed into axes, the first load case on top.

    Parameters
    ----------
    ax
        Axes of the drawing library; gets limits, names and ticks.
    load
        Load of the feed by load case (``plan.measures.feed_loads``).
    cases
        Names of the load cases.
    mark
        Look of the feed.
    """
    rating = float(load.rating_ma / load.allowed_ma)
    shares = [float(share) for share in load.utilisation_by_case]
    shapes: list[Shape] = [case_shape(share, mark, row) for row, share in enumerate(reversed(shares))]
    shapes += [Stroke(((at, 0.0), (at, len(cases))), look) for at, look in ((1.0, _ALLOWED), (rating, _RATING))]
    ax.set_xlim(0, max(rating, *shares) * BEYOND)
    ax.set_ylim(0, len(cases))
    ax.set_yticks([row + 0.5 for row in range(len(cases))], list(reversed(cases)))
    ax.set_xlabel("share of what is allowed\n(solid line; broken: rating)")
    ax.set_title(f"feed {load.feed}")
    plot(ax, shapes)


@dataclass(frozen=True, slots=True)
class _Block:
    """Some load cases of one feed; ``cases`` is empty for a feed that has nothing on it."""

    load: FeedLoad
    cases: range

    @property
    def goes_on(self) -> bool:
        return self.cases.start > 0


@dataclass(frozen=True)
class FeedBlocks:
    """The loads of all feeds of a plan, as blocks that pages can be cut from."""

    content: Content

    @property
    def title(self) -> str:
        """Title."""
        return "Load of every feed by load case"

    @property
    def head_mm(self) -> float:
        """Height of what is said above, and of the scale, mm."""
        return HEAD_MM

    @cached_property
    def _blocks(self) -> tuple[_Block, ...]:
        found = []
        for load in feed_loads(self.content.index):
            num = len(load.load_ma_by_case) if max(load.load_ma_by_case) else 0
            for first in range(0, max(1, num), MOST_CASES):
                found.append(_Block(load, range(first, min(num, first + MOST_CASES))))
        return tuple(found)

    @property
    def _rating(self) -> float:
        """Share of what is allowed that the rating of a feed comes to."""
        return 100 / self.content.sized.requirements.scenario.rules.feed_loading

    def _scale(self, box: Box) -> Scale:
        return Scale(0.0, self._rating * BEYOND, box.x + NAME_MM, box.right - VALUE_MM)

    def side_by_side(self, width_mm: float) -> int:
        """Return how many parts go beside each other: one."""
        return 1

    def heights(self, width_mm: float) -> tuple[float, ...]:
        """Return the height of every block, mm."""
        return tuple(FEED_HEAD_MM + BAR_MM * max(1, len(block.cases)) + FEED_GAP_MM for block in self._blocks)

    def draw_head(self, sheet: Paper, box: Box) -> None:
        """Say what the chart shows, and draw the scale."""
        allowed = self.content.sized.requirements.scenario.rules.feed_loading
        text = (
            f"Share of what is allowed (solid line), {allowed:g} % of the rating (broken line). A feed counts with all "
            "feeds that branch from it."
        )
        sheet.text(Box(box.x, box.y, box.w, 4), text, size=7.5, colour=SOFT)
        scale = self._scale(box)
        for percent in range(0, 101, 20):
            at = Box(scale.at(percent / 100) - 8, box.y + 4.6, 16, 3.6)
            sheet.text(at, f"{percent} %", size=6.5, colour=SOFT, align="centre")

    def draw_row(self, sheet: Paper, number: int, box: Box) -> None:
        """Draw one block."""
        block = self._blocks[number]
        at = Box(box.x, box.y, box.w, box.h - FEED_GAP_MM)
        _BlockDrawing(sheet, self.content, block, self._scale(at), self._rating, at).draw()


@dataclass(frozen=True, slots=True)
class _BlockDrawing:
    sheet: Paper
    content: Content
    block: _Block
    scale: Scale
    rating: float
    box: Box

    def draw(self) -> None:
        """Draw name and limits of the feed, then a bar for each load case."""
        self._head()
        box, scale = self.box, self.scale
        field = Box(scale.start, box.y + FEED_HEAD_MM, scale.end - scale.start, box.h - FEED_HEAD_MM)
        if not self.block.cases:
            self.sheet.text(field, "nothing is on it", size=7.5, colour=SOFT)
            return
        self.sheet.rectangle(field, fill=WASH, edge=None)
        for tenth in range(1, 10):
            x = scale.at(tenth / 10)
            self.sheet.line([(x, field.y), (x, field.bottom)], colour=PALE, weight=0.4)
        for line, case in enumerate(self.block.cases):
            self._case(case, Box(box.x, field.y + line * BAR_MM, box.w, BAR_MM))
        for share, look in ((1.0, _ALLOWED), (self.rating, _RATING)):
            x = scale.at(share)
            points = [(x, field.y - 0.8), (x, field.bottom + 0.8)]
            self.sheet.line(points, weight=look.weight, colour=INK, dashed=look.dashed)

    def _head(self) -> None:
        load, box, content = self.block.load, self.box, self.content
        mark = content.marks[load.feed]
        feed = next(item for item in content.sized.requirements.scenario.feeds if item.name == load.feed)
        self.sheet.feed_bar(Box(box.x, box.y + 0.8, 9, 4), mark)
        self.sheet.text(Box(box.x + 10.5, box.y, 8, 5.6), mark.code, size=9, bold=True)
        name = f"{content.feed_name(load.feed)}: {drawable(feed.label or feed.kind, feed.kind)}"
        name += " (continued)" if self.block.goes_on else ""
        self.sheet.text(Box(box.x + 19, box.y, box.w - 19 - VALUE_MM, 5.6), name, size=8.5, smallest=6)
        limits = f"rating {from_model(load.rating_ma):.4g} A, allowed {from_model(load.allowed_ma):.4g} A"
        self.sheet.text(Box(box.right - VALUE_MM, box.y, VALUE_MM, 5.6), limits, size=7, align="right")

    def _case(self, case: int, line: Box) -> None:
        load = self.block.load
        load_ma, share = load.load_ma_by_case[case], load.utilisation_by_case[case]
        is_peak = load_ma == max(load.load_ma_by_case)
        name = drawable(self.content.sized.requirements.scenario.load_cases[case].name, f"case {case + 1}")
        self.sheet.text(Box(line.x, line.y, NAME_MM - 2, line.h), name, size=7.5, bold=is_peak, align="right")
        upward = Scale(0.0, 1.0, line.bottom, line.y)
        paint(self.sheet, self._bars(float(share), load.feed), self.scale, upward)
        over = ", too much" if share > 1 else ""
        text = f"{from_model(load_ma):.2f} A, {float(100 * share):.1f} %{over}"
        self.sheet.text(Box(self.scale.end + 2, line.y, VALUE_MM - 2, line.h), text, size=7.5, bold=is_peak)

    def _bars(self, share: float, feed: str) -> Iterator[Shape]:
        if share:
            yield case_shape(share, self.content.marks[feed])
