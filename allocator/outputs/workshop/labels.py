"""
Labels for both ends of every wire, to print and cut out: its number, where this end goes, and what it is for.

Comes in as the Content of a plan; goes out as finished Sheets.
"""

from __future__ import annotations

from allocator.outputs.book import Book
from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.marks import PALE, SOFT
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A4_MM, Sheet
from allocator.outputs.titleblock import BENCH_FOOT
from allocator.plan.wiring import Run, WireEnd

LABEL_MM = (45.0, 13.0)
GAP_MM, HEAD_MM = 1.2, 4.0


def label_sheets(content: Content) -> tuple[Sheet, ...]:
    """Return the labels, both ends of a wire beside each other, in the order of the wires."""
    book = Book(content, A4_MM, "labels", BENCH_FOOT)
    place = room = 0
    for run in content.runs:
        for end, far in ((run.start, run.end), (run.end, run.start)):
            if place == room:
                body = book.new("wire labels, one for each end")
                across = int(body.w // (LABEL_MM[0] + GAP_MM)) // 2 * 2
                place, room = 0, across * int(body.h // (LABEL_MM[1] + GAP_MM))
            x = body.x + place % across * (LABEL_MM[0] + GAP_MM)
            y = body.y + place // across * (LABEL_MM[1] + GAP_MM)
            _draw(book.sheets[-1], content, run, (end, far), Box(x, y, *LABEL_MM))
            place += 1
    return book.finish()


def _draw(sheet: Sheet, content: Content, run: Run, ends: tuple[WireEnd, WireEnd], box: Box) -> None:
    here, far = (content.end_name(end, run.feed) for end in ends)
    need = content.sized.need_by_id.get(run.need)
    what = content.label(need) if need else f"feed {content.marks[run.feed].code} {content.feed_name(run.feed)}"
    sheet.rectangle(box, edge=PALE, weight=0.4)
    inner = box.inset(0.8, 0.5)
    sheet.text(Box(inner.x, inner.y, 13, HEAD_MM), run.number, size=9, bold=True)
    look = f"{content.area_text(run.wire)} {content.look_by_run[run.number].code}"
    look += f", in-line fuse {content.inline_text(run)}" if run.inline is not None else ""
    sheet.text(Box(inner.x + 13, inner.y, inner.w - 13, HEAD_MM), look, size=7, align="right", colour=SOFT)
    height = (inner.h - HEAD_MM) / 3
    for number, (text, bold) in enumerate(((f"at {here}", False), (f"to {far}", False), (legible(what), True))):
        at = Box(inner.x, inner.y + HEAD_MM + number * height, inner.w, height)
        sheet.text(at, text, size=6.5, bold=bold)
