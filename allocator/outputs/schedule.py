"""
Tables that go with the drawing: every place with its circuit in full, every feed entry, every feed.

Comes in as the Content of a plan; goes out as Tables of text, cut into pages that fit the body of a sheet. Text in a
cell wraps until all of it is there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from allocator.outputs.content import Content
from allocator.outputs.goals import value_text
from allocator.outputs.lettering import clean, drawable, fit
from allocator.outputs.marks import INK, PALE, SOFT, WASH
from allocator.outputs.sheet import Box, Sheet
from allocator.outputs.wiring import INLET
from allocator.plan.index import EntryAt, NeedAt
from allocator.plan.measures import feed_loads
from allocator.units import from_model

SIZE_PT = 6.5
LINE_MM = 2.9
PAD_MM = 1.1
HEAD_MM = 10.5
MOST_LINES = 12


@dataclass(frozen=True, slots=True)
class Table:
    """A table: title, column heads with their share of the width, and rows of text."""

    title: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class TablePart:
    """Rows of a table that go on one page, each with its height, mm."""

    table: Table
    first: int
    heights: tuple[float, ...]

    @property
    def height(self) -> float:
        """Height on the sheet, mm."""
        return HEAD_MM + sum(self.heights)


def tables_of(content: Content) -> tuple[Table, ...]:
    """Return the tables of a plan: ways and sockets, feed entries, feeds, cautions about this vehicle."""
    cautions = tuple((str(number), drawable(text)) for number, text in enumerate(content.plan.cautions, 1))
    about = Table("Cautions about this vehicle", (("no.", 0.04), ("caution", 0.96)), cautions)
    return _places(content), _entries(content), _feeds(content), about


def _places(content: Content) -> Table:
    columns = (
        ("place", 0.095), ("circuit", 0.09), ("label in full", 0.235), ("load", 0.055), ("fuse", 0.05), ("feed", 0.09),
        ("wire", 0.06), ("relay, jumper", 0.155), ("coil from", 0.08), ("runs in", 0.09),
    )  # fmt: skip
    items = sorted(content.index.needs, key=lambda item: _order(content, item))
    return Table("Ways and sockets", columns, tuple(_place_row(content, item) for item in items))


def _order(content: Content, item: NeedAt) -> tuple[int, int, int, int]:
    panel = content.index.panels.index(item.panel)
    if item.way is not None:
        return panel, item.way.bay or 0, item.way.row or 0, item.way.first or 0
    return panel, item.socket.bay if item.socket else 0, 99, item.socket.socket if item.socket else 0


def _place_row(content: Content, item: NeedAt) -> tuple[str, ...]:
    need, option = item.need, item.option
    cases = content.sized.requirements.scenario.load_cases
    runs = [case.name for case, load_ma in zip(cases, need.load_ma_by_case, strict=True) if load_ma]
    return (
        content.place_name(str(item.way or item.socket)),
        drawable(need.id, "(no font here)"),
        _full_label(content, item),
        _amperes(max(need.load_ma_by_case)) if need.kind == "circuit" else "",
        content.fuse_text(item),
        f"{content.marks[item.feed].code} {content.feed_name(item.feed)}",
        content.area_text(option.wire) if option.wire else "",
        _relay_text(content, item),
        _control(content, item),
        "" if need.kind != "circuit" else "all cases" if len(runs) == len(cases) else ", ".join(map(drawable, runs)),
    )


def _full_label(content: Content, item: NeedAt) -> str:
    label = content.label(item.need)
    return (
        label if content.is_drawable(item.need) else f"{label} (its label has signs that no font here draws: wires.csv)"
    )


def _amperes(load_ma: int) -> str:
    return f"{from_model(load_ma):.4g} A"


def _relay_text(content: Content, item: NeedAt) -> str:
    if item.socket is None or item.option.relay is None:
        return ""
    jumper = f", {item.jumper}" if item.jumper else ""
    return f"{item.socket.bay}/S{item.socket.socket} {drawable(item.option.relay)}{jumper}"


def _control(content: Content, item: NeedAt) -> str:
    if item.socket is None:
        return ""
    scenario = content.sized.requirements
    controls = {circuit.id: circuit.control for circuit in scenario.circuits}
    controls |= {feed.name: feed.control for feed in scenario.scenario.feeds if item.need.kind == "feed"}
    return drawable(controls.get(item.need.id) or "own fuse")


def _entries(content: Content) -> Table:
    columns = (
        ("entry", 0.14), ("kind", 0.08), ("feed", 0.14), ("ways", 0.06), ("peak load", 0.1), ("may carry", 0.1),
        ("tail", 0.06), ("wire", 0.09), ("terminal", 0.12), ("from", 0.11),
    )  # fmt: skip
    return Table("Feed entries", columns, tuple(_entry_row(content, entry) for entry in content.index.entries))


def _entry_row(content: Content, entry: EntryAt) -> tuple[str, ...]:
    runs = content.runs_at.get((entry.piece.at, INLET)) or content.runs_at.get((entry.piece.at, "30"), ())
    run = next((run for run in runs if run.role in ("tail", "cable")), None)
    limit = "" if entry.group is None else _amperes(_sizing(content, entry))
    covered = [place for place, at in content.index.entry_by_way.items() if at == entry]
    return (
        content.place_name(entry.piece.at),
        entry.piece.kind,
        f"{content.marks[entry.piece.feed].code} {content.feed_name(entry.piece.feed)}",
        str(sum(place in content.index.way_by_place for place in covered)) if covered else "–",
        _amperes(content.entry_peak_ma(entry)),
        limit or "–",
        run.number if run else "",
        content.area_text(run.wire) if run else "",
        drawable(run.end.terminal) if run else "",
        "distribution stud" if run and run.role == "tail" else "cable" if run else "",
    )


def _sizing(content: Content, entry: EntryAt) -> int:
    return content.sized.entries[entry.at.panel, entry.at.module.id, entry.group or 0, entry.piece.feed].limit_ma


def _feeds(content: Content) -> Table:
    columns = (
        ("code", 0.05), ("feed", 0.13), ("label", 0.22), ("kind", 0.09), ("from", 0.12), ("rating", 0.08),
        ("allowed", 0.08), ("largest load", 0.09), ("share", 0.06), ("entries", 0.08),
    )  # fmt: skip
    loads = {load.feed: load for load in feed_loads(content.index)}
    rows = []
    for feed in content.sized.requirements.scenario.feeds:
        load = loads[feed.name]
        share = max(load.utilisation_by_case)
        rows.append(
            (
                content.marks[feed.name].code,
                content.feed_name(feed.name),
                drawable(feed.label, feed.name),
                feed.kind,
                content.feed_name(feed.source) if feed.source else "supply",
                _amperes(load.rating_ma),
                f"{float(load.allowed_ma) / 1000:.4g} A",
                _amperes(max(load.load_ma_by_case)),
                value_text("peak-utilisation", share, ""),
                str(sum(entry.piece.feed == feed.name for entry in content.index.entries)),
            )
        )
    return Table("Feeds", columns, tuple(rows))


def parts_of(table: Table, width_mm: float, rooms: Callable[[], float]) -> Iterator[TablePart]:
    """
    Cut a table into parts that fit.

    Parameters
    ----------
    table
        Table to cut.
    width_mm
        Width that it is drawn in.
    rooms
        Called for each part: height on offer, mm; the first may be what is left of a sheet.
    """
    heights = [_row_height(table, row, width_mm) for row in table.rows]
    first = 0
    while first < len(heights):
        room = rooms() - HEAD_MM
        end = first
        while end < len(heights) and sum(heights[first : end + 1]) <= room:
            end += 1
        if end > first:
            yield TablePart(table, first, tuple(heights[first:end]))
            first = end


def _row_height(table: Table, row: Sequence[str], width_mm: float) -> float:
    lines = [1]
    for (_, share), text in zip(table.columns, row, strict=True):
        if text:
            room = share * width_mm - 2 * PAD_MM
            fitted = fit(
                clean(text), room, MOST_LINES * LINE_MM, largest_pt=SIZE_PT, smallest_pt=SIZE_PT, max_lines=MOST_LINES
            )
            lines.append(-(-int(fitted.height_mm * 100) // int(LINE_MM * 100)))
    return max(lines) * LINE_MM + 1.3


def draw_table(sheet: Sheet, part: TablePart, box: Box) -> None:
    """Draw a part of a table at the top of a box."""
    table = part.table
    again = " (continued)" if part.first else ""
    sheet.text(Box(box.x, box.y, box.w, 5), table.title + again, size=9, bold=True)
    y = box.y + 5.2
    sheet.rectangle(Box(box.x, y, box.w, HEAD_MM - 5.2), fill=WASH, edge=None)
    _draw_row(sheet, table, [name for name, _ in table.columns], Box(box.x, y, box.w, HEAD_MM - 5.2), head=True)
    y = box.y + HEAD_MM
    sheet.line([(box.x, y), (box.right, y)], weight=0.8)
    for row, height in zip(table.rows[part.first :], part.heights, strict=False):
        _draw_row(sheet, table, row, Box(box.x, y, box.w, height), head=False)
        y += height
        sheet.line([(box.x, y), (box.right, y)], colour=PALE, weight=0.4)


def _draw_row(sheet: Sheet, table: Table, row: Sequence[str], box: Box, *, head: bool) -> None:
    x = box.x
    for number, ((_, share), text) in enumerate(zip(table.columns, row, strict=True)):
        width = share * box.w
        cell = Box(x + PAD_MM, box.y + 0.4, width - 2 * PAD_MM, box.h - 0.6)
        if text:
            sheet.text(
                cell,
                text,
                size=SIZE_PT,
                smallest=SIZE_PT if not head else 5,
                bold=head or number == 0,
                colour=SOFT if head else INK,
                max_lines=1 if head else MOST_LINES,
            )
        x += width
