"""
What to do at the bench, in building order, with counts: cut, crimp, insert, retain, clip together, close, test.

Comes in as the Content of a plan; goes out as Steps, and as a Table with a box to tick for each. Accessories come in
where the catalogue's rule for them says: those of a row or socket when it is retained, those of a carrier with it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from allocator.outputs.content import Content
from allocator.outputs.crimps import crimp_lines
from allocator.outputs.fonts import legible
from allocator.outputs.order import cut_text, look_order
from allocator.outputs.tables import Table
from allocator.outputs.workshop.cavities import SUPPLY, UNUSED, Cavity, cavities, ways_text
from allocator.outputs.workshop.expectations import expectations
from allocator.outputs.workshop.outside import fuses_to_label
from allocator.plan.index import CarrierAt, ModuleAt
from allocator.plan.parts import supplies
from allocator.plan.wiring import SOURCE, STUD, WireEnd
from allocator.requirements.catalogue import Occasion
from allocator.sizing.sized import InlineFuse, MainFuse
from allocator.units import MM_PER_M

BOX = "☐"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do: in which stage of the building, what, how many of it, and with what or where."""

    stage: str
    action: str
    count: int
    detail: str = ""


def steps(content: Content) -> Iterator[Step]:
    """Yield everything to do, first things first."""
    told: set[str] = set()
    yield from _strips(content)
    yield from _wires(content)
    yield from _crimps(content)
    yield from _studs(content)
    for module in content.index.modules:
        yield from _module(content, module, told)
    for carrier in content.index.carriers:
        yield from _carrier(content, carrier, told)
    yield from _in_place(content)
    yield from _tested(content, told)
    yield from _closed(content, told)


def steps_table(content: Content) -> Table:
    """Return the steps as a table, numbered, with a box to tick."""
    rows = tuple(
        (str(number), step.stage, step.action, str(step.count), step.detail, BOX)
        for number, step in enumerate(steps(content), 1)
    )
    columns = ("step", "stage", "do", "count", "with what, and where", "done")
    return Table("Building steps", columns, rows, right=("count",))


def _strips(content: Content) -> Iterator[Step]:
    for plan in content.strip_plans:
        for item in plan.cuts:
            detail = f"{legible(plan.strip.label)}, {cut_text(item, plan.usable)}"
            yield Step("cut strips", "cut strip pieces", len(item.pieces), detail)


def _wires(content: Content) -> Iterator[Step]:
    for wire in content.sized.requirements.catalogue.wires:
        runs = [run for run in content.runs if run.wire == wire.id]
        counts = Counter(content.look_by_run[run.number] for run in runs)
        if runs:
            total_mm = sum(content.cut_mm_by_run[run.number] or 0 for run in runs)
            looks = ", ".join(f"{counts[look]} {look.code}" for look in sorted(counts, key=look_order))
            detail = f"{content.area_text(wire.id)}: {looks}; {total_mm / MM_PER_M:.2f} m"
            open_ends = sum(content.cut_mm_by_run[run.number] is None for run in runs)
            yield Step("cut wires", "cut wires", len(runs), detail + (f"; {open_ends} to measure" if open_ends else ""))
    yield Step("cut wires", "label both ends of every wire", 2 * len(content.runs), "labels: labels.pdf")


def _crimps(content: Content) -> Iterator[Step]:
    for line in crimp_lines(content):
        letter = content.letter_by_terminal[line.terminal]
        detail = f"{letter}  {legible(line.label)}, on {' with '.join(line.sizes)}"
        yield Step("crimp", f"crimp {line.kind} {line.fits}", line.count, detail)
    splices = sum(run.start.terminal == "" and run.start.place in _places(content) for run in content.runs)
    splices += sum(run.end.terminal == "" and run.end.place in _places(content) for run in content.runs)
    if splices:
        yield Step("crimp", "splice wires onto those that have the terminal", splices, "see the wires to cut: splice")


def _places(content: Content) -> frozenset[str]:
    ways, sockets = content.index.way_by_place, content.index.socket_by_place
    return frozenset(str(place) for place in (*ways, *sockets))


