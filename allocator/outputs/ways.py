"""
Draw a way: its fuse and circuit on the front, its output cavity and wires on the wiring side.

Comes in as a place and a cell of a View; goes out as marks on a Sheet. ``docs/drawing-conventions.md`` explains each.
"""

from __future__ import annotations

from collections.abc import Sequence

from allocator.address import Place
from allocator.outputs.content import Content
from allocator.outputs.fonts import MM_PER_PT, NO_BREAK, width_em
from allocator.outputs.lettering import LEAST_PT
from allocator.outputs.marks import INK, PALE, PAPER, SOFT, USUAL_FUSE_V, fuse_colour
from allocator.outputs.paper import Box, Paper
from allocator.plan.index import NeedAt
from allocator.plan.wiring import OUTPUT, Run

NUMBER_MM, CHIP_MM = 3.6, 3.9
FUSE_MM, FUSE_SHARE, WIDE_FUSE_SHARE = (9.0, 14.0), 0.2, 0.3
"""Least and greatest height of a fuse, and its share of the cell's height, in a wide cell a larger one."""
SLOT_MM = (4.0, 2.5)
"""Width, where there is room, and height of an output cavity: its terminal's letter stands in it."""
NUMBERS_LINE_MM = 2.7
"""Room for a line of wire numbers, or of size and colour."""
LOOK_LINES = 4
"""Most lines for size and colour: in a narrow way ``2.5``, ``mm²``, ``RD/``, ``WH``."""
LEVEL_TEXT_MM = 17.0
"""A label with at least this much room across is written level."""
DETAIL_CELL_MM, DETAIL_MM = 9.4, 3.0
"""A way at least this wide says its current beside the label, in a strip this wide."""
TALL_MM = 45.0
"""A label with at least this much room may be larger."""


def draw_way(sheet: Paper, content: Content, place: Place, fuse_format: str, cell: Box, *, front: bool) -> None:
    """Draw one way, used or not, of the front or of the wiring side."""
    name = f"{'front' if front else 'wiring'} way {place}"
    used = content.index.way_by_place.get(place)
    number = Box(cell.x, cell.y + 0.3, cell.w, NUMBER_MM)
    if used is None:
        sheet.rectangle(cell, edge=PALE, weight=0.5, dashed=True, name=name)
        sheet.text(number, str(place.first), size=7, colour=SOFT, align="centre")
        letter = Box(cell.x, number.bottom, cell.w, 3)
        sheet.text(letter, fuse_format, size=6, colour=SOFT, align="centre")
        below = Box(cell.x + 0.5, letter.bottom + 0.5, cell.w - 1, cell.bottom - letter.bottom - 1)
        _label(sheet, below, "free, not fed", soft=True)
        return
    item = content.index.need_by_id[used.need]
    is_spare = used.kind == "spare"
    sheet.rectangle(cell, fill=PAPER, weight=0.6, dashed=is_spare, name=name)
    sheet.text(number, str(place.first), size=7.5, bold=True, align="centre")
    below = Box(cell.x, number.bottom, cell.w, cell.bottom - number.bottom)
    if front:
        _front(sheet, content, item, below)
    else:
        _back(sheet, content, item, below)


def relay_place(item: NeedAt) -> str:
    """Return where the relay of a need is, seen from its way: ``S1`` in the same module, else ``4/S1``."""
    if item.socket is None:
        return ""
    return f"S{item.socket.socket}" if item.jumper == "short" else f"{item.socket.bay}/S{item.socket.socket}"


def _front(sheet: Paper, content: Content, item: NeedAt, box: Box) -> None:
    share = WIDE_FUSE_SHARE if box.w > LEVEL_TEXT_MM else FUSE_SHARE
    height = min(max(FUSE_MM[0], share * box.h), FUSE_MM[1])
    width = min(box.w - 1.0, height * 0.9)
    fuse = Box(box.x + (box.w - width) / 2, box.y, width, height)
    rating_a = item.option.fuse_rating_a if item.option.fuse else None
    draw_fuse(sheet, fuse, str(item.option.fuse_format), rating_a, content.fuse_voltage_v(item))
    chip = Box(box.x + 0.1, box.bottom - CHIP_MM - 0.2, box.w - 0.2, CHIP_MM)
    label = Box(box.x + 0.5, fuse.bottom + 0.7, box.w - 1.0, box.bottom - fuse.bottom - 1.4)
    if item.socket is not None:
        label = Box(label.x, label.y, label.w, label.h - CHIP_MM)
        place = relay_place(item)
        sheet.first_text(chip, (place, place.replace("/", "/ ")), size=7, bold=True, align="centre", max_lines=2)
    peak_ma = max(content.loads_by_need[item.need.id])
    is_spare = item.need.kind == "spare"
    amount = f"{content.amperes(peak_ma)} kept" if is_spare else content.amperes(peak_ma)
    detail = amount if box.w >= DETAIL_CELL_MM and peak_ma else ""
    _label(sheet, label, content.label(item.need), detail, soft=is_spare)


