"""
Labels to print and cut out: for both ends of every wire its number, where this end goes, and what it is for; and for
every holder outside the modules the fuse that goes into it, where it is, and what it protects.

Comes in as the Content of a plan; goes out as finished Sheets.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from allocator.outputs.book import Book
from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK, legible
from allocator.outputs.marks import PALE, SOFT
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A4_MM, Sheet
from allocator.outputs.titleblock import BENCH_FOOT
from allocator.outputs.workshop.lid_type import WARNING
from allocator.outputs.workshop.outside import fuses_to_label

LABEL_MM = (45.0, 13.0)
GAP_MM, HEAD_MM = 1.2, 4.0


@dataclass(frozen=True, slots=True)
class _Label:
    """What a label says: its name and what stands beside it, then three lines, the last in bold."""

    name: str
    beside: str
    lines: tuple[str, str, str]


def label_sheets(content: Content) -> tuple[Sheet, ...]:
    """Return the labels, both ends of a wire beside each other, in the order of the wires; then those of holders."""
    book = Book(content, A4_MM, "labels", BENCH_FOOT)
    _add(book, "wire labels, one for each end", list(_of_wires(content)))
    _add(book, "labels for fuse holders", list(_of_holders(content)))
    return book.finish()


def _add(book: Book, title: str, labels: list[_Label]) -> None:
    place = room = 0
    for label in labels:
        if place == room:
            body = book.new(title)
            across = int(body.w // (LABEL_MM[0] + GAP_MM)) // 2 * 2
            place, room = 0, across * int(body.h // (LABEL_MM[1] + GAP_MM))
        x = body.x + place % across * (LABEL_MM[0] + GAP_MM)
        y = body.y + place // across * (LABEL_MM[1] + GAP_MM)
        _draw(book.sheets[-1], label, Box(x, y, *LABEL_MM))
        place += 1


def _of_wires(content: Content) -> Iterator[_Label]:
    for run in content.runs:
        need = content.sized.need_by_id.get(run.need)
        what = content.label(need) if need else f"feed {content.marks[run.feed].code} {content.feed_name(run.feed)}"
        look = f"{content.area_text(run.wire)} {content.look_by_run[run.number].code}"
        look += f", {content.inline_text(run)} in line" if run.inline is not None else ""
        for end, far in ((run.start, run.end), (run.end, run.start)):
            here, there = (content.end_name(item, run.feed) for item in (end, far))
            yield _Label(run.number, look, (f"at {here}", f"to {there}", legible(what)))


def _of_holders(content: Content) -> Iterator[_Label]:
    """Yield a label for every in-line holder and, once, for every main one."""
    rating_by_fuse = {fuse.id: fuse.rating for fuse in content.sized.requirements.catalogue.fuses}
    for item in fuses_to_label(content):
        fuse = f"{item.kind} holder, {rating_by_fuse[item.fuse]:g}{NO_BREAK}A {content.fuse_type(item.fuse)}"
        yield _Label(item.name, fuse, (item.where, item.protects, WARNING))


def _draw(sheet: Sheet, label: _Label, box: Box) -> None:
    sheet.rectangle(box, edge=PALE, weight=0.4)
    inner = box.inset(0.8, 0.5)
    sheet.text(Box(inner.x, inner.y, 13, HEAD_MM), label.name, size=9, bold=True)
    sheet.text(Box(inner.x + 13, inner.y, inner.w - 13, HEAD_MM), label.beside, size=7, align="right", colour=SOFT)
    height = (inner.h - HEAD_MM) / 3
    for number, text in enumerate(label.lines):
        at = Box(inner.x, inner.y + HEAD_MM + number * height, inner.w, height)
        sheet.text(at, text, size=6.5, bold=number == len(label.lines) - 1)
