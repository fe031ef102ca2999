"""
The lid legend of every carrier at real size: what each fuse and relay is for, to be read at arm's length.

Comes in as the Content of a plan; goes out as Sheets to print at 100 % and cut out, and as one Sheet of exactly the
size of each cover (``cover_width`` and ``cover_height`` of the catalogue, else those of the carrier); bays share it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from allocator.address import ROW_LETTERS, Place, SocketPlace
from allocator.outputs.book import Book
from allocator.outputs.content import Content
from allocator.outputs.fonts import MM_PER_PT, block_height_em, legible, width_em
from allocator.outputs.marks import INK, PALE, SOFT, WASH, fuse_colour
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A3_MM, A4_MM, Sheet
from allocator.outputs.titleblock import BENCH_FOOT, body_of
from allocator.outputs.workshop.lid_type import (
    GAP_MM,
    LEAST_SIZE_PT,
    LINE_GAP_MM,
    LOWERED_MM,
    SIZE_PT,
    WARNING,
    begin_sheet,
    draw_fuse,
)
from allocator.outputs.workshop.outside import add_cards
from allocator.plan.index import CarrierAt, ModuleAt, NeedAt

HEAD_MM, FOOT_MM, WARNING_MM = 5.0, 9.6, 2.9
NUMBER_MM, NUMBER_SHARE = 6.5, 0.125
RATING_MM, RATING_SHARE = 10.5, 0.215
"""Width of the number of a way and of its fuse, mm, and their largest shares of the width of a module."""
MOST_LINE_MM = 9.0
ELSEWHERE = "Main and in-line fuses: see their card."
ALIKE = 10
"""Labels with so many first signs in common are long, and differ where a short one ends."""


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of a legend: a heading (no number), or a way or socket with its fuse and label."""

    number: str
    label: str
    rating_a: float | None = None
    colour: str | None = None
    soft: bool = False


def legend_sheets(content: Content) -> tuple[Sheet, ...]:
    """
    Return the legends on sheets to print at 100 %, then the cards of fuses outside the modules.

    A legend that is wider than the paper is cut between modules.
    """
    size = _paper_of(content)
    book = Book(content, size, "legend", BENCH_FOOT)
    width = body_of(Sheet(size), BENCH_FOOT).w
    for carrier in content.index.carriers:
        parts = list(_parts(content, carrier, width))
        for number, bays in enumerate(parts, 1):
            part = f", part {number} of {len(parts)}" if len(parts) > 1 else ""
            _place(book, content, carrier, bays, part)
    add_cards(book, content)
    return book.finish()


def legend_covers(content: Content) -> Mapping[str, Sheet]:
    """Return a sheet of exactly the size of each cover, by the name of its file without its ending."""
    found = {}
    for number, carrier in enumerate(content.index.carriers, 1):
        sheet = Sheet(carrier.carrier.legend_mm)
        _draw(sheet, content, carrier, carrier.bays, sheet.page)
        found[f"legend-{number}"] = sheet
    return found


def _paper_of(content: Content) -> tuple[float, float]:
    """Return A4, or the smallest larger paper that every cover is not too high for."""
    highest = max(item.carrier.legend_mm[1] for item in content.index.carriers) + HEAD_MM + 3 * GAP_MM
    for size in (A4_MM, A3_MM):
        if highest <= body_of(Sheet(size), BENCH_FOOT).h:
            return size
    return A3_MM[0], highest + A3_MM[1] - body_of(Sheet(A3_MM), BENCH_FOOT).h


def _parts(content: Content, carrier: CarrierAt, width_mm: float) -> Iterator[range]:
    """Cut the bays of a carrier between modules into parts that are no wider than the paper."""
    pitch = carrier.carrier.legend_mm[0] / carrier.carrier.bays
    first = bay = carrier.first_bay
    while bay < carrier.bays.stop:
        module = content.index.module_by_bay.get((carrier.panel, bay))
        after = bay + (module.module.bays if module else 1)
        if after - first > width_mm / pitch and bay > first:
            yield range(first, bay)
            first = bay
        bay = after
    yield range(first, carrier.bays.stop)


