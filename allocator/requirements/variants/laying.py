"""
A variant laid over the raw documents of a scenario: what it drops, merges and changes.

Comes in as a ``Variant`` and raw ``Documents``; goes out as changed documents, with an ``Overlay`` for each that knows
which fields the variant wrote. What is dropped goes first, then panels are merged, then fields change, then what holds
of all circuits and rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from allocator.requirements.catalogue import Catalogue, Strict
from allocator.requirements.cells import COLUMNS, items_of
from allocator.requirements.documents import tables_in
from allocator.requirements.places import Overlay, PlacedFault, Spot, did_you_mean, quoted, shown
from allocator.requirements.scenario import Circuit, Scenario
from allocator.requirements.tables import TableRow
from allocator.requirements.variants.documents import SCENARIO_TABLES, Documents
from allocator.requirements.variants.dropping import drop
from allocator.requirements.variants.merging import merge
from allocator.requirements.variants.reading import PART_TABLES, SINGLE_TABLES, Drop, Variant

_UNSET = "unset"
"""Key of an entry: fields that are to be as if nobody had written them."""


@dataclass
class Overlays:
    """What a variant wrote over each document, as it is found."""

    file: str
    scenario: dict[tuple[str, str], dict[str, Spot]] = field(default_factory=dict)
    circuits: dict[tuple[str, str], dict[str, Spot]] = field(default_factory=dict)
    catalogue: dict[tuple[str, str], dict[str, Spot]] = field(default_factory=dict)
    added: dict[tuple[str, str], Spot] = field(default_factory=dict)
    tables: set[str] = field(default_factory=set)
    numbers: Mapping[str, list[int]] = field(default_factory=dict)

    def of(self, document: str) -> Overlay:
        """Return what was written over one document: ``scenario``, ``circuits`` or ``catalogue``."""
        return Overlay(self.file, getattr(self, document), self.added, frozenset(self.tables), self.numbers)


def overlaid(variant: Variant, documents: Documents) -> tuple[Overlays, list[PlacedFault]]:
    """
    Change the documents as a variant says.

    Parameters
    ----------
    variant
        What changes.
    documents
        Documents of the scenario; changed in place.

    Returns
    -------
    tuple
        Where every changed field was written, and what in the variant cannot be done.
    """
    layer = _Layer(variant, documents)
    layer.faults += drop(variant, documents)
    layer.faults += merge(variant, documents)
    layer.scenario_tables()
    layer.circuits()
    layer.parts()
    layer.every()
    return layer.found, layer.faults


class _Layer:
    """One variant being laid over the documents of one scenario."""

    def __init__(self, variant: Variant, documents: Documents) -> None:
        self.variant, self.documents = variant, documents
        self.found = Overlays(variant.file, numbers=documents.numbers)
        self.faults: list[PlacedFault] = []
        self.dropped = {name for table in Drop.model_fields for name in getattr(variant.drop, table)}

    def scenario_tables(self) -> None:
        """Change the tables of ``scenario.toml``."""
        raw = self.documents.scenario
        if raw is None:
            return
        if "catalogue" in self.variant.raw:
            raw["catalogue"] = self.variant.raw["catalogue"]
            self.found.scenario["", ""] = {"catalogue": self.variant.spot}
        if "wire_colours" in self.variant.raw:
            raw["wire_colours"] = self.variant.raw["wire_colours"]
            self.found.tables.add("wire_colours")
        for table in SINGLE_TABLES:
            for spot, changes in self.variant.entries(table):
                self._single(raw, table, changes, spot, tables_in(Scenario)[table][0])
        for table, word in SCENARIO_TABLES.items():
            self._entries(raw, table, table, "name", word, tables_in(Scenario)[table][0], self.found.scenario)

    def _single(
        self, raw: dict[str, Any], table: str, changes: Mapping[str, Any], spot: Spot, model: type[Strict]
    ) -> None:
        """Change one table, the tables in it too; an array of tables is replaced as a whole."""
        name = table.rpartition(".")[2]
        entry = raw.setdefault(name, {})
        if not isinstance(entry, dict):
            return  # no table in the scenario, and a fault there
        for key, value in changes.items():
            inner, is_array = tables_in(model).get(key, (Strict, False))
            if is_array and value != []:
                entry[key] = value
                self.found.tables.add(f"{table}.{key}")
            elif inner is not Strict and isinstance(value, Mapping):
                path = f"{table}.{key}"
                self._single(entry, path, value, Spot(spot.file, f"[{path}]", f"[{path}]", spot.order, value), inner)
            elif key != _UNSET:
                entry[key] = value
                self.found.scenario.setdefault((table, ""), {})[key] = spot
        self._unset(entry, spot, changes, model, self.found.scenario.setdefault((table, ""), {}))

    def _entries(
        self,
        raw: dict[str, Any],
        table: str,
        where: str,
        key: str,
        word: str,
        model: type[Strict],
        fields: dict[tuple[str, str], dict[str, Spot]],
    ) -> None:
        """Change the entries of a table that have a name, and add new ones."""
        by_name = {entry[key]: entry for entry in reversed(self.documents.entries(table, key))}
        names = [entry[key] for entry in self.documents.entries(table, key)]
        for spot, changes in self.variant.entries(where):
            name = changes[key]
            if name in self.dropped:
                continue  # a fault already
            if name in by_name:
                written = {item: value for item, value in changes.items() if item not in (key, _UNSET)}
                by_name[name].update(written)
                fields[table, name] = dict.fromkeys(written, spot)
                self._unset(by_name[name], spot, changes, model, fields[table, name])
            elif self._is_whole(spot, changes, word, model, names):
                if isinstance(raw.setdefault(table, []), list):
                    raw[table].append(dict(changes))
                self.found.added[table, name] = spot

    def _is_whole(
        self, spot: Spot, changes: Mapping[str, Any], word: str, model: type[Strict], names: list[str]
    ) -> bool:
        """Whether a new entry has all that one needs; else it was likely meant for another that is there."""
        missing = [name for name, info in model.model_fields.items() if info.is_required() and name not in changes]
        if not missing:
            return True
        key = "id" if "id" in model.model_fields else "name"
        message = f"{spot.subject} is not in the scenario, and a new one needs {quoted(missing)} too"
        known = f"the {word}s are {quoted(names)}" if names else f"there is no {word}"
        hint = did_you_mean(changes[key], names)
        self.faults.append(spot.fault("unknown-entry", message, key, known=known, hint=hint))
        return False

    def _unset(
        self,
        entry: dict[str, Any],
        spot: Spot,
        changes: Mapping[str, Any],
        model: type[Strict],
        places: dict[str, Spot],
    ) -> None:
        """Take away the fields that the variant names under ``unset``."""
        for name in self._names_to_unset(spot, changes, list(model.model_fields)):
            entry.pop(name, None)
            places[name] = spot

    def _names_to_unset(self, spot: Spot, changes: Mapping[str, Any], known: list[str]) -> list[str]:
        names = changes.get(_UNSET, [])
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            message = f'"{_UNSET}" of {spot.subject} is no list of fields'
            self.faults.append(spot.fault("not-a-list", message, _UNSET, known='expected such as ["control", "home"]'))
            return []
        for name in names:
            if name not in known:
                message = f'"{_UNSET}" of {spot.subject} names the unknown field {shown(name)}'
                hint = did_you_mean(name, known)
                self.faults.append(
                    spot.fault("unknown-field", message, _UNSET, known=f"the fields are {quoted(known, 30)}", hint=hint)
                )
        return [name for name in names if name in known]

    def circuits(self) -> None:
        """Change the cells of circuits, and add rows for new ones."""
        rows = self.documents.rows
        if rows is None:
            return
        names = self.documents.names("circuits")
        by_id = {row.cells.get("id", ""): number for number, row in reversed(list(enumerate(rows)))}
        for spot, changes in self.variant.entries("circuits"):
            name = changes["id"]
            cells = {key: _cell(value) for key, value in changes.items() if key != _UNSET}
            cells |= dict.fromkeys(self._names_to_unset(spot, changes, list(COLUMNS)), "")
            for key in cells:
                if key not in COLUMNS:
                    message, known = (
                        f"{spot.subject} has the unknown field {shown(key)}",
                        f"the fields are {quoted(COLUMNS, 40)}",
                    )
                    hint = did_you_mean(key, COLUMNS)
                    self.faults.append(spot.fault("unknown-field", message, key, known=known, hint=hint))
            spot = replace(spot, raw=cells)
            if name in by_id:
                row = rows[by_id[name]]
                merged = {key: cell for key, cell in {**row.cells, **cells}.items() if cell}
                rows[by_id[name]] = replace(row, cells=merged)
                self.found.circuits["circuits", name] = dict.fromkeys((key for key in cells if key != "id"), spot)
            elif name not in self.dropped and self._is_whole(spot, cells, "circuit", Circuit, names):
                number = max((row.number for row in rows), default=1) + 1
                rows.append(TableRow(number, {key: cell for key, cell in cells.items() if cell}))
                self.found.added["circuits", name] = spot

    def parts(self) -> None:
        """Change parts of the catalogue, and add new ones."""
        raw = self.documents.catalogue
        if raw is None:
            return
        for table in PART_TABLES:
            self._entries(
                raw, table, f"parts.{table}", "id", "part", tables_in(Catalogue)[table][0], self.found.catalogue
            )

    def every(self) -> None:
        """Change what holds of all circuits or rows."""
        every, rows = self.variant.every, self.documents.rows
        if every.feeds == "first" and rows is not None:
            for number, row in enumerate(rows):
                first = items_of(row.cells.get("feeds", ""))[:1]
                if first:
                    rows[number] = replace(row, cells={**row.cells, "feeds": first[0]})
        if every.bus == "single":
            for module in self.documents.entries("modules", "id"):
                for row_entry in module["rows"] if isinstance(module.get("rows"), list) else ():
                    if isinstance(row_entry, dict) and row_entry.get("bus") == "strip":
                        row_entry["bus"] = "single"
                        row_entry.pop("strip", None)


def _cell(value: object) -> str:
    """Return a value of a TOML file as the cell of a circuits table that says the same."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "; ".join(_cell(item) for item in value)
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {_cell(item)}" if name else _cell(item) for name, item in value.items())
    return " ".join(str(value).split())
