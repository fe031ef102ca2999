"""
The key: every mark of the drawing, drawn small, with what it means.

Comes in as a box on a Sheet and the marks of a plan's feeds; goes out as marks there.
"""

from __future__ import annotations

from collections.abc import Mapping

from allocator.outputs.marks import INK, PALE, PAPER, SOFT, FeedMark
from allocator.outputs.paper import Box, Paper
from allocator.outputs.ways import draw_fuse

COLUMNS, MARK_MM = 2, 11.0
MEANINGS: tuple[tuple[str, str], ...] = (
    ("fuse", "fuse: A, type and colour by ISO 8820"),
    ("relay", "its relay: socket 1 here, or of bay 4"),
    ("spare", "spare: fed, no fuse; pale: free, not fed"),
    ("tabs", "DIN 72552, in order, not in place"),
    ("slot", "output: kind of terminal, wires"),
    ("tail", "strip piece with its feed tail; load of limit"),
    ("cut", "strip cut between two ways"),
    ("single", "way fed singly"),
    ("bus", "solid bus, fed at its stud"),
    ("wires", "lead, cable, tail, link, jumper, wire"),
)
"""What is drawn, and what it means; down the first column, then the second."""


def draw_key(sheet: Paper, box: Box, marks: Mapping[str, FeedMark]) -> None:
    """Draw the key into a box; bars look like those of the first two feeds."""
    feeds = (*marks.values(), *marks.values())[:2]
    per_column = -(-len(MEANINGS) // COLUMNS)
    width, height = box.w / COLUMNS, box.h / per_column
    for number, (what, meaning) in enumerate(MEANINGS):
        at = Box(box.x + number // per_column * width, box.y + number % per_column * height, width - 1.5, height - 0.4)
        mark = Box(at.x, at.y + at.h / 2 - 2.4, MARK_MM - 1.2, 4.8)
        _draw(sheet, what, mark, feeds)
        sheet.text(Box(at.x + MARK_MM, at.y, at.w - MARK_MM, at.h), meaning, size=6, max_lines=3)


def _draw(sheet: Paper, what: str, box: Box, feeds: tuple[FeedMark, ...]) -> None:
    bar = Box(box.x, box.y + 2.2, box.w, 2.2)
    if what == "fuse":
        draw_fuse(sheet, Box(box.x + 2.2, box.y - 0.7, 5.6, 6.2), "C", 10)
    elif what == "relay":
        sheet.text(box, "S1, 4/S1", size=6, bold=True, align="centre")
    elif what == "spare":
        sheet.rectangle(Box(box.x, box.y, 4.2, box.h), dashed=True)
        sheet.text(Box(box.x, box.y, 4.2, box.h), "–", size=7, bold=True, align="centre")
        sheet.rectangle(Box(box.x + 5.4, box.y, 4.2, box.h), edge=PALE, dashed=True)
    elif what == "tabs":
        for number, tab in enumerate(("30", "87")):
            tab_box = Box(box.x + number * 5, box.y + 0.9, 4.6, 3)
            sheet.rectangle(tab_box, fill=PAPER, weight=0.5, radius=0.4)
            sheet.text(tab_box, tab, size=5.5, align="centre", colour=SOFT)
    elif what == "slot":
        slot = Box(box.x + 0.6, box.y + 1.1, 3.4, 2.6)
        sheet.rectangle(slot, fill=INK)
        sheet.text(slot, "e", size=7, bold=True, colour=PAPER, align="centre")
        sheet.text(Box(box.x + 4.4, box.y, box.w - 4.4, box.h), "J1 W2", size=6, bold=True, max_lines=2)
    elif what == "wires":
        sheet.text(box, "S C T L J W", size=6, bold=True, align="centre", max_lines=2)
    else:
        _draw_bar(sheet, what, bar, feeds)


def _draw_bar(sheet: Paper, what: str, bar: Box, feeds: tuple[FeedMark, ...]) -> None:
    first, second = feeds
    if what == "tail":
        sheet.feed_bar(bar, first)
        tip = bar.x + 1.2
        sheet.line([(tip, bar.y - 2.4), (tip, bar.y - 1.4)], weight=1.1)
        sheet.polygon([(tip - 0.9, bar.y - 1.6), (tip + 0.9, bar.y - 1.6), (tip, bar.y - 0.1)])
    elif what == "cut":
        middle = bar.x + bar.w / 2
        sheet.feed_bar(Box(bar.x, bar.y - 1, bar.w / 2 - 0.7, bar.h), first)
        sheet.feed_bar(Box(middle + 0.7, bar.y - 1, bar.w / 2 - 0.7, bar.h), second)
        sheet.line([(middle, bar.y - 1.7), (middle, bar.bottom - 0.5)], weight=1.2)
    elif what == "single":
        sheet.feed_bar(Box(bar.x + 2.5, bar.y - 1, bar.w - 5, bar.h), first)
    else:
        sheet.feed_bar(bar.moved(0, -1), first)
        sheet.rectangle(Box(bar.x, bar.y - 1, bar.h, bar.h).inset(0.1), fill=PAPER, weight=0.9, radius=0.9)
