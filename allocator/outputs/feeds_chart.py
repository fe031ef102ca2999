"""
The chart of feed loads: for every feed and load case, what it draws against what it may draw.

Comes in as the Content of a plan; goes out as one Sheet, as high as it needs to be. All bars share one scale, the share
of the feed's rating, so that the limits stand in line; amperes are written beside each bar.
"""

from __future__ import annotations

from allocator.outputs.cautions import cautions_line
from allocator.outputs.content import Content
from allocator.outputs.lettering import drawable
from allocator.outputs.marks import INK, PALE, SOFT, WASH
from allocator.outputs.sheet import Box, Sheet
from allocator.plan.measures import FeedLoad, feed_loads
from allocator.units import from_model

WIDTH_MM = 210.0
MARGIN_MM = 10.0
HEAD_MM = 18.0
FEED_HEAD_MM = 6.5
BAR_MM = 5.0
FEED_GAP_MM = 4.0
FOOT_MM = 17.0
NAME_MM, VALUE_MM = 36.0, 47.0
SCALE_END = 1.1
"""Share of the rating at the right end of the scale."""


def feeds_sheet(content: Content) -> Sheet:
    """Return the finished chart."""
    loads = feed_loads(content.index)
    cases = content.sized.requirements.scenario.load_cases
    block = FEED_HEAD_MM + BAR_MM * len(cases) + FEED_GAP_MM
    height = 2 * MARGIN_MM + HEAD_MM + block * len(loads) + FOOT_MM
    sheet = Sheet((WIDTH_MM, height))
    page = sheet.page.inset(MARGIN_MM)
    _head(sheet, content, page)
    for number, load in enumerate(loads):
        _feed(sheet, content, load, Box(page.x, page.y + HEAD_MM + number * block, page.w, block - FEED_GAP_MM))
    foot = Box(page.x, page.bottom - FOOT_MM, page.w, FOOT_MM)
    sheet.line([(foot.x, foot.y), (foot.right, foot.y)], weight=0.6)
    sheet.text(foot.inset(0, 1), cautions_line(), size=6.5, smallest=4.5, max_lines=8, middle=False)
    return sheet


def _head(sheet: Sheet, content: Content, page: Box) -> None:
    sheet.text(
        Box(page.x, page.y, page.w, 6), f"{content.vehicle}: load of every feed by load case", size=12, bold=True
    )
    allowed = content.sized.requirements.scenario.rules.feed_loading
    text = (
        f"Plan {content.number}. Bars: share of the feed's rating. Solid line: allowed, {allowed:g} %. "
        "Broken line: rating. A feed counts with all feeds that branch from it."
    )
    sheet.text(Box(page.x, page.y + 6.5, page.w, 4), text, size=7.5, smallest=5, middle=False, colour=SOFT)
    width = (page.w - NAME_MM - VALUE_MM) / SCALE_END
    for percent in range(0, 101, 20):
        at = Box(page.x + NAME_MM + width * percent / 100 - 8, page.y + HEAD_MM - 5, 16, 3.6)
        sheet.text(at, f"{percent} %", size=6.5, colour=SOFT, align="centre")


def _feed(sheet: Sheet, content: Content, load: FeedLoad, box: Box) -> None:
    mark = content.marks[load.feed]
    feed = next(item for item in content.sized.requirements.scenario.feeds if item.name == load.feed)
    sheet.rectangle(Box(box.x, box.y + 0.8, 9, 4), fill=mark.colour, pattern=mark.pattern, weight=0.6)
    sheet.text(Box(box.x + 10.5, box.y, 8, 5.6), mark.code, size=9, bold=True)
    name = f"{content.feed_name(load.feed)}: {drawable(feed.label or feed.kind, feed.kind)}"
    sheet.text(Box(box.x + 19, box.y, box.w - 19 - VALUE_MM, 5.6), name, size=8.5, smallest=6)
    limits = f"rating {from_model(load.rating_ma):.4g} A, allowed {float(load.allowed_ma) / 1000:.4g} A"
    sheet.text(Box(box.right - VALUE_MM, box.y, VALUE_MM, 5.6), limits, size=7, smallest=5, align="right")
    scale = Box(box.x + NAME_MM, box.y + FEED_HEAD_MM, box.w - NAME_MM - VALUE_MM, box.h - FEED_HEAD_MM)
    sheet.rectangle(scale, fill=WASH, edge=None)
    for tenth in range(1, 11):
        x = scale.x + scale.w * tenth / 10 / SCALE_END
        sheet.line([(x, scale.y), (x, scale.bottom)], colour=PALE, weight=0.4)
    for number, case in enumerate(content.sized.requirements.scenario.load_cases):
        line = Box(box.x, scale.y + number * BAR_MM, box.w, BAR_MM)
        _case(sheet, content, load, drawable(case.name, f"case {number + 1}"), number, line, scale)
    shares = (float(load.allowed_ma / load.rating_ma), False), (1.0, True)
    for share, broken in shares:
        x = scale.x + scale.w * min(share, SCALE_END) / SCALE_END
        sheet.line([(x, scale.y - 0.8), (x, scale.bottom + 0.8)], weight=1.0, colour=INK, dashed=broken)


def _case(sheet: Sheet, content: Content, load: FeedLoad, name: str, number: int, line: Box, scale: Box) -> None:
    mark = content.marks[load.feed]
    load_ma, share = load.load_ma_by_case[number], load.utilisation_by_case[number]
    sheet.text(Box(line.x, line.y, NAME_MM - 2, line.h), name, size=7.5, smallest=5.5, align="right")
    width = scale.w * min(load_ma / load.rating_ma, SCALE_END) / SCALE_END
    if width > 0:
        sheet.rectangle(
            Box(scale.x, line.y + 0.8, width, line.h - 1.6), fill=mark.colour, pattern=mark.pattern, weight=0.5
        )
    over = ", too much" if share > 1 else ""
    text = f"{from_model(load_ma):.2f} A, {float(100 * share):.1f} % of allowed{over}"
    sheet.text(Box(scale.right + 2, line.y, VALUE_MM - 2, line.h), text, size=7, smallest=5)
