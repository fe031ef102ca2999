"""
What to test and what to expect, for every feed entry, circuit, branch and spare way; with room for what is found.

Comes in as the Content of a plan; goes out as typed rows for ``tests.csv`` and the workbook. The meaning of each column
is in ``docs/drawing-conventions.md``; the last ones are empty, for the tester.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from allocator.outputs.content import Content
from allocator.outputs.lists import remarks_of
from allocator.outputs.records import Cell, Records, columns_of, records_csv
from allocator.plan.controls import control_by_need
from allocator.plan.index import EntryAt, NeedAt
from allocator.plan.quiescent import MILLI, ColdResistance, cold_resistance
from allocator.plan.wiring import Run, WireEnd, is_spliced
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Feed

COLUMNS = columns_of(
    "kind", "order", "place", "circuit", "label", "feed", "fuse", "fuse_a", "relay", "relay_place", "continuity",
    "load_a", "run_drop_v", "total_drop_v", "drop_limit_v", "load_case", "quiescent_ma", "fuse_mohm",
    "fuse_mohm_source", "quiescent_mv", "fuse_found", "relay_works", "continuity_found", "drop_found_v",
    "quiescent_found_mv", "passed", "tested_by", "tested_on",
    run_drop_v=3, total_drop_v=3, drop_limit_v=3, quiescent_mv=2,
)  # fmt: skip
NUM_BLANKS = 8
"""The last columns are the tester's."""
EARTHS = ("earth", "return")
OPEN = "open to every other feed and to 31 (earth)"
HOLDER = "in-line holder"


@dataclass(frozen=True, slots=True)
class Expected:
    """
    What is expected of one thing.

    Attributes
    ----------
    kind
        ``supply`` of a feed, ``entry`` of a feed, ``circuit``, ``feed`` (a branch's own fuse and relay), ``coil``
        (the fuse in its lead) or ``spare``.
    place, id, label, feed
        Where it is, what it is called, and the feed that it is on.
    fuse, fuse_a, relay, relay_place
        Parts that must be there; empty where none.
    points
        Pairs of points that are connected, one for each wire.
    load_a
        Design current; 0 where nothing flows for itself.
    run_drop_v, total_drop_v, limit_v, load_case
        Drop from the fuse to the load and back; from the supply; what is allowed; the load case of the second.
    quiescent_ma, cold
        Current with everything off, None where the circuit does not state it, and the resistance that it is read from.
    """

    kind: str
    place: str
    id: str
    label: str
    feed: str
    fuse: str = ""
    fuse_a: float | None = None
    relay: str = ""
    relay_place: str = ""
    points: tuple[str, ...] = ()
    load_a: float | None = None
    run_drop_v: float | None = None
    total_drop_v: float | None = None
    limit_v: float | None = None
    load_case: str = ""
    quiescent_ma: float | None = None
    cold: ColdResistance | None = None

    @property
    def quiescent_mv(self) -> float | None:
        """What a meter should show over the fuse at the most, mV."""
        if self.cold is None or self.quiescent_ma is None:
            return None
        return self.cold.drop_mv(self.quiescent_ma / MILLI)


def expectations(content: Content) -> Iterator[Expected]:
    """Yield what to test: supplies and feed entries first, then everything that is placed, in order of place."""
    for feed in content.sized.requirements.scenario.feeds:
        if any(entry.piece.feed == feed.name for entry in content.index.entries):
            yield _supply_test(content, feed)
    for entry in content.index.entries:
        yield _entry_test(content, entry)
    panels = content.index.panels
    for item in sorted(content.index.needs, key=lambda item: place_order(panels, item)):
        yield _need_test(content, item)
        yield from _in_line_tests(content, item)


def as_fitted(content: Content, expected: Iterable[Expected]) -> Iterator[Expected]:
    """Yield in-line fuses, then main fuses; then each thing after the branch feed it is on and its relay's control."""
    found = tuple(expected)
    yield from (item for item in found if item.kind in ("entry", "coil"))
    yield from (item for item in found if item.kind == "supply")
    waiting = [item for item in found if item.kind not in ("entry", "coil", "supply")]
    control_of = control_by_need(content.sized.requirements)
    while waiting:
        left = {(item.kind, item.id) for item in waiting}
        ready = [
            item
            for item in waiting
            if not left & {("feed", item.feed), ("circuit", control_of.get((item.kind, item.id), ""))}
        ]
        yield from ready or waiting
        waiting = [item for item in waiting if item not in ready] if ready else []


def has_a_fuse_or_relay(item: Expected) -> bool:
    """Whether something is fitted, or must not be: it has a row among fuses and relays."""
    return item.kind == "spare" or bool(item.fuse or item.relay)


def place_order(panels: tuple[str, ...], item: NeedAt) -> tuple[int, int, int, int]:
    """Return the place of a need in lists: by panel, bay, row and way, sockets without a way behind the rows."""
    if item.way is not None:
        return panels.index(item.panel), item.way.bay or 0, item.way.row or 0, item.way.first or 0
    return panels.index(item.panel), item.socket.bay if item.socket else 0, 99, item.socket.socket if item.socket else 0


def _supply_test(content: Content, feed: Feed) -> Expected:
    """A feed up to its studs: its main fuse, its lead, cables and links; a branch's own fuse is a need of its own."""
    main = content.sized.feeds[feed.name].main
    runs = (run for run in content.runs if run.feed == feed.name and run.role in ("lead", "cable", "link"))
    points = tuple(points_text(content, run) for run in runs)
    fuse, rating = ("", None) if main is None else (main.fuse, feed.rating)
    return Expected("supply", "", feed.name, feed.label, feed.name, fuse, rating, points=points)


