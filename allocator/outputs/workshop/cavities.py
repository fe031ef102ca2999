"""
The wiring side cavity by cavity, from the left as it is seen when wiring: terminal, wire, colour, where it leads.

Comes in as the Content of a plan; goes out as Cavities in order, and as a Table of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from allocator.address import Place, SocketPlace, StudPlace
from allocator.explaining.accounts.account import counted
from allocator.outputs.content import Content
from allocator.outputs.fonts import legible
from allocator.outputs.sockets import tabs_of
from allocator.outputs.tables import Table
from allocator.plan.index import EntryAt, ModuleAt
from allocator.plan.parts import num_cavities
from allocator.plan.wiring import INLET, LOAD, OUTPUT, Run, WireEnd, is_spliced

SUPPLY, UNUSED = "supply", "unused"
SPLICED = "spliced to the wire above"


@dataclass(frozen=True, slots=True)
class Cavity:
    """
    A terminal position of a module, or several that look alike.

    Attributes
    ----------
    place, name
        Address, and the position there: ``output``, ``supply``, ``inlet`` of a strip piece, ``stud``, a designation
        of DIN 72552, or ``unused``.
    holds
        Terminal part, or strip with its ways; nothing in unused ones.
    runs
        Wires in it.
    positions
        How many terminal positions of the module these are: none at the inlet of a strip and at a stud.
    """

    place: str
    name: str
    holds: str
    runs: tuple[Run, ...] = ()
    positions: int = 1


def cavities(content: Content) -> Iterator[Cavity]:
    """Yield every cavity of every module: panels in order, the last bay first, for it is on the left from behind."""
    index = content.index
    for panel in index.panels:
        for module in reversed([item for item in index.modules if item.panel == panel]):
            yield from _of_module(content, module)


def _of_module(content: Content, module: ModuleAt) -> Iterator[Cavity]:
    used = tuple(_used(content, module))
    yield from used
    unused = num_cavities(module.module, content.sized) - sum(item.positions for item in used)
    if unused:
        yield Cavity(f"{module.panel}/{module.bay}", UNUSED, "", positions=unused)


def _used(content: Content, module: ModuleAt) -> Iterator[Cavity]:
    stud = str(StudPlace(module.panel, module.bay))
    for entry in content.index.entries:
        if entry.piece.at == stud:
            yield replace(_wired(content, stud, INLET), positions=0)
    for number, row in enumerate(module.module.rows):
        for entry in reversed([item for item in content.index.entries if item.at == module and item.row == number]):
            yield from _supply_side(content, entry, str(row.strip or ""))
        for way in range(row.ways, 0, -1):
            place = Place(module.panel, module.bay, number, way)
            if place in content.index.way_by_place and content.runs_at.get((str(place), OUTPUT)):
                yield _wired(content, str(place), OUTPUT)
    for socket in range(len(module.sockets), 0, -1):
        yield from _of_socket(content, SocketPlace(module.panel, module.bay, socket))


def _supply_side(content: Content, entry: EntryAt, strip: str) -> Iterator[Cavity]:
    """A strip piece fills the supply side of its ways and takes the tail at its inlet; a single way has a terminal."""
    if entry.piece.kind == "strip":
        span = counted(len(entry.ways), "way")
        yield Cavity(entry.piece.at, SUPPLY, f"{strip}, {span}", positions=len(entry.ways))
        yield replace(_wired(content, entry.piece.at, INLET), positions=0)
    else:
        yield _wired(content, entry.piece.at, INLET)


def _of_socket(content: Content, place: SocketPlace) -> Iterator[Cavity]:
    used = content.index.socket_by_place.get(place)
    if used is None:
        return
    for tab in reversed(tabs_of(content, used)):
        if content.runs_at.get((str(place), tab)):
            yield _wired(content, str(place), tab)


def _wired(content: Content, place: str, name: str) -> Cavity:
    return Cavity(place, name, content.terminal_at(place, name), content.runs_at.get((place, name), ()))


def cavities_table(content: Content) -> Table:
    """Return the cavities as a table, one line for each wire."""
    columns = ("place", "cavity", "kind", "terminal or strip", "wire", "size", "colour", "leads to", "jumper")
    rows = tuple(row for cavity in cavities(content) for row in _rows(content, cavity))
    return Table("Wiring side from the left", columns, rows)


def _rows(content: Content, cavity: Cavity) -> Iterator[tuple[str, ...]]:
    place = place_text(content, cavity.place)
    if cavity.name == UNUSED:
        yield place, "", "", f"{cavity.positions} stay empty: {_plug(content)}", "", "", "", "", ""
        return
    if cavity.name == SUPPLY:
        feed = next(entry.piece.feed for entry in content.index.entries if entry.piece.at == cavity.place)
        fed = f"feed {content.marks[feed].code} {content.feed_name(feed)}"
        yield place, SUPPLY, "", legible(cavity.holds), "", "", "", fed, ""
        return
    letter = content.letter_by_terminal.get(cavity.holds, "")
    for number, run in enumerate(cavity.runs):
        shared = SPLICED if is_spliced(_end_here(cavity, run)) else "same terminal"
        head = (place, cavity.name, letter, legible(cavity.holds)) if number == 0 else ("", "", "", shared)
        yield *head, *_wire_cells(content, cavity, run)


def _end_here(cavity: Cavity, run: Run) -> WireEnd:
    is_start = (run.start.place, run.start.cavity) == (cavity.place, cavity.name)
    return run.start if is_start else run.end


def place_text(content: Content, address: str) -> str:
    """Return an address as sheets write it, a strip piece over one way like that way."""
    row, _, ways = content.place_name(address).rpartition("/")
    return f"{row}/{ways_text(ways)}"


def ways_text(span: str) -> str:
    """Return a span of ways as a person says it: ``6`` for ``6-6``; anything else as it is."""
    first, _, last = span.partition("-")
    return first if first == last else span


def _plug(content: Content) -> str:
    plugs = [part for part in content.sized.requirements.catalogue.accessories if part.per == "unused-cavity"]
    return ", ".join(legible(part.label) for part in plugs) or "nothing closes them"


def _wire_cells(content: Content, cavity: Cavity, run: Run) -> tuple[str, ...]:
    look = content.look_by_run[run.number].code
    far = run.start if _end_here(cavity, run) is run.end else run.end
    leads_to = content.end_name(far, run.feed)
    if run.inline is not None:
        leads_to = f"in-line fuse {content.inline_text(run)}, {leads_to}"
    if far.place == LOAD:
        leads_to = f"load: {content.label(content.sized.need_by_id[run.need])}"
    jumper = run.note if run.role == "jumper" else ""
    return run.number, content.area_text(run.wire), look, leads_to, jumper
