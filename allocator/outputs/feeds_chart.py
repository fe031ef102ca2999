"""
The chart of feed loads: for every feed and load case, what it draws against what it may draw.

Comes in as the Content of a plan; goes out on a sheet or picture that is as high as it needs to be. All bars share one
scale, the share of what the feed may carry, so that the limits stand in line; amperes are written beside each bar.
"""

from __future__ import annotations

from allocator.outputs.cautions import cautions_line
from allocator.outputs.content import Content
from allocator.outputs.fonts import drawable
from allocator.outputs.marks import INK, PALE, SOFT, WASH
from allocator.outputs.paper import Box, Paper
from allocator.outputs.sheet import Sheet
from allocator.plan.measures import FeedLoad, feed_loads
from allocator.units import from_model

WIDTH_MM = 210.0
MARGIN_MM = 10.0
HEAD_MM = 18.0
FEED_HEAD_MM = 6.5
BAR_MM = 5.0
FEED_GAP_MM = 4.0
SCALE_FOOT_MM = 5.0
FOOT_MM = 17.0
NAME_MM, VALUE_MM = 36.0, 47.0
BEYOND = 1.04
"""How far the scale goes beyond the rating."""


def feeds_sheet(content: Content) -> Sheet:
    """Return the finished chart."""
    sheet = Sheet(size_of_feeds_chart(content))
    draw_feeds_chart(sheet, content)
    return sheet


def size_of_feeds_chart(content: Content) -> tuple[float, float]:
    """Return width and height of the chart, mm."""
    blocks = sum(_block_mm(load) for load in feed_loads(content.index))
    return WIDTH_MM, 2 * MARGIN_MM + HEAD_MM + blocks + SCALE_FOOT_MM + FOOT_MM


def draw_feeds_chart(sheet: Paper, content: Content) -> None:
    """Draw the chart on something of its size."""
    page = sheet.page.inset(MARGIN_MM)
    _head(sheet, content, page)
    scale = _Scale(page, 100 / content.sized.requirements.scenario.rules.feed_loading)
    y = page.y + HEAD_MM
    _percents(sheet, scale, y - 5)
    for load in feed_loads(content.index):
        block = _block_mm(load)
        _feed(sheet, content, load, scale, Box(page.x, y, page.w, block - FEED_GAP_MM))
        y += block
    _percents(sheet, scale, y - 2)
    foot = Box(page.x, page.bottom - FOOT_MM, page.w, FOOT_MM)
    sheet.line([(foot.x, foot.y), (foot.right, foot.y)], weight=0.6)
    sheet.text(foot.inset(0, 1), cautions_line(), size=6.5, max_lines=8, middle=False)


def _block_mm(load: FeedLoad) -> float:
    """Height of one feed; one line for each load case, a single one for a feed that has nothing on it."""
    num_lines = len(load.load_ma_by_case) if max(load.load_ma_by_case) else 1
    return FEED_HEAD_MM + BAR_MM * num_lines + FEED_GAP_MM


class _Scale:
    """Where shares of what is allowed lie; ``rating`` is the share that the feed's rating comes to."""

    def __init__(self, page: Box, rating: float) -> None:
        self.left, self.right = page.x + NAME_MM, page.right - VALUE_MM
        self.rating = rating
        self._end = rating * BEYOND

    def at(self, share: float) -> float:
        """Return the place of a share, the end of the scale for a larger one."""
        return self.left + (self.right - self.left) * min(share, self._end) / self._end


def _head(sheet: Paper, content: Content, page: Box) -> None:
    sheet.text(
        Box(page.x, page.y, page.w, 6), f"{content.vehicle}: load of every feed by load case", size=12, bold=True
    )
    allowed = content.sized.requirements.scenario.rules.feed_loading
    text = (
        f"Plan {content.number}. Share of what is allowed (solid line), {allowed:g} % of the rating (broken line). "
        "A feed counts with all feeds that branch from it."
    )
    sheet.text(Box(page.x, page.y + 6.5, page.w, 4), text, size=7.5, middle=False, colour=SOFT)


def _percents(sheet: Paper, scale: _Scale, y: float) -> None:
    for percent in range(0, 101, 20):
        sheet.text(Box(scale.at(percent / 100) - 8, y, 16, 3.6), f"{percent} %", size=6.5, colour=SOFT, align="centre")


def _feed(sheet: Paper, content: Content, load: FeedLoad, scale: _Scale, box: Box) -> None:
    mark = content.marks[load.feed]
    feed = next(item for item in content.sized.requirements.scenario.feeds if item.name == load.feed)
    sheet.feed_bar(Box(box.x, box.y + 0.8, 9, 4), mark)
    sheet.text(Box(box.x + 10.5, box.y, 8, 5.6), mark.code, size=9, bold=True)
    name = f"{content.feed_name(load.feed)}: {drawable(feed.label or feed.kind, feed.kind)}"
    sheet.text(Box(box.x + 19, box.y, box.w - 19 - VALUE_MM, 5.6), name, size=8.5, smallest=6)
    limits = f"rating {from_model(load.rating_ma):.4g} A, allowed {float(load.allowed_ma) / 1000:.4g} A"
    sheet.text(Box(box.right - VALUE_MM, box.y, VALUE_MM, 5.6), limits, size=7, align="right")
    field = Box(scale.left, box.y + FEED_HEAD_MM, scale.right - scale.left, box.h - FEED_HEAD_MM)
    peak_ma = max(load.load_ma_by_case)
    if not peak_ma:
        sheet.text(field, "nothing is on it", size=7.5, colour=SOFT)
        return
    sheet.rectangle(field, fill=WASH, edge=None)
    for tenth in range(1, 10):
        x = scale.at(tenth / 10)
        sheet.line([(x, field.y), (x, field.bottom)], colour=PALE, weight=0.4)
    for number, case in enumerate(content.sized.requirements.scenario.load_cases):
        line = Box(box.x, field.y + number * BAR_MM, box.w, BAR_MM)
        name = drawable(case.name, f"case {number + 1}")
        _case(sheet, content, load, number, name, scale, line)
    for share, broken in ((1.0, False), (scale.rating, True)):
        x = scale.at(share)
        sheet.line([(x, field.y - 0.8), (x, field.bottom + 0.8)], weight=1.0, colour=INK, dashed=broken)


def _case(sheet: Paper, content: Content, load: FeedLoad, number: int, name: str, scale: _Scale, line: Box) -> None:
    load_ma, share = load.load_ma_by_case[number], load.utilisation_by_case[number]
    is_peak = load_ma == max(load.load_ma_by_case)
    sheet.text(Box(line.x, line.y, NAME_MM - 2, line.h), name, size=7.5, bold=is_peak, align="right")
    width = scale.at(float(share)) - scale.left
    if width > 0:
        sheet.feed_bar(Box(scale.left, line.y + 0.8, width, line.h - 1.6), content.marks[load.feed], weight=0.5)
    over = ", too much" if share > 1 else ""
    text = f"{from_model(load_ma):.2f} A, {float(100 * share):.1f} %{over}"
    sheet.text(Box(scale.right + 2, line.y, VALUE_MM - 2, line.h), text, size=7.5, bold=is_peak)
