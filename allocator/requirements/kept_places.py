"""
Places that a person has decided: a small table of circuits and ways, or an edited plan.json, laid over requirements.

Comes in as a file and requirements; goes out as requirements whose circuits are pinned there, or as one ``InputError``
that names every row that cannot be kept. A table has two columns, ``circuit`` and ``place``; of a plan its ways count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from allocator.address import Place, parse_place
from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Module
from allocator.requirements.files import LARGEST_TABLE_BYTES, decode, parse_json, read_bytes
from allocator.requirements.places import did_you_mean, quoted, shown
from allocator.requirements.scenario import Circuit, Requirements
from allocator.requirements.tables import read_csv

COLUMNS = ("circuit", "place")


@dataclass(frozen=True, slots=True)
class KeptPlace:
    """One row: a circuit, where it must be, and where that is written."""

    circuit: str
    text: str
    where: str

    @property
    def place(self) -> Place | None:
        """The place; None where it cannot be read."""
        try:
            return parse_place(self.text)
        except ValueError:
            return None

    def fault(self, rule: str, message: str, known: str = "", hint: str = "") -> Fault:
        """Return what is wrong with the row."""
        return Fault(rule, message, f"{self.where}, circuit {shown(self.circuit)} at {shown(self.text)}", known, hint)


def with_kept_places(requirements: Requirements, path: Path) -> Requirements:
    """
    Return requirements whose circuits are pinned as a file says.

    Parameters
    ----------
    requirements
        Of the scenario.
    path
        A CSV table with the columns ``circuit`` and ``place``, or a plan.json.

    Raises
    ------
    InputError
        With a fault for every row that names what is not there, or that another row or the scenario stands against.
    """
    kept = _plan_rows(path) if path.suffix.casefold() == ".json" else _table_rows(path)
    faults = [*_row_faults(requirements, kept), *_clashes(requirements, kept)]
    if not faults:
        faults = list(_module_faults(requirements, kept))
    if faults:
        raise InputError(faults)
    place_of = {row.circuit: str(row.place) for row in kept}
    circuits = tuple(
        circuit.model_copy(update={"pin": place_of[circuit.id]}) if circuit.id in place_of else circuit
        for circuit in requirements.circuits
    )
    pinned_in = {("circuits", row.circuit, "pin"): f"{row.where}, place {shown(row.text)}" for row in kept}
    return requirements.model_copy(update={"circuits": circuits}).said_elsewhere(pinned_in)


def _table_rows(path: Path) -> list[KeptPlace]:
    table = read_csv(path, path.as_posix(), COLUMNS, of_what="places")
    faults = list(table.faults)
    rows: list[KeptPlace] = []
    for row in table.rows:
        where = f"{table.file}, row {row.number}"
        missing = [column for column in COLUMNS if column not in row.cells]
        if missing:
            faults.append(Fault("kept-place", f"the row has no {' and no '.join(missing)}", where, "circuit and place"))
        else:
            rows.append(KeptPlace(row.cells["circuit"], row.cells["place"], where))
    if faults:
        raise InputError(faults)
    return rows


def _plan_rows(path: Path) -> list[KeptPlace]:
    """Read the circuits' ways of a plan; the rest of it may be as it likes, and is judged by ``verify``."""
    file = path.as_posix()
    try:
        data: Any = parse_json(decode(read_bytes(path, LARGEST_TABLE_BYTES, file), file))
        ways = data["ways"]
        named = [(way["need"], way["at"]) for way in ways if way["kind"] == "circuit"]
        if not all(isinstance(word, str) for pair in named for word in pair):
            raise TypeError
    except (ValueError, LookupError, TypeError, RecursionError):
        known = "expected a plan.json, or a table with the columns circuit and place"
        raise InputError([Fault("kept-place", "the file is no plan", file, known)]) from None
    return [KeptPlace(need, at, f"{file}, ways") for need, at in named]