def draw_fuse(
    sheet: Paper, box: Box, fuse_format: str, rating_a: float | None, voltage_v: float = USUAL_FUSE_V
) -> None:
    """
    Draw a fuse with its colour band, rating and type letter; no rating: the place of one that is not fitted.

    One for more than the usual voltage has a double frame and says its voltage: the two must not be mixed up.
    """
    sheet.rectangle(box, fill=PAPER, weight=0.6, radius=0.5, dashed=rating_a is None)
    is_high = voltage_v > USUAL_FUSE_V
    if is_high:
        sheet.rectangle(box.inset(-0.45), weight=0.6, radius=0.7)
    colour = None if rating_a is None else fuse_colour(fuse_format, rating_a)
    if colour is not None:
        sheet.rectangle(Box(box.x + 0.5, box.y + 0.5, box.w - 1, box.h * 0.18), fill=colour.colour, weight=0.3)
    rating = Box(box.x + 0.35, box.y + box.h * 0.29, box.w - 0.7, box.h * 0.39)
    text = "–" if rating_a is None else f"{rating_a:g}"
    sheet.text(rating, text, size=0.95 * box.h, bold=True, align="centre")
    letter = Box(box.x, box.y + box.h * 0.67, box.w, box.h * 0.3)
    kind = f"{fuse_format}{NO_BREAK}{voltage_v:g}V" if is_high else fuse_format
    sheet.text(letter, kind, size=0.62 * box.h, bold=is_high, colour=INK if is_high else SOFT, align="centre")


def _back(sheet: Paper, content: Content, item: NeedAt, box: Box) -> None:
    """Draw the output cavity: kind of terminal, number, size and colour of each wire, and where it goes."""
    place = str(item.way)
    runs = sorted(content.runs_at.get((place, OUTPUT), ()), key=lambda run: run.need != item.need.id)
    width, height = min(box.w - 1.2, SLOT_MM[0]), SLOT_MM[1]
    slot = Box(box.x + (box.w - width) / 2, box.y + 0.2, width, height)
    sheet.rectangle(slot, fill=INK if runs else PAPER, weight=0.6)
    if not runs:
        below = Box(box.x + 0.5, slot.bottom + 1, box.w - 1, box.bottom - slot.bottom - 2)
        _label(sheet, below, "spare, no wire", soft=True)
        return
    sheet.text(slot, content.terminal_letter(place, OUTPUT), size=7, bold=True, colour=PAPER, align="centre")
    top = _wires(sheet, content, runs, Box(box.x + 0.1, slot.bottom + 0.6, box.w - 0.2, 0)) + 0.5
    goes_to = f"to {relay_place(item)}: " if item.socket is not None else ""
    below = Box(box.x + 0.5, top, box.w - 1, box.bottom - top - 0.7)
    _label(sheet, below, goes_to + content.label(item.need))


def _wires(sheet: Paper, content: Content, runs: Sequence[Run], box: Box) -> float:
    """Write the number of every wire, those of one look together with it below them; return where it ends."""
    by_look: dict[tuple[str, str, str], list[str]] = {}
    for run in runs:
        size = content.area_text(run.wire).replace(NO_BREAK, " ")
        fuse = content.inline_text(run).replace(NO_BREAK, " ")
        by_look.setdefault((size, content.look_by_run[run.number].code, fuse), []).append(run.number)
    top = box.y
    for (size, look, fuse), numbers in by_look.items():
        at = Box(box.x, top, box.w, len(numbers) * NUMBERS_LINE_MM)
        # a number must never be torn: rather lighter type, which is narrower
        bold = max(width_em(number, bold=True) for number in numbers) * LEAST_PT * MM_PER_PT <= at.w
        text = " ".join(numbers)
        fitted = sheet.text(at, text, size=7, bold=bold, align="centre", max_lines=len(numbers), middle=False)
        at = Box(box.x, top + fitted.height_mm + 0.2, box.w, LOOK_LINES * NUMBERS_LINE_MM)
        behind = f" fuse {fuse}" if fuse else ""
        texts = f"{size} {look}{behind}", f"{size} {look.replace('/', '/ ')}{behind}"
        fitted = sheet.first_text(at, texts, size=6.5, align="centre", max_lines=LOOK_LINES, middle=False)
        top = at.y + fitted.height_mm + 0.3
    return top


def _label(sheet: Paper, box: Box, text: str, detail: str = "", *, soft: bool = False) -> None:
    """Write a label, upright in a narrow box, and a detail in small beside or under it."""
    upright = box.w < LEVEL_TEXT_MM
    if detail and upright:
        strip = Box(box.right - DETAIL_MM, box.y, DETAIL_MM, box.h)
        box = Box(box.x, box.y, box.w - DETAIL_MM, box.h)
        sheet.text(strip, detail, size=6.5, upright=True, colour=SOFT)
    elif detail:
        strip = Box(box.x, box.bottom - DETAIL_MM, box.w, DETAIL_MM)
        box = Box(box.x, box.y, box.w, box.h - DETAIL_MM)
        sheet.text(strip, detail, size=6.5, align="centre", colour=SOFT)
    sheet.text(
        box,
        text,
        size=7.5 if soft or (upright and box.h <= TALL_MM) else 10,
        upright=upright,
        align="left" if upright else "centre",
        middle=upright,
        max_lines=4,
        colour=SOFT if soft else INK,
    )
