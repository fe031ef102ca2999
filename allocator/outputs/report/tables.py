"""
The tables of the report page: circuits, feeds, wires, parts.

Comes in as the Content of a plan with what is said about its items; goes out as Grids, every label in full.
"""

from __future__ import annotations

from fractions import Fraction

from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK, clean
from allocator.outputs.goals import value_text
from allocator.outputs.order import CENTS, order_lines
from allocator.outputs.report.blocks import Cell, Column, Grid, Line
from allocator.outputs.report.facts import Facts
from allocator.outputs.schedule import in_order_of_place
from allocator.plan.index import NeedAt
from allocator.plan.measures import FeedLoad, feed_loads
from allocator.plan.wiring import Run


def circuits_grid(content: Content, facts: Facts) -> Grid:
    """Return every way and directly fed socket with what it holds, in order of place."""
    columns = (
        Column("place"), Column("circuit"), Column("label"), Column("largest load", right=True), Column("fuse"),
        Column("feed"), Column("wire"), Column("relay"), Column("coil from"), Column("runs in"),
        *((Column("note"),) if content.note_by_circuit else ()),
    )  # fmt: skip
    placed = enumerate(sorted(content.index.needs, key=lambda item: in_order_of_place(content, item)))
    return Grid(
        "circuits", "Ways and sockets", columns, tuple(_circuit(content, facts, item, place) for place, item in placed)
    )


def _circuit(content: Content, facts: Facts, item: NeedAt, place: int) -> Line:
    loads = content.loads_by_need[item.need.id]
    circuits = {circuit.id: circuit for circuit in content.sized.requirements.circuits}
    runs = [clean(case) for case in circuits[item.need.id].load_cases] if item.need.kind == "circuit" else []
    return Line(
        f"need:{item.need.id}",
        (
            Cell(str(item.way or item.socket), place),
            Cell(clean(item.need.id)),
            Cell(facts.label(item.need)),
            Cell(content.amperes(max(loads)), max(loads), by_case=tuple(map(content.amperes, loads))),
            Cell(facts.fuse(item), item.option.fuse_rating_a if item.option.fuse else 0.0),
            Cell(facts.feed_title(item.feed), feed=item.feed),
            Cell(content.area_text(item.option.wire) if item.option.wire else ""),
            Cell(facts.relay(item) if item.socket else ""),
            Cell(facts.control(item) if item.socket else ""),
            Cell(", ".join(runs) or ("all cases" if item.need.kind == "circuit" else "")),
            *((Cell(clean(content.note_of(item.need))),) if content.note_by_circuit else ()),
        ),
    )


def feeds_grid(content: Content, facts: Facts) -> Grid:
    """Return every feed with its load in every load case."""
    columns = (
        Column("feed"), Column("label"), Column("kind"), Column("comes from"), Column("rating", right=True),
        Column("may carry", right=True), *(Column(f"in {case}", right=True) for case in facts.cases),
        Column("entries", right=True),
    )  # fmt: skip
    return Grid(
        "feeds",
        "Feeds and their loads",
        columns,
        tuple(_feed(content, facts, load) for load in feed_loads(content.index)),
    )


def _feed(content: Content, facts: Facts, load: FeedLoad) -> Line:
    feed = next(item for item in content.sized.requirements.scenario.feeds if item.name == load.feed)
    by_case = zip(load.load_ma_by_case, load.utilisation_by_case, strict=True)
    entries = sum(entry.piece.feed == feed.name for entry in content.index.entries)
    return Line(
        f"feed:{feed.name}",
        (
            Cell(facts.feed_title(feed.name), feed=feed.name),
            Cell(clean(feed.label)),
            Cell(feed.kind),
            Cell(facts.feed_title(feed.source) if feed.source else "supply"),
            Cell(content.amperes(load.rating_ma), load.rating_ma),
            Cell(content.amperes(int(load.allowed_ma)), float(load.allowed_ma)),
            *(Cell(f"{content.amperes(load_ma)}, {_percent(share)}", float(share)) for load_ma, share in by_case),
            Cell(str(entries), entries),
        ),
    )


def _percent(share: Fraction) -> str:
    return value_text("peak-utilisation", share, "").replace(" ", NO_BREAK)


def wires_grid(content: Content, facts: Facts) -> Grid:
    """Return every wire with both ends."""
    columns = (
        Column("wire"), Column("from"), Column("to"), Column("size"), Column("colour"), Column("length", right=True),
        Column("for"), Column("note"),
    )  # fmt: skip
    lines = tuple(_wire(content, facts, run, place) for place, run in enumerate(content.runs))
    return Grid("wires", "Wires", columns, lines)


def _wire(content: Content, facts: Facts, run: Run, place: int) -> Line:
    need = content.sized.need_by_id.get(run.need)
    areas = {wire.id: wire.area for wire in content.sized.requirements.catalogue.wires}
    return Line(
        f"wire:{run.number}",
        (
            Cell(run.number, place),
            Cell(facts.end(run.start, run)),
            Cell(facts.end(run.end, run)),
            Cell(content.area_text(run.wire), areas[run.wire]),
            Cell(facts.colour(run)),
            Cell(facts.length(run), run.length_mm),
            Cell(facts.label(need) if need else f"feed {facts.feed_title(run.feed)}"),
            Cell(clean(run.note)),
        ),
    )


def parts_grid(content: Content) -> Grid:
    """Return what to order, part by part: packs rounded up, stock deducted."""
    currency = clean(content.sized.requirements.catalogue.currency)
    columns = (
        Column("part"), Column("label"), Column("colour"), Column("needed", right=True), Column("unit"),
        Column("from stock", right=True), Column("packs", right=True), Column(f"price, {currency}", right=True),
        Column("note"),
    )  # fmt: skip
    lines = tuple(
        Line(
            "",
            (
                Cell(clean(line.part.id)),
                Cell(clean(line.part.label)),
                Cell(f"{line.look.code}, {line.look.words}" if line.look else ""),
                Cell(f"{float(line.needed):.6g}", float(line.needed)),
                Cell(line.unit),
                Cell(f"{float(line.from_stock):.6g}", float(line.from_stock)),
                Cell(f"{line.packs} x {line.part.pack}" if line.packs else "", line.packs),
                Cell(f"{line.order_cents / CENTS:.2f}", line.order_cents),
                Cell(clean(line.note)),
            ),
        )
        for line in order_lines(content)
    )
    return Grid("parts", "Parts", columns, lines)
