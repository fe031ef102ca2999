"""
Draw a relay socket: class, relay, what it switches, where its fuse is, and its terminals by DIN 72552 designation.

Comes in as a place and a box on a sheet; goes out as marks there. Terminals stand in the order 30, 85, 86, 87, 87a (49,
49a, 31) from the left on the front and from the right on the wiring side; where they sit on the socket is its maker's.
"""

from __future__ import annotations

from allocator.outputs.content import Content
from allocator.outputs.lettering import drawable
from allocator.outputs.marks import INK, PALE, PAPER, SOFT
from allocator.outputs.sheet import Box, Sheet
from allocator.outputs.wiring import LOAD, Run
from allocator.plan.address import ROW_LETTERS, SocketPlace
from allocator.plan.index import NeedAt

ORDER = ("30", "49", "85", "86", "31", "87", "49a", "87a")
HEAD_MM, TAB_MM = 4.2, 3.6


def draw_socket(sheet: Sheet, content: Content, box: Box, place: SocketPlace, *, front: bool) -> None:
    """Draw one socket, used or not, of the front or of the wiring side."""
    name = f"{'front' if front else 'wiring'} socket {place}"
    used = content.index.socket_by_place.get(place)
    relay_class = content.index.module_by_bay[place.panel, place.bay].sockets[place.socket - 1]
    head = Box(box.x + 0.8, box.y + 0.3, box.w - 1.6, HEAD_MM)
    if used is None:
        sheet.rectangle(box, edge=PALE, dashed=True, name=name)
        sheet.text(head, f"S{place.socket}  {relay_class}, empty", size=6.5, colour=SOFT)
        return
    item = content.index.need_by_id[used.need]
    relay = next(part for part in content.sized.requirements.catalogue.relays if part.id == item.option.relay)
    sheet.rectangle(box, fill=PAPER, weight=0.8, name=name)
    sheet.text(head, f"S{place.socket}  {relay_class}, {relay.function}", size=6.5, bold=True)
    tabs = _tabs(content, relay_class, relay.function)
    body = Box(box.x + 0.8, head.bottom, box.w - 1.6, box.bottom - head.bottom - 0.8)
    if front:
        _front(sheet, content, body, item, drawable(relay.label, relay.id), tabs)
    else:
        _back(sheet, content, body, place, tabs)


def _tabs(content: Content, relay_class: str, function: str) -> tuple[str, ...]:
    for spec in content.sized.requirements.catalogue.relay_tabs:
        if (spec.relay_class, spec.function) == (relay_class, function):
            return tuple(tab for tab in ORDER if tab in spec.tabs)
    return ()


def _front(sheet: Sheet, content: Content, box: Box, item: NeedAt, relay: str, tabs: tuple[str, ...]) -> None:
    foot = Box(box.x, box.bottom - TAB_MM, box.w, TAB_MM)
    for number, tab in enumerate(tabs):
        _tab(sheet, _column(foot, number, len(tabs)), tab, used=False)
    lines = Box(box.x, box.y, box.w, foot.y - box.y - 0.6)
    share = lines.h / 4
    sheet.text(
        Box(lines.x, lines.y, lines.w, 2 * share),
        content.label(item.need),
        size=7.5,
        max_lines=2,
        bold=item.need.kind == "feed",
    )
    sheet.text(Box(lines.x, lines.y + 2 * share, lines.w, share), _fuse_text(content, item), size=6.5)
    sheet.text(Box(lines.x, lines.y + 3 * share, lines.w, share), relay, size=6, smallest=4.5, colour=SOFT)


def _fuse_text(content: Content, item: NeedAt) -> str:
    """Say which way protects the contact, or that a feed comes in directly."""
    if item.way is None:
        return f"{content.marks[item.feed].code} enters at 30"
    return f"fuse {item.way.bay}/{ROW_LETTERS[item.way.row or 0]}/{item.way.first}, {item.jumper} jumper"


def _back(sheet: Sheet, content: Content, box: Box, place: SocketPlace, tabs: tuple[str, ...]) -> None:
    for number, tab in enumerate(tabs):
        column = _column(box, len(tabs) - 1 - number, len(tabs))
        runs = content.runs_at.get((str(place), tab), ())
        _tab(sheet, Box(column.x, column.y, column.w, TAB_MM), tab, used=bool(runs))
        text = "; ".join(_goes_to(content, place, run) for run in runs) or "open"
        below = Box(column.x + 0.3, column.y + TAB_MM + 0.6, column.w - 0.6, column.h - TAB_MM - 0.6)
        sheet.text(
            below, text, size=6, smallest=4.5, upright=True, max_lines=4, colour=INK if runs else SOFT, align="right"
        )


def _goes_to(content: Content, place: SocketPlace, run: Run) -> str:
    other = run.start if run.end.place == str(place) else run.end
    far = content.label(content.sized.need_by_id[run.need]) if other.place == LOAD else content.place_name(other.place)
    panel = content.panel_name(place.panel)
    far = far.removeprefix(f"{panel}/") if other.cavity else far
    return f"{run.number} {content.area_text(run.wire)} {far}"


def _column(box: Box, number: int, num_columns: int) -> Box:
    width = box.w / num_columns
    return Box(box.x + number * width + 0.3, box.y, width - 0.6, box.h)


def _tab(sheet: Sheet, box: Box, designation: str, *, used: bool) -> None:
    sheet.rectangle(box, fill=INK if used else PAPER, weight=0.5, radius=0.4)
    sheet.text(box, designation, size=6, smallest=4, align="centre", bold=used, colour=PAPER if used else SOFT)