def _row_faults(requirements: Requirements, kept: Sequence[KeptPlace]) -> Iterator[Fault]:
    circuits = {circuit.id: circuit for circuit in requirements.circuits}
    panels = {site.name: site for site in requirements.scenario.panels}
    seen: dict[str, KeptPlace] = {}
    for row in kept:
        circuit = circuits.get(row.circuit)
        if circuit is None:
            message = f"there is no circuit {shown(row.circuit)}"
            yield row.fault("kept-place", message, hint=did_you_mean(row.circuit, circuits))
            continue
        if row.circuit in seen:
            yield row.fault("kept-place", "the circuit is there twice", f"first in {seen[row.circuit].where}")
        seen.setdefault(row.circuit, row)
        yield from _place_faults(row, circuit, panels)
        reach = {feed.name: feed.panels or tuple(panels) for feed in requirements.scenario.feeds}
        place = row.place
        if place is not None and place.panel in panels and not any(place.panel in reach[f] for f in circuit.feeds):
            yield row.fault("kept-place", "none of its feeds reaches that panel", f"it accepts {quoted(circuit.feeds)}")


def _place_faults(row: KeptPlace, circuit: Circuit, panels: Mapping[str, Any]) -> Iterator[Fault]:
    place = row.place
    if place is None or place.last is not None:
        known = "panel, panel/bay, panel/bay/row or panel/bay/row/way, such as cabin/2/A/3"
        yield row.fault("kept-place", "the place cannot be read", known)
    elif place.panel not in panels:
        hint = did_you_mean(place.panel, panels)
        yield row.fault("kept-place", f"there is no panel {shown(place.panel)}", f"panels are {quoted(panels)}", hint)
    elif circuit.panels and place.panel not in circuit.panels:
        yield row.fault("kept-place", "the circuit does not accept that panel", f"it accepts {quoted(circuit.panels)}")
    elif place.bay is not None and place.bay > panels[place.panel].max_bays:
        known = f"panel {shown(place.panel)} has room for {panels[place.panel].max_bays} bays"
        yield row.fault("kept-place", "there is no such bay", known)


def _clashes(requirements: Requirements, kept: Sequence[KeptPlace]) -> Iterator[Fault]:
    """Rows against each other, and against the pins of the scenario."""
    rows_of = {row.circuit for row in kept}
    taken: dict[str, str] = {
        circuit.pin: f"circuit {shown(circuit.id)} is pinned there, {requirements.where('circuits', circuit.id, 'pin')}"
        for circuit in requirements.circuits
        if circuit.pin is not None and circuit.id not in rows_of
    }
    pins = {circuit.id: circuit.pin for circuit in requirements.circuits if circuit.pin is not None}
    for row in kept:
        place = row.place
        if place is None:
            continue
        wanted = pins.get(row.circuit)
        if wanted is not None and not _lies_in(place, wanted):
            where = requirements.where("circuits", row.circuit, "pin")
            yield row.fault("kept-place", "the scenario pins the circuit to another place", f"{shown(wanted)}, {where}")
        if place.first is None:
            continue
        if str(place) in taken:
            yield row.fault("kept-place", "the way is taken", taken[str(place)])
        taken.setdefault(str(place), f"circuit {shown(row.circuit)} is to be there, {row.where}")


def _lies_in(place: Place, wanted: str) -> bool:
    outer = parse_place(wanted)
    pairs = ((outer.panel, place.panel), (outer.bay, place.bay), (outer.row, place.row), (outer.first, place.first))
    return all(want is None or want == have for want, have in pairs)


def _module_faults(requirements: Requirements, kept: Sequence[KeptPlace]) -> Iterator[Fault]:
    """Rows of one bay for which no module of the catalogue has all the ways, of formats that the circuits may have."""
    formats = {circuit.id: circuit.fuse_format for circuit in requirements.circuits}
    by_bay: dict[tuple[str, int], list[tuple[KeptPlace, Place]]] = defaultdict(list)
    for row in kept:
        place = row.place
        if place is not None and place.bay is not None:
            by_bay[place.panel, place.bay].append((row, place))
    modules = requirements.catalogue.modules
    for rows in by_bay.values():
        alone = [row for row, place in rows if not any(_has(module, place, formats[row.circuit]) for module in modules)]
        for row in alone:
            yield row.fault("kept-place", "no module on offer has such a way for it")
        if alone or any(all(_has(m, place, formats[row.circuit]) for row, place in rows) for m in modules):
            continue
        row, _ = rows[0]
        others = "; ".join(f"{other.circuit} at {other.text}, {other.where}" for other, _ in rows[1:])
        yield row.fault("kept-place", "no module on offer has this way and those of other rows of the bay", others)


def _has(module: Module, place: Place, fuse_format: str | None) -> bool:
    rows = module.rows if place.row is None else module.rows[place.row : place.row + 1]
    return any(row.ways >= (place.first or 1) and fuse_format in (None, row.fuse_format) for row in rows)
