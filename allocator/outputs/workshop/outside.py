"""
Fuses outside the modules of a panel, main and in-line ones: where each is, of what rating, and what it protects.

Comes in as the Content of a plan; goes out as OutsideFuses, and as a card for each panel on the sheets of its lid
legends, in letters as large as theirs, to be kept in the lid or beside the studs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from allocator.outputs.book import Book
from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.marks import PALE, SOFT, fuse_colour
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet
from allocator.outputs.workshop.lid_type import (
    GAP_MM,
    LEAST_SIZE_PT,
    LINE_GAP_MM,
    SIZE_PT,
    WARNING,
    begin_sheet,
    draw_fuse,
)
from allocator.plan.parts import Supply, supplies
from allocator.plan.wiring import Run

COLUMNS = {"wire or feed": 17.0, "A": 13.0, "type": 21.0, "where": 70.0, "protects": 92.0}
"""Width of each column of a card, mm."""
CARD_MM = sum(COLUMNS.values()) + 2.0
CUT_MM, TITLE_MM, HEAD_MM, LINE_MM, WARNING_MM = 5.0, 7.0, 3.6, 6.5, 6.5
FEWEST_LINES = 3
"""A card that goes on on another sheet has so many lines on each at the least, where it has so many at all."""


@dataclass(frozen=True, slots=True)
class OutsideFuse:
    """One fuse outside the modules: code of its feed or number of its wire, catalogue id, where, what it protects."""

    name: str
    kind: str
    fuse: str
    where: str
    protects: str


def outside_fuses(content: Content, panel: str) -> Iterator[OutsideFuse]:
    """Yield the main fuses of the feeds that arrive at a panel, then the fuses in its tails and leads to its coils."""
    for supply in supplies(content.index):
        if supply.panel == panel and supply.feed.main is not None:
            yield _main(content, supply, supply.feed.main.fuse)
    for run in content.inline_runs:
        if run.inline is not None and _panel_of(run) == panel:
            where, protects = content.inline_where(run), _protected(content, run)
            yield OutsideFuse(run.number, "in-line", run.inline.fuse, where, protects)


def fuses_to_label(content: Content) -> tuple[OutsideFuse, ...]:
    """Return every fuse outside the modules of any panel once: each has a holder with a label."""
    fuses = (item for panel in content.index.panels for item in outside_fuses(content, panel))
    return tuple(dict.fromkeys(fuses))


def _main(content: Content, supply: Supply, fuse: str) -> OutsideFuse:
    feed = next(item for item in content.sized.requirements.scenario.feeds if item.name == supply.feed.name)
    where = f"{feed.main_fuse_distance:g} m from the source" if feed.main_fuse_distance else "at the source"
    return OutsideFuse(content.marks[feed.name].code, "main", fuse, where, f"feed {content.feed_name(feed.name)}")


def _panel_of(run: Run) -> str:
    """Return the panel of the feed entry or relay that a wire with an in-line fuse supplies."""
    return (run.end if run.role == "tail" else run.start).place.partition("/")[0]


def _protected(content: Content, run: Run) -> str:
    if run.role == "tail":
        return f"tail to {content.place_name(run.end.place)}, {content.feed_name(run.feed)}"
    label = content.label(content.sized.need_by_id[run.need])
    return f"coil of {content.place_name(run.start.place)}, {label}"


def add_cards(book: Book, content: Content) -> None:
    """Put the card of every panel onto the last sheet, or onto new ones where there is no room."""
    for panel in content.index.panels:
        left = list(outside_fuses(content, panel))
        title = f"Fuses outside the modules, panel {content.panel_name(panel)}"
        while left:
            fitting = _fitting(book)
            if fitting < min(len(left), FEWEST_LINES):
                begin_sheet(book)
                fitting = _fitting(book)
            _card(book, content, title, left[:fitting])
            left = left[fitting:]


def _fitting(book: Book) -> int:
    """Return how many lines of a card have room on the last sheet."""
    fixed = CUT_MM + TITLE_MM + HEAD_MM + WARNING_MM
    return int((book.body.h - book.used_mm - fixed) // LINE_MM) if book.sheets else 0


def _card(book: Book, content: Content, title: str, lines: list[OutsideFuse]) -> None:
    sheet, body = book.sheets[-1], book.body
    top = body.y + book.used_mm
    sheet.text(Box(body.x, top, body.w, CUT_MM - 1), f"{title}: cut out along the line", size=8, bold=True)
    above = TITLE_MM + HEAD_MM
    height = above + len(lines) * LINE_MM + WARNING_MM
    card = Box(body.x, top + CUT_MM, CARD_MM, height)
    sheet.rectangle(card, weight=0.6)
    box = card.inset(1, 0)
    sheet.text(Box(box.x, box.y, box.w, TITLE_MM), title, size=SIZE_PT, bold=True)
    for at, head in zip(_columns(Box(box.x, box.y + TITLE_MM, box.w, HEAD_MM)), COLUMNS, strict=True):
        sheet.text(at, head, size=7, colour=SOFT)
    for number, line in enumerate(lines):
        _line(sheet, content, line, Box(box.x, box.y + above + number * LINE_MM, box.w, LINE_MM))
    foot = Box(box.x, box.bottom - WARNING_MM, box.w, WARNING_MM)
    sheet.text(Box(foot.x, foot.y, foot.w * 0.45, foot.h), WARNING, size=SIZE_PT, bold=True)
    issue = legible(", ".join(filter(None, (content.issue_text, content.supersedes_text))))
    said = Box(foot.x + foot.w * 0.47, foot.y, foot.w * 0.53, foot.h)
    sheet.text(said, f"{content.vehicle}. {issue}.", size=7, max_lines=2, align="right")
    book.used_mm += CUT_MM + height + GAP_MM


def _columns(box: Box) -> Iterator[Box]:
    x = box.x
    for width in COLUMNS.values():
        yield Box(x, box.y, width - 1, box.h)
        x += width


def _line(sheet: Sheet, content: Content, line: OutsideFuse, box: Box) -> None:
    part = next(fuse for fuse in content.sized.requirements.catalogue.fuses if fuse.id == line.fuse)
    colour = fuse_colour(part.fuse_format, part.rating)
    name, rating, *rest = _columns(box)
    sheet.text(name, line.name, size=SIZE_PT, smallest=LEAST_SIZE_PT, bold=True)
    draw_fuse(sheet, rating.inset(0, LINE_GAP_MM / 2), part.rating, colour.colour if colour else None)
    for at, text in zip(rest, (content.fuse_type(line.fuse), line.where, line.protects), strict=True):
        sheet.text(at, text, size=SIZE_PT, smallest=LEAST_SIZE_PT)
    sheet.line([(box.x, box.y), (box.right, box.y)], colour=PALE, weight=0.4)