def _studs(content: Content) -> Iterator[Step]:
    for supply in supplies(content.index):
        if supply.num_studs:
            rings = supply.num_entries + 1 + 2 * supply.num_links
            where = f"panel {content.panel_name(supply.panel)}, feed {content.marks[supply.feed.name].code}"
            detail = f"{legible(str(supply.feed.stud))} at {where}: {rings} rings"
            yield Step("studs and holders", "fit distribution studs", supply.num_studs, detail)
    where_by_code = {item.name: item.where for item in fuses_to_label(content) if item.kind == "main"}
    for feed, main in _mains(content).items():
        code = content.marks[feed].code
        detail = f"{legible(main.holder)} for {legible(main.fuse)}, feed {code}, {where_by_code[code]}"
        yield Step("studs and holders", "fit the main holder", 1, detail)
    yield from _inline_holders(content)
    holders = len(fuses_to_label(content))
    if holders:
        yield Step("studs and holders", "label fuse holders", holders, "rating, and what it protects: labels.pdf")


def _mains(content: Content) -> Mapping[str, MainFuse]:
    """Return the main fuse of every root feed that enters anywhere."""
    return {supply.feed.name: supply.feed.main for supply in supplies(content.index) if supply.feed.main}


def _inline_holders(content: Content) -> Iterator[Step]:
    """Yield every in-line holder: in which wires, and at which end, the one that gets the supply."""
    wires: dict[tuple[InlineFuse, str], list[str]] = {}
    for run in content.inline_runs:
        if run.inline is not None:
            wires.setdefault((run.inline, content.inline_where(run)), []).append(run.number)
    for (inline, at), numbers in wires.items():
        detail = f"{legible(inline.holder)} for {legible(inline.fuse)} in {', '.join(numbers)}, at {at}"
        yield Step("studs and holders", "fit in-line holders", len(numbers), detail)


def _module(content: Content, module: ModuleAt, told: set[str]) -> Iterator[Step]:
    stage = f"{content.place_name(f'{module.panel}/{module.bay}')} {legible(module.module.label)}"
    prefix = f"{module.panel}/{module.bay}/"
    here = [item for item in cavities(content) if f"{item.place}/".startswith(prefix)]
    pieces = [item for item in here if item.name == SUPPLY]
    if pieces:
        yield Step(stage, "push in strip pieces", len(pieces), f"ways {_places_text(pieces)}")
    wired = [item for item in here if item.runs]
    if wired:
        yield Step(stage, "insert terminals", len(wired), _letters_text(content, wired))
    numbers: Mapping[Occasion, int] = {
        "row": len(module.module.rows),
        "socket": len(module.sockets),
        "unused-cavity": sum(item.positions for item in here if item.name == UNUSED),
        "feed-tail": sum(entry.at == module for entry in content.index.entries),
        "module": 1,
    }
    yield from _accessories(content, stage, "retain terminals, close empty cavities", numbers, told)


def _places_text(pieces: Sequence[Cavity]) -> str:
    """Name strip pieces by row and ways, which are enough within a module."""
    spans = ("/".join(item.place.split("/")[2:]) for item in pieces)
    return ", ".join(f"{row}/{ways_text(ways)}" for row, _, ways in (span.partition("/") for span in spans))


def _letters_text(content: Content, wired: Sequence[Cavity]) -> str:
    counts = Counter(content.letter_by_terminal.get(item.holds, "?") for item in wired)
    return ", ".join(f"{count} {letter}" for letter, count in sorted(counts.items()))


def _accessories(
    content: Content, stage: str, action: str, numbers: Mapping[Occasion, int], told: set[str]
) -> Iterator[Step]:
    """
    Yield one step with all accessories that are ordered for these occasions, in their order; none for no part.

    How a part is fitted is said where it comes up first; ``told`` holds those that have been.
    """
    found = [
        (part.quantity * number, part)
        for occasion, number in numbers.items()
        for part in content.sized.requirements.catalogue.accessories
        if part.per == occasion and number
    ]
    if found:
        texts = [
            f"{count} {part.label}" + (f" ({part.note})" if part.note and part.id not in told else "")
            for count, part in found
        ]
        told.update(part.id for _, part in found)
        yield Step(stage, action, sum(count for count, _ in found), legible("; ".join(texts)))


def _carrier(content: Content, carrier: CarrierAt, told: set[str]) -> Iterator[Step]:
    bays = f"bays {carrier.bays[0]} to {carrier.bays[-1]}" if len(carrier.bays) > 1 else f"bay {carrier.bays[0]}"
    stage = f"{content.panel_name(carrier.panel)} {legible(carrier.carrier.label)} ({bays})"
    modules = [item for item in content.index.modules if item.panel == carrier.panel and item.bay in carrier.bays]
    places = ", ".join(f"bay {item.bay} {legible(item.module.label)}" for item in modules)
    if modules:
        yield Step(stage, "clip in modules", len(modules), f"from the left in front: {places}")
    filled = {item.bay + n for item in modules for n in range(item.module.bays)}
    empty = sum(bay not in filled for bay in carrier.bays)
    yield from _accessories(content, stage, "fit to the carrier", {"carrier": 1, "empty-bay": empty}, told)


