"""
The foot of every sheet: feeds with their marks, meaning of the marks, goals reached, cautions, and what sheet this is.

Comes in as the Content of a plan and the sheet's title; goes out as marks along the lower edge of a Sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from allocator.outputs.cautions import cautions_line
from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.goals import bound_text, goal_name, goals_heading, value_text
from allocator.outputs.key import draw_key
from allocator.outputs.marks import INK, PALE, SOFT
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet

MARGIN_MM = 8.0
GAP_MM = 2.0
LINE_MM = 3.9
ISSUE_LINE = 2

Field = Callable[[Sheet, Content, Box, "SheetTitle"], None]


@dataclass(frozen=True, slots=True)
class SheetTitle:
    """
    What a sheet is: panel and side, or table; its document; its number in it and how many there are.

    ``panels`` are those that are drawn on it.
    """

    text: str
    document: str
    number: int
    of: int
    panels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Foot:
    """What stands along the lower edge of a sheet: its height, mm, and its fields with their shares of the width."""

    height_mm: float
    fields: tuple[tuple[float, Field], ...]

    def draw(self, sheet: Sheet, content: Content, title: SheetTitle) -> None:
        """Draw it onto a sheet."""
        page = sheet.page.inset(MARGIN_MM)
        foot = Box(page.x, page.bottom - self.height_mm, page.w, self.height_mm)
        sheet.rectangle(foot, weight=0.9)
        x = foot.x
        for share, draw_field in self.fields:
            box = Box(x, foot.y, foot.w * share, foot.h)
            if x > foot.x:
                sheet.line([(x, foot.y), (x, foot.bottom)], weight=0.5)
            draw_field(sheet, content, box.inset(1.6, 1.2), title)
            x += box.w


def body_of(sheet: Sheet, foot: Foot) -> Box:
    """Return the room above the foot."""
    page = sheet.page.inset(MARGIN_MM)
    return Box(page.x, page.y, page.w, page.h - foot.height_mm - GAP_MM)


def _heading(sheet: Sheet, box: Box, text: str) -> Box:
    sheet.text(Box(box.x, box.y, box.w, 3.6), text, size=7.5, bold=True)
    return Box(box.x, box.y + 4.2, box.w, box.h - 4.2)


def _feeds(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    """List the feeds whose marks are on the sheet: those that enter a panel drawn there; without one all feeds."""
    body = _heading(sheet, box, "Feeds")
    entered = {entry.piece.feed for entry in content.index.entries if entry.at.panel in title.panels}
    feeds = [feed for feed in content.sized.requirements.scenario.feeds if not title.panels or feed.name in entered]
    per_column = int(body.h // LINE_MM)
    num_columns = max(1, min(3, -(-len(feeds) // per_column)))
    shown = feeds if len(feeds) <= per_column * num_columns else feeds[: per_column * num_columns - 1]
    width = body.w / num_columns
    for number, feed in enumerate(shown):
        at = Box(body.x + number // per_column * width, body.y + number % per_column * LINE_MM, width - 1, LINE_MM)
        mark = content.marks[feed.name]
        sheet.feed_bar(Box(at.x, at.y + 0.6, 8, LINE_MM - 1.2), mark, weight=0.5)
        sheet.text(Box(at.x + 9, at.y, 6, at.h), mark.code, size=7, bold=True)
        text = f"{content.feed_name(feed.name)}, {feed.kind}, {feed.rating:g} A"
        sheet.text(Box(at.x + 15, at.y, at.w - 15, at.h), text, size=7)
    if len(shown) < len(feeds):
        at = Box(body.x + (num_columns - 1) * width, body.y + (per_column - 1) * LINE_MM, width, LINE_MM)
        sheet.text(at, f"and {len(feeds) - len(shown)} more: see the table of feeds", size=6, colour=SOFT)


def _key(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    draw_key(sheet, _heading(sheet, box, "Marks"), content.marks)


def _goals(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    body = _heading(sheet, box, goals_heading(content.plan))
    goals = content.plan.goals
    line = min(LINE_MM, body.h / max(1, len(goals)))
    for number, result in enumerate(goals):
        at = Box(body.x, body.y + number * line, body.w, line)
        sheet.text(Box(at.x, at.y, at.w * 0.28, line), goal_name(result.goal), size=6.5)
        value = value_text(result.goal, result.value, content.sized.requirements.catalogue.currency)
        sheet.text(Box(at.x + at.w * 0.28, at.y, at.w * 0.3, line), value, size=6.5, bold=True, align="right")
        proof = bound_text(result, content.sized.requirements.catalogue.currency)
        sheet.text(Box(at.x + at.w * 0.6, at.y, at.w * 0.4, line), proof, size=6, max_lines=2, colour=SOFT)


def _cautions(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    body = _heading(sheet, box, "Cautions")
    sheet.text(body, cautions_line(), size=6.5, max_lines=20, middle=False)


def _title(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    sheet.text(Box(box.x, box.y, box.w, 7.6), content.vehicle, size=10, smallest=6, bold=True, max_lines=2)
    sheet.text(Box(box.x, box.y + 8, box.w, 7.6), title.text, size=8.5, smallest=5.5, max_lines=2)
    sheet.line([(box.x, box.y + 16), (box.right, box.y + 16)], colour=PALE)
    for number, text in enumerate(_facts(content)):
        colour = INK if number == ISSUE_LINE else SOFT
        sheet.text(Box(box.x, box.y + 16.4 + number * 3.5, box.w, 3.4), legible(text), size=6.5, colour=colour)
    at = Box(box.x, box.bottom - 4.2, box.w, 4.2)
    sheet.text(Box(at.x, at.y, at.w * 0.4, at.h), f"allocator {content.plan.allocator_version}", size=6.5, colour=SOFT)
    text = f"{title.document}, sheet {title.number} of {title.of}"
    sheet.text(Box(at.x + at.w * 0.4, at.y, at.w * 0.6, at.h), text, size=7.5, bold=True, align="right")


def _brief_title(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    half = box.w * 0.5
    sheet.text(Box(box.x, box.y, box.w, 5), content.vehicle, size=10, smallest=6, bold=True)
    sheet.text(Box(box.x, box.y + 5.4, box.w, 4.6), title.text, size=8.5, smallest=5.5, max_lines=2)
    for number, text in enumerate(_facts(content)[ISSUE_LINE:]):
        sheet.text(Box(box.x, box.y + 10.4 + number * 3.6, box.w, 3.4), legible(text), size=6.5)
    at = Box(box.x, box.bottom - 3.6, box.w, 3.6)
    sheet.text(Box(at.x, at.y, half, at.h), f"allocator {content.plan.allocator_version}", size=6.5, colour=SOFT)
    text = f"{title.document}, sheet {title.number} of {title.of}"
    sheet.text(Box(at.x + half, at.y, half, at.h), text, size=7.5, bold=True, align="right")


def _facts(content: Content) -> tuple[str, ...]:
    """Return the lines of the title block, that of number, revision and day in the place of ``ISSUE_LINE``."""
    vehicle = content.sized.requirements.scenario.vehicle
    return (
        f"{vehicle.nominal_voltage:g} V, return by {vehicle.return_path}; not to scale",
        "places: panel/bay/row/way",
        content.issue_text,
        *filter(None, [content.supersedes_text]),
    )


LAYOUT_FOOT = Foot(37.0, ((0.2, _feeds), (0.26, _key), (0.18, _goals), (0.2, _cautions), (0.16, _title)))
BENCH_FOOT = Foot(24.4, ((0.62, _cautions), (0.38, _brief_title)))
"""Of sheets that hold no drawing of a panel."""
