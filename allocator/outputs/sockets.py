"""
Draw a relay socket: class, relay, what it switches, where its fuse is, and its terminals by DIN 72552 designation.

Comes in as a place and a box on a sheet; goes out as marks there. Terminals stand in the order 30, 85, 86, 87, 87a (49,
49a, 31) from the left on the front and from the right on the wiring side; where they sit on the socket is its maker's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from allocator.address import ROW_LETTERS, SocketPlace
from allocator.outputs.content import Content
from allocator.outputs.fonts import drawable
from allocator.outputs.marks import INK, PALE, PAPER, SOFT
from allocator.outputs.paper import Box, Paper
from allocator.plan.index import NeedAt
from allocator.plan.plan import UsedSocket
from allocator.plan.wiring import LOAD, STUD, Run, WireEnd, is_spliced
from allocator.requirements.catalogue import Relay

ORDER = ("30", "49", "85", "86", "31", "87", "49a", "87a")
HEAD_MM, TAB_MM, GAP_MM = 4.2, 3.6, 0.9
USUAL_MM, MOST_LARGER = 34.0, 1.4
"""Height from which a socket gets larger type, and how much larger at the most."""
LINE_MM_PER_PT = 0.4
"""Height of a line with its gap, for each point of type."""


@dataclass(frozen=True, slots=True)
class _Line:
    """A text on the front of a socket."""

    text: str
    size_pt: float
    bold: bool = False
    soft: bool = False


def draw_socket(sheet: Paper, content: Content, box: Box, place: SocketPlace, *, front: bool) -> None:
    """Draw one socket, used or not, of the front or of the wiring side."""
    name = f"{'front' if front else 'wiring'} socket {place}"
    used = content.index.socket_by_place.get(place)
    relay_class = content.index.module_by_bay[place.panel, place.bay].sockets[place.socket - 1]
    head = Box(box.x + 0.8, box.y + 0.3, box.w - 1.6, HEAD_MM)
    if used is None:
        sheet.rectangle(box, edge=PALE, dashed=True, name=name)
        sheet.text(head, f"S{place.socket}  {relay_class}, empty", size=7, colour=SOFT)
        return
    item = content.index.need_by_id[used.need]
    relay = _relay(content, item)
    sheet.rectangle(box, fill=PAPER, weight=0.8, name=name)
    names = (f"S{place.socket}  {relay_class}, {relay.function}", f"S{place.socket}  {relay.function}")
    sheet.first_text(head, names, size=7, bold=True)
    tabs = tabs_of(content, used)
    body = Box(box.x + 0.8, head.bottom, box.w - 1.6, box.bottom - head.bottom - 0.8)
    if front:
        _front(sheet, content, body, place, tabs)
    else:
        _back(sheet, content, body, place, tabs)


def _relay(content: Content, item: NeedAt) -> Relay:
    return next(part for part in content.sized.requirements.catalogue.relays if part.id == item.option.relay)


def tabs_of(content: Content, used: UsedSocket) -> tuple[str, ...]:
    """Return the designations of a used socket, in the order in which drawings have them."""
    catalogue = content.sized.requirements.catalogue
    relay = next(part for part in catalogue.relays if part.id == used.relay)
    for spec in catalogue.relay_tabs:
        if (spec.relay_class, spec.function) == (relay.relay_class, relay.function):
            return tuple(tab for tab in ORDER if tab in spec.tabs)
    return ()


def _front(sheet: Paper, content: Content, box: Box, place: SocketPlace, tabs: tuple[str, ...]) -> None:
    foot = Box(box.x, box.bottom - TAB_MM, box.w, TAB_MM)
    for number, tab in enumerate(tabs):
        _tab(sheet, _column(foot, number, len(tabs)), tab, used=False)
    # a tall socket gets larger type, not a wide gap
    larger = min(max(1.0, box.h / USUAL_MM), MOST_LARGER)
    top = box.y + 0.6
    for line in _lines(content, place):
        size = line.size_pt * larger
        room = Box(box.x, top, box.w, 2 * size * LINE_MM_PER_PT)
        if room.bottom <= foot.y:
            colour = SOFT if line.soft else INK
            fitted = sheet.text(room, line.text, size=size, bold=line.bold, colour=colour, max_lines=2, middle=False)
            top += fitted.height_mm + GAP_MM * larger


def _lines(content: Content, place: SocketPlace) -> Iterator[_Line]:
    """Return what the front of a socket tells, the most important first."""
    item = content.index.need_by_id[content.index.socket_by_place[place].need]
    relay = _relay(content, item)
    yield _Line(content.label(item.need), 7.5, bold=True)
    yield _Line(_fuse_text(content, item), 6.5)
    yield _Line(drawable(relay.label, relay.id), 6.0, soft=True)
    for tab in ORDER[2:]:
        leads = (
            run for run in content.runs_at.get((str(place), tab), ()) if LOAD not in (run.start.place, run.end.place)
        )
        for run in leads:
            yield _Line(f"{tab}: {_far(content, place, run)}", 6.0, soft=True)


def _fuse_text(content: Content, item: NeedAt) -> str:
    """Say which way protects the contact, or that a feed comes in directly."""
    if item.way is None:
        return f"{content.marks[item.feed].code} {content.feed_name(item.feed)} enters at 30"
    return f"fuse {item.way.bay}/{ROW_LETTERS[item.way.row or 0]}/{item.way.first}, {item.jumper} jumper"


def _back(sheet: Paper, content: Content, box: Box, place: SocketPlace, tabs: tuple[str, ...]) -> None:
    for number, tab in enumerate(tabs):
        column = _column(box, len(tabs) - 1 - number, len(tabs))
        runs = content.runs_at.get((str(place), tab), ())
        _tab(sheet, Box(column.x, column.y, column.w, TAB_MM), tab, used=bool(runs))
        text = "; ".join(_goes_to(content, place, tab, run) for run in runs) or "open"
        below = Box(column.x + 0.3, column.y + TAB_MM + 0.6, column.w - 0.6, column.h - TAB_MM - 0.6)
        size = min(7 * max(1.0, box.h / USUAL_MM), 9)
        sheet.text(below, text, size=size, upright=True, max_lines=6, colour=INK if runs else SOFT, align="right")


def _goes_to(content: Content, place: SocketPlace, tab: str, run: Run) -> str:
    look, here = content.look_by_run[run.number].code, run.end if run.end.place == str(place) else run.start
    kind = "splice" if is_spliced(here) else content.terminal_letter(str(place), tab)
    return f"{run.number} {content.area_text(run.wire)} {look}, {kind}: {_far(content, place, run)}"


def _far(content: Content, place: SocketPlace, run: Run) -> str:
    """Name the other end of a wire that ends at a socket."""
    other = run.start if run.end.place == str(place) else run.end
    if other.place == LOAD:
        return content.label(content.sized.need_by_id[run.need])
    if run.inline is not None:
        return f"{content.inline_text(run)} in line, {_far_place(content, place, run, other)}"
    return _far_place(content, place, run, other)


def _far_place(content: Content, place: SocketPlace, run: Run, other: WireEnd) -> str:
    panel = content.panel_name(place.panel)
    far = content.end_name(other, run.feed) if other.cavity == STUD else content.place_name(other.place)
    return far.removeprefix(f"{panel}/").removeprefix(f"{panel}, ") if other.cavity else far


def _column(box: Box, number: int, num_columns: int) -> Box:
    width = box.w / num_columns
    return Box(box.x + number * width + 0.3, box.y, width - 0.6, box.h)


def _tab(sheet: Paper, box: Box, designation: str, *, used: bool) -> None:
    sheet.rectangle(box, fill=INK if used else PAPER, weight=0.5, radius=0.4)
    sheet.text(box, designation, size=6.5, align="centre", bold=used, colour=PAPER if used else SOFT)