def _entry_test(content: Content, entry: EntryAt) -> Expected:
    runs = content.runs_at.get((entry.piece.at, _inlet(content, entry)), ())
    tail = content.index.tail_of(entry)
    label = next(feed.label for feed in content.sized.requirements.scenario.feeds if feed.name == entry.piece.feed)
    points = (*(points_text(content, run) for run in runs if run.role == "tail"), OPEN)
    fuse = tail.fuse if any(run.role == "tail" for run in runs) else None
    rating = next((part.rating for part in content.sized.requirements.catalogue.fuses if part.id == fuse), None)
    return Expected(
        "entry", entry.piece.at, entry.piece.feed, label, entry.piece.feed, fuse or "", rating, points=points
    )


def _inlet(content: Content, entry: EntryAt) -> str:
    """The cavity at which a feed enters: the inlet, or 30 (49 of a flasher) of a relay."""
    at = [cavity for place, cavity in content.runs_at if place == entry.piece.at]
    return next(cavity for cavity in at if entry.socket is None or cavity in ("30", "49"))


def _need_test(content: Content, item: NeedAt) -> Expected:
    requirements = content.sized.requirements
    circuit = next((found for found in requirements.circuits if found.id == item.need.id), None)
    drop = content.drop_by_circuit.get(item.need.id)
    fuse = next((part for part in requirements.catalogue.fuses if part.id == item.option.fuse), None)
    is_circuit = circuit is not None and item.need.kind == "circuit"
    return Expected(
        kind=item.need.kind,
        place=str(item.way or item.socket),
        id=item.need.id,
        label=item.need.label,
        feed=item.feed,
        fuse=item.option.fuse or "",
        fuse_a=item.option.fuse_rating_a if item.option.fuse else None,
        relay=(item.option.relay or "") if item.socket else "",
        relay_place=str(item.socket or ""),
        points=tuple(points_text(content, run) for run in content.runs if _belongs(run, item)),
        load_a=max(item.need.load_ma_by_case) / MILLI if item.need.kind != "feed" else None,
        run_drop_v=drop.run_v + drop.return_v if drop else None,
        total_drop_v=drop.total_v if drop else None,
        limit_v=drop.limit_v if drop else None,
        load_case=drop.case if drop else "",
        quiescent_ma=quiescent_ma(circuit) if circuit and is_circuit else None,
        cold=cold_resistance(fuse, requirements.figures) if fuse else None,
    )


def quiescent_ma(circuit: Circuit) -> float | None:
    """Return what a circuit draws with everything off, mA; None where that is not stated."""
    return None if circuit.quiescent is None else circuit.quiescent * MILLI


def _in_line_tests(content: Content, item: NeedAt) -> Iterator[Expected]:
    """The in-line fuse of a coil's lead, where what supplies it is fused for more than a thin lead carries."""
    for run in content.inline_runs:
        if run.inline is not None and _belongs(run, item):
            fuse = next(part for part in content.sized.requirements.catalogue.fuses if part.id == run.inline.fuse)
            label = f"in line in {run.number}, the lead of its coil, {item.need.label}"
            yield Expected("coil", str(item.socket), item.need.id, label, run.feed, fuse.id, fuse.rating)


def _belongs(run: Run, item: NeedAt) -> bool:
    """Whether a wire is tested with a need: its own wires, and its jumper; cables are tested with the entries."""
    return run.need == item.need.id and run.role in ("jumper", "wire")


def points_text(content: Content, run: Run) -> str:
    """
    Say between which points a wire connects, such as ``W9: helm/4/S1 87 – load``.

    Where a fuse is in it, which is out, it connects each of its ends to one side of the holder: two pairs of points.
    """
    over = "" if run.inline is None else f" – {HOLDER}, {HOLDER}"
    return f"{run.number}: {_point(content, run, run.start)}{over} – {_point(content, run, run.end)}"


def _point(content: Content, run: Run, end: WireEnd) -> str:
    """Name a point by its terminal designation where it has one; 31 is the return by DIN 72552."""
    for word in EARTHS:
        if end.place in (word, f"switch to {word}"):
            return f"{end.place.removesuffix(word)}31 ({word})".strip()
    return content.end_name(end, run.feed) + (" (splice)" if is_spliced(end) else "")


def expectations_csv(content: Content) -> str:
    """Return tests.csv."""
    return records_csv(expectation_records(content), remarks_of(content))


def expectation_records(content: Content) -> Records:
    """Return the tests as a list, the tester's columns empty."""
    expected = tuple(expectations(content))
    fitted = filter(has_a_fuse_or_relay, as_fitted(content, expected))
    number_of = {id(item): number for number, item in enumerate(fitted, 1)}
    return Records("tests", COLUMNS, tuple(_row(item, number_of.get(id(item))) for item in expected))


def _row(item: Expected, number: int | None) -> tuple[Cell, ...]:
    return (
        item.kind, number, item.place, item.id, item.label, item.feed, item.fuse, item.fuse_a, item.relay,
        item.relay_place, "; ".join(item.points), item.load_a, item.run_drop_v, item.total_drop_v, item.limit_v,
        item.load_case, item.quiescent_ma, item.cold.mohm if item.cold else None, item.cold.source if item.cold else "",
        item.quiescent_mv, *[None] * NUM_BLANKS,
    )  # fmt: skip
