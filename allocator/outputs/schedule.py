"""
Tables that go with the drawing: every place with its circuit in full, every feed, every wire, every caution.

Comes in as the Content of a plan; goes out as Tables of text.
"""

from __future__ import annotations

from collections.abc import Mapping

from allocator.outputs.content import Content
from allocator.outputs.fonts import drawable, legible
from allocator.outputs.goals import value_text
from allocator.outputs.tables import Table
from allocator.plan.controls import control_by_need
from allocator.plan.index import NeedAt
from allocator.plan.measures import feed_loads
from allocator.plan.wiring import Run, WireEnd, is_spliced
from allocator.units import MM_PER_M, from_model

NOTED: Mapping[str, str] = {
    "way": "put into another way",
    "socket": "relay put into another socket",
    "fuse": "another fuse",
    "wire": "another load wire",
    "added": "circuit added",
    "removed": "circuit taken out",
}


def places_table(content: Content) -> Table:
    """Return every way and every directly fed socket with its circuit, in order of place."""
    columns: tuple[str, ...] = (
        "place", "circuit", "label in full", "load", "fuse", "feed", "wire", "relay", "jumper", "coil from", "runs in",
    )  # fmt: skip
    items = sorted(content.index.needs, key=lambda item: in_order_of_place(content, item))
    rows = tuple(_place_row(content, item) for item in items)
    if content.note_by_circuit:
        columns = (*columns, "note")
        rows = tuple((*row, legible(content.note_of(item.need))) for row, item in zip(rows, items, strict=True))
    return Table("Ways and sockets", columns, rows, right=("load",))


def in_order_of_place(content: Content, item: NeedAt) -> tuple[int, int, bool, int, int]:
    """Return by what needs are sorted: panel, bay, then row and way, then the sockets that a feed enters directly."""
    panel = content.index.panels.index(item.panel)
    if item.way is not None:
        return panel, item.way.bay or 0, False, item.way.row or 0, item.way.first or 0
    return panel, item.socket.bay if item.socket else 0, True, 0, item.socket.socket if item.socket else 0


def _place_row(content: Content, item: NeedAt) -> tuple[str, ...]:
    need, option = item.need, item.option
    cases = content.sized.requirements.scenario.load_cases
    runs = [case.name for case, load_ma in zip(cases, need.load_ma_by_case, strict=True) if load_ma]
    return (
        content.place_name(str(item.way or item.socket)),
        drawable(need.id, "(no font here)"),
        _full_label(content, item),
        _amperes(max(content.loads_by_need[need.id])),
        content.fuse_text(item),
        f"{content.marks[item.feed].code} {content.feed_name(item.feed)}",
        content.area_text(option.wire) if option.wire else "",
        _relay_text(item),
        item.jumper or "",
        _control(content, item),
        "" if need.kind != "circuit" else "all cases" if len(runs) == len(cases) else ", ".join(map(drawable, runs)),
    )


def _full_label(content: Content, item: NeedAt) -> str:
    if item.need.kind == "spare":
        return "spare way: fed, no fuse fitted" + (", load kept free" if max(item.need.load_ma_by_case) else "")
    label = content.label(item.need)
    return (
        label if content.is_drawable(item.need) else f"{label} (its label has signs that no font here draws: wires.csv)"
    )


def _amperes(load_ma: int) -> str:
    return f"{from_model(load_ma):.4g} A"


def _relay_text(item: NeedAt) -> str:
    if item.socket is None or item.option.relay is None:
        return ""
    return f"{item.socket.bay}/S{item.socket.socket} {drawable(item.option.relay)}"


def _control(content: Content, item: NeedAt) -> str:
    if item.socket is None:
        return ""
    control = control_by_need(content.sized.requirements).get((item.need.kind, item.need.id), "own fuse")
    leads = (run for run in content.inline_runs if run.role == "wire" and run.need == item.need.id)
    fused = "".join(f", {content.inline_text(run)} in line" for run in leads)
    return drawable(control) + fused


def feeds_table(content: Content) -> Table:
    """Return every feed with its largest load over all load cases."""
    columns = (
        "code", "feed", "label", "kind", "from", "rating", "allowed", "largest load", "share of allowed", "in case",
        "entries",
    )  # fmt: skip
    cases = content.sized.requirements.scenario.load_cases
    loads = {load.feed: load for load in feed_loads(content.index)}
    rows = []
    for feed in content.sized.requirements.scenario.feeds:
        load = loads[feed.name]
        peak_ma = max(load.load_ma_by_case)
        case = drawable(cases[load.load_ma_by_case.index(peak_ma)].name) if peak_ma else "–"
        rows.append(
            (
                content.marks[feed.name].code,
                content.feed_name(feed.name),
                drawable(feed.label, feed.name),
                feed.kind,
                content.feed_name(feed.source) if feed.source else "supply",
                _amperes(load.rating_ma),
                f"{from_model(load.allowed_ma):.4g} A",
                _amperes(peak_ma),
                value_text("peak-utilisation", max(load.utilisation_by_case), ""),
                case,
                str(sum(entry.piece.feed == feed.name for entry in content.index.entries)),
            )
        )
    return Table("Feeds", columns, tuple(rows), right=columns[5:9] + columns[10:])


def wires_table(content: Content) -> Table:
    """Return every wire with both ends and their terminals."""
    columns = ("wire", "from", "terminal", "to", "terminal", "size", "in-line fuse", "colour", "length", "for")
    return Table("Wires", columns, tuple(_wire_row(content, run) for run in content.runs), right=("length",))


def _wire_row(content: Content, run: Run) -> tuple[str, ...]:
    need = content.sized.need_by_id.get(run.need)
    what = content.label(need) if need else f"feed {content.marks[run.feed].code} {content.feed_name(run.feed)}"
    return (
        run.number,
        *_end_cells(content, run.start, run),
        *_end_cells(content, run.end, run),
        content.area_text(run.wire),
        content.inline_text(run),
        content.look_by_run[run.number].code,
        f"{run.length_mm / MM_PER_M:.2f} m" if run.length_mm else "measure",
        what,
    )


def _end_cells(content: Content, end: WireEnd, run: Run) -> tuple[str, str]:
    terminal = content.terminal_text(end.terminal) if end.terminal else ""
    return content.end_name(end, run.feed), "splice" if is_spliced(end) else terminal


def notes_table(content: Content) -> Table:
    """Return what was done at the vehicle after building, in the order in which it was noted."""
    columns = ("day", "by", "circuit", "what was done", "now", "remark")
    rows = tuple(
        tuple(legible(cell) for cell in (note.day, note.by, note.circuit, NOTED[note.what], note.value, note.remark))
        for note in content.plan.notes
    )
    return Table("Done at the vehicle after building", columns, rows)


def cautions_table(content: Content) -> Table:
    """Return every caution about this vehicle in full."""
    rows = tuple((str(number), legible(text)) for number, text in enumerate(content.plan.cautions, 1))
    return Table("Cautions about this vehicle", ("no.", "caution"), rows)