def _place(book: Book, content: Content, carrier: CarrierAt, bays: range, part: str) -> None:
    """Put a part of a legend onto the last sheet, or onto a new one if there is no room; a new one gets a ruler."""
    width, cover = carrier.carrier.legend_mm
    height = cover + HEAD_MM + GAP_MM
    if not book.sheets or book.used_mm + height > book.body.h:
        begin_sheet(book)
    sheet, top = book.sheets[-1], book.body.y + book.used_mm
    pitch = width / carrier.carrier.bays
    span = f"bays {bays[0]} to {bays[-1]}" if len(bays) > 1 else f"bay {bays[0]}"
    name = f"Panel {content.panel_name(carrier.panel)}, {legible(carrier.carrier.label)}, {span}"
    head = Box(book.body.x, top, book.body.w, HEAD_MM - 1)
    sheet.text(head, f"{name}{part}: cut out along the line", size=8, bold=True)
    _draw(sheet, content, carrier, bays, Box(book.body.x, top + HEAD_MM, pitch * len(bays), cover))
    book.used_mm += height


def _draw(sheet: Sheet, content: Content, carrier: CarrierAt, bays: Sequence[int], box: Box) -> None:
    sheet.rectangle(box, weight=0.6)
    pitch = box.w / len(bays)
    body = box.h - FOOT_MM
    starts = _module_starts(content, carrier)
    for bay in bays:
        x = box.x + (bay - bays[0]) * pitch
        module = content.index.module_by_bay.get((carrier.panel, bay))
        if module is not None:
            _module(sheet, content, module, Box(x, box.y, pitch * module.module.bays, body).inset(1.0, 0.8))
        if bay > bays[0] and bay in starts:
            sheet.line([(x, box.y), (x, box.y + body)], colour=PALE, weight=0.5)
    foot = Box(box.x + 1, box.bottom - FOOT_MM, box.w - 2, FOOT_MM - WARNING_MM - 0.6)
    issue = legible(", ".join(filter(None, (content.issue_text, content.supersedes_text))))
    words = f"{content.vehicle}, {content.panel_name(carrier.panel)}. {issue}. {ELSEWHERE}"
    sheet.text(foot, words, size=7, max_lines=3)
    sheet.text(Box(foot.x, foot.bottom, foot.w, WARNING_MM), WARNING, size=7, bold=True)


def _module_starts(content: Content, carrier: CarrierAt) -> frozenset[int]:
    """Return the bays in which no module goes on that began in an earlier one."""
    modules = [item for item in content.index.modules if item.panel == carrier.panel]
    inside = {item.bay + n for item in modules for n in range(1, item.module.bays)}
    return frozenset(carrier.bays) - inside


def _module(sheet: Sheet, content: Content, module: ModuleAt, box: Box) -> None:
    """Draw the lines of a module: in one column, or in as many as it has bays where one is too low for them."""
    columns = _columns(list(_lines(content, module)), box.h, module.module.bays)
    width = box.w / len(columns)
    for number, lines in enumerate(columns):
        _column(
            sheet,
            lines,
            Box(box.x + number * width, box.y, width - (0.0 if number + 1 == len(columns) else 1.5), box.h),
        )


def _columns(lines: Sequence[_Line], height_mm: float, most: int) -> list[list[_Line]]:
    """Put rows and relays, each with its heading, below each other while there is room, then beside each other."""
    columns: list[list[_Line]] = [[]]
    starts = [number for number, line in enumerate(lines) if not line.number]
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        section = list(lines[start:end])
        together = sum(_height_mm(line.label, 1) for line in (*columns[-1], *section))
        if columns[-1] and together > height_mm and len(columns) < most:
            columns.append([])
        columns[-1] += section
    return columns


def _column(sheet: Sheet, lines: Sequence[_Line], box: Box) -> None:
    widths = min(NUMBER_MM, NUMBER_SHARE * box.w), min(RATING_MM, RATING_SHARE * box.w)
    heights = _heights_mm(lines, widths, box)
    top = box.y
    for line, height in zip(lines, heights, strict=True):
        at = Box(box.x, top, box.w, height)
        top = at.bottom
        if line.number:
            _way(sheet, at, line, widths)
        else:
            sheet.rectangle(at.inset(0, 0.2), fill=WASH, edge=None)
            sheet.text(at.inset(0.4, LINE_GAP_MM / 2), line.label, size=SIZE_PT, bold=True)