def _in_place(content: Content) -> Iterator[Step]:
    """Yield what is done in the vehicle: carriers, then rings onto studs and holders, the source last."""
    stage = "in the vehicle"
    for panel in content.index.panels:
        carriers = [item for item in content.index.carriers if item.panel == panel]
        if carriers:
            detail = f"panel {content.panel_name(panel)}, side by side, bay 1 at the left in front"
            yield Step(stage, "fix carriers", len(carriers), detail)
    actions = (
        "bolt rings to distribution studs", "bolt rings to main holders", "bolt rings to the source"
    )  # fmt: skip
    ends = [(run, end) for run in content.runs for end in (run.start, run.end) if end.terminal]
    for action, belongs in zip(actions, (_is_at_stud, _is_at_holder, _is_at_source), strict=True):
        rings: dict[str, list[str]] = {}
        for run, end in ends:
            if belongs(end):
                rings.setdefault(content.end_name(end, run.feed), []).append(run.number)
        for place, numbers in rings.items():
            yield Step(stage, action, len(numbers), f"{', '.join(numbers)}: {place}; every battery disconnected")


def _is_at_stud(end: WireEnd) -> bool:
    return end.cavity == STUD


def _is_at_holder(end: WireEnd) -> bool:
    return end.place.startswith(f"{SOURCE}, ") and not _is_at_stud(end)


def _is_at_source(end: WireEnd) -> bool:
    return end.place == SOURCE


def _tested(content: Content, told: set[str]) -> Iterator[Step]:
    """Yield the tests and what is fitted before each, in the order of tests.pdf: no power onto what is untested."""
    circuits = len(content.sized.requirements.circuits)
    bare = "no relay and no fuse in, neither main nor in-line ones: tests.pdf, continuity"
    rows = sum(bool(item.points) for item in expectations(content))
    yield Step("test without power", "test continuity", rows, bare)
    yield from _feeds_tested(content)
    relays = Counter(used.relay for used in content.index.socket_by_place.values())
    for relay in content.sized.requirements.catalogue.relays:
        if relays[relay.id]:
            detail = f"{legible(relay.label)}; every battery disconnected"
            yield Step("fit relays", "plug in relays", relays[relay.id], detail)
    yield from _accessories(content, "fit relays", "secure relays", {"relay": relays.total()}, told)
    fuses = Counter(item.option.fuse for item in content.index.needs)
    for fuse in content.sized.requirements.catalogue.fuses:
        if fuses[fuse.id]:
            detail = (
                f"{legible(fuse.label)}; one by one, in the order of tests.pdf, each tested before the next goes in"
            )
            yield Step("test circuit by circuit", "plug in fuses", fuses[fuse.id], detail)
    detail = "each as soon as its fuse is in: tests.pdf, circuits"
    yield Step("test circuit by circuit", "test every circuit", circuits, detail)


def _feeds_tested(content: Content) -> Iterator[Step]:
    """Yield in-line fuses, then main fuses one by one, each with the test of its feed; nothing is in any way yet."""
    stage, catalogue = "test feed by feed", content.sized.requirements.catalogue
    label_by_fuse = {fuse.id: legible(fuse.label) for fuse in catalogue.fuses}
    for fuse, label in label_by_fuse.items():
        held = [run.number for run in content.inline_runs if run.inline is not None and run.inline.fuse == fuse]
        if held:
            detail = f"{label}, in {', '.join(held)}; every battery disconnected"
            yield Step(stage, "plug in in-line fuses", len(held), detail)
    for feed, main in _mains(content).items():
        detail = f"{label_by_fuse[main.fuse]}, feed {content.marks[feed].code}; no fuse in any way: tests.pdf, feeds"
        yield Step(stage, "plug in the main fuse, test the feed", 1, detail)


def _closed(content: Content, told: set[str]) -> Iterator[Step]:
    carriers = content.index.carriers
    yield Step("close", "put legends into the covers", len(carriers), "legend.pdf, printed at 100 %")
    num_bays = sum(len(item.bays) for item in carriers)
    yield from _accessories(content, "close", "put covers on", {"bay": num_bays}, told)