def _heights_mm(lines: Sequence[_Line], widths: tuple[float, float], box: Box) -> list[float]:
    """
    Share out the height: a line for each, a second one for long labels while there is room, the rest evenly.

    Labels that begin alike come first: cut at the same place they could not be told apart.
    """
    needed = [_height_mm(line.label, 1) for line in lines]
    begins = Counter(line.label[:ALIKE] for line in lines)
    for number in sorted(range(len(lines)), key=lambda number: begins[lines[number].label[:ALIKE]] == 1):
        line = lines[number]
        width = box.w - widths[0] - (widths[1] if line.rating_a is not None else 0) - 0.8
        is_long = width_em(line.label) * LEAST_SIZE_PT * MM_PER_PT > width
        taller = _height_mm(line.label, 2)
        if line.number and is_long and sum(needed) - needed[number] + taller <= box.h:
            needed[number] = taller
    slack = (box.h - sum(needed)) / max(1, len(lines))
    return [height + min(slack, max(0.0, MOST_LINE_MM - height)) for height in needed]


def _height_mm(label: str, num_lines: int) -> float:
    """Return the height of lines of the smallest type, with the gap below them; some scripts are higher than others."""
    return block_height_em([label or "0"] * num_lines) * LEAST_SIZE_PT * MM_PER_PT + LINE_GAP_MM


def _way(sheet: Sheet, at: Box, line: _Line, widths: tuple[float, float]) -> None:
    lowered = at.y + LOWERED_MM
    number = Box(at.x, lowered, widths[0], at.h - LINE_GAP_MM)
    sheet.text(number, line.number, size=SIZE_PT, bold=True, align="centre")
    left = number.right
    if line.rating_a is not None:
        fuse = Box(left, at.y + LINE_GAP_MM / 2, widths[1], at.h - LINE_GAP_MM).inset(0.25, 0)
        draw_fuse(sheet, fuse, line.rating_a, line.colour)
        left += widths[1]
    label = Box(left + 0.8, lowered, at.right - left - 0.8, at.h - LINE_GAP_MM)
    colour = SOFT if line.soft else INK
    lower = label.h / (_height_mm(line.label, 1) - LINE_GAP_MM)
    smallest = LEAST_SIZE_PT * (1.0 if lower >= 1.0 else 0.99 * lower)
    sheet.text(label, line.label, size=SIZE_PT, smallest=smallest, max_lines=2, colour=colour)
    sheet.line([(at.x, at.bottom), (at.right, at.bottom)], colour=PALE, weight=0.4)


def _lines(content: Content, module: ModuleAt) -> Iterator[_Line]:
    """Yield the lines of a module: every row with its fuse format, every way of it, every socket."""
    index = content.index
    for number, row in enumerate(module.module.rows):
        yield _Line("", f"{module.bay}/{ROW_LETTERS[number]}, type {row.fuse_format}, A")
        for way in range(1, row.ways + 1):
            used = index.way_by_place.get(Place(module.panel, module.bay, number, way))
            yield _way_line(content, str(way), index.need_by_id[used.need] if used else None)
    if module.sockets:
        yield _Line("", f"{module.bay}, relays")
    for socket in range(1, len(module.sockets) + 1):
        used_socket = index.socket_by_place.get(SocketPlace(module.panel, module.bay, socket))
        label = content.label(index.need_by_id[used_socket.need].need) if used_socket else "empty"
        yield _Line(f"S{socket}", label, soft=used_socket is None)


def _way_line(content: Content, number: str, item: NeedAt | None) -> _Line:
    if item is None:
        return _Line(number, "not fed", soft=True)
    if item.need.kind == "spare":
        return _Line(number, f"spare, {content.marks[item.feed].code}", soft=True)
    colour = fuse_colour(str(item.option.fuse_format), item.option.fuse_rating_a)
    return _Line(number, content.label(item.need), item.option.fuse_rating_a, colour.colour if colour else None)
