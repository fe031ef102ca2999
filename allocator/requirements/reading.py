"""
A scenario folder or a plan's JSON in, ``Requirements`` out; or one ``InputError`` with every fault of every file.

The three documents of a vehicle (scenario, circuits, catalogue) are read on their own, so that a fault in one does not
hide the faults of the others, and are then checked against each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import chain
from pathlib import Path
from typing import Any, TypeVar

from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Catalogue, Strict
from allocator.requirements.cells import (
    BOND_COLUMNS,
    COLUMNS,
    LEVELS,
    REQUIRED_COLUMNS,
    RawBond,
    bonds_of,
    circuit_fields,
)
from allocator.requirements.documents import Document
from allocator.requirements.drafting import Draft
from allocator.requirements.files import read_toml
from allocator.requirements.places import Item, Origins, PlacedFault, Spot, did_you_mean, nearest, quoted, shown
from allocator.requirements.scenario import Bond, Circuit, Requirements, Rules, Scenario
from allocator.requirements.tables import Table, TableRow, read_csv, read_xlsx
from allocator.requirements.validating import catalogue_faults, cross_faults

SHIPPED_CATALOGUE = Path(__file__).parent / "data" / "catalogue.toml"
_SHIPPED_NAME = "the catalogue that ships"
_SCENARIO, _CIRCUITS, _CATALOGUE = range(3)
"""Order in which the faults of the three documents are listed."""

R = TypeVar("R")
S = TypeVar("S", bound=Strict)


def load_scenario(folder: Path | str) -> Requirements:
    """
    Read a scenario folder: ``scenario.toml``, ``circuits.csv`` or ``circuits.xlsx``, and the catalogue it names.

    Parameters
    ----------
    folder
        The folder.

    Returns
    -------
    Requirements
        Typed, complete and cross-checked.

    Raises
    ------
    InputError
        With every fault that was found.
    """
    folder = Path(folder)
    _check_folder(folder)
    faults: list[PlacedFault] = []
    scenario_file = folder / "scenario.toml"
    raw = _collect(faults, _SCENARIO, lambda: read_toml(scenario_file, scenario_file.as_posix()))
    table = _collect(faults, _CIRCUITS, lambda: _circuits_table(folder))
    scenario, scenario_value = (
        (None, None) if raw is None else _read(Scenario, raw, scenario_file.as_posix(), _SCENARIO)
    )
    name = raw.get("catalogue") if raw is not None else None
    path, shown_path = _catalogue_path(folder, name if isinstance(name, str) else "", faults)
    catalogue, catalogue_value = (None, None)
    raw_catalogue = None if path is None else _collect(faults, _CATALOGUE, lambda: read_toml(path, shown_path))
    if raw_catalogue is not None:
        catalogue, catalogue_value = _read(Catalogue, raw_catalogue, shown_path, _CATALOGUE)
    circuits, bonds = (None, {}) if table is None else _circuits_document(table)
    draft = Draft(scenario, circuits, catalogue, bonds)
    return _finished(draft, scenario_value, catalogue_value, faults)


def load_catalogue(path: Path | None = None) -> Catalogue:
    """
    Read and check a catalogue.

    Parameters
    ----------
    path
        A TOML file; none: the catalogue that ships.

    Raises
    ------
    InputError
        With every fault that was found.
    """
    shown_path = _SHIPPED_NAME if path is None else path.as_posix()
    raw = read_toml(path or SHIPPED_CATALOGUE, shown_path)
    document, value = _read(Catalogue, raw, shown_path, _CATALOGUE)
    faults = [*document.faults, *catalogue_faults(Draft(None, None, document, {}))]
    if faults or value is None:
        raise _input_error(faults)
    return value


def requirements_to_json(requirements: Requirements) -> dict[str, Any]:
    """Return requirements as plain data for a JSON file, with the unit written behind every number."""
    return requirements.model_dump(mode="json")


def requirements_from_json(data: object, file: str = "plan.json") -> Requirements:
    """
    Read requirements back from plain data, with every check that the files of a scenario get.

    Parameters
    ----------
    data
        What ``requirements_to_json`` gave, perhaps edited since.
    file
        Name of the file for messages.

    Raises
    ------
    InputError
        With every fault that was found.
    """
    if not isinstance(data, Mapping):
        raise InputError([Fault("not-a-table", "the requirements are no table of named values", file)])
    faults = [
        PlacedFault((_SCENARIO,), Fault("missing-field", f'the requirements have no "{name}"', file))
        for name in Requirements.model_fields
        if not isinstance(data.get(name), list if name == "circuits" else Mapping)
    ]
    if not faults and not data["circuits"]:
        faults.append(PlacedFault((_CIRCUITS,), Fault("empty-table", "there are no circuits", file)))
    if faults:
        raise _input_error(faults)
    scenario, scenario_value = _read(Scenario, data["scenario"], file, _SCENARIO)
    catalogue, catalogue_value = _read(Catalogue, data["catalogue"], file, _CATALOGUE)
    circuits = Document(file, _CIRCUITS)
    circuits.entries(Circuit, data["circuits"], "circuits")
    return _finished(Draft(scenario, circuits, catalogue, {}), scenario_value, catalogue_value, faults)


def _read(model: type[S], raw: Mapping[str, Any], file: str, rank: int) -> tuple[Document, S | None]:
    document = Document(file, rank)
    return document, document.read(model, raw)


def _finished(
    draft: Draft, scenario: Scenario | None, catalogue: Catalogue | None, faults: Sequence[PlacedFault]
) -> Requirements:
    documents = [document for document in (draft.scenario, draft.circuits_table, draft.catalogue) if document]
    found = [*faults, *chain.from_iterable(document.faults for document in documents)]
    found += [*cross_faults(draft), *catalogue_faults(draft)]
    if found or scenario is None or catalogue is None:
        raise _input_error(found)
    rules = scenario.rules.model_copy(
        update={rule: _merged(scenario.rules, rule, draft) for rule in ("apart", "together")}
    )
    circuits = tuple(item.value for item in draft.circuits)
    scenario = scenario.model_copy(update={"rules": rules})
    return Requirements(scenario=scenario, circuits=circuits, catalogue=catalogue).read_from(_origins(draft))


def _origins(draft: Draft) -> Origins:
    spots = {("circuits", item.value.id): item.spot for item in draft.circuits}
    tables = {} if draft.scenario is None else draft.scenario.items
    spots |= {(name, ""): tables[name][0].spot for name in ("vehicle", "supply") if tables.get(name)}
    spots |= {("feeds", item.value.name): item.spot for item in draft.feeds}
    spots |= {("rules.spares", str(number)): item.spot for number, item in enumerate(draft.rule_items("spares"), 1)}
    return Origins(spots)


def _merged(rules: Rules, rule: str, draft: Draft) -> tuple[Bond, ...]:
    bonds: dict[tuple[tuple[str, ...], str], Bond] = {}
    for bond in [*getattr(rules, rule), *(item.value for item in draft.bonds.get(rule, ()))]:
        bonds.setdefault((tuple(sorted(bond.circuits)), bond.level), bond)
    return tuple(bonds.values())


def _input_error(faults: Iterable[PlacedFault]) -> InputError:
    ordered = sorted(faults, key=lambda placed: placed.order)
    return InputError(dict.fromkeys(placed.fault for placed in ordered))


def _collect(faults: list[PlacedFault], rank: int, read: Callable[[], R]) -> R | None:
    try:
        return read()
    except InputError as error:
        faults.extend(PlacedFault((rank,), fault) for fault in error.faults)
        return None


def _check_folder(folder: Path) -> None:
    try:
        if folder.is_dir():
            return
        reason = "is a file; a scenario is a folder" if folder.exists() else "does not exist"
    except (OSError, ValueError):
        reason = "cannot be opened"
    hint = "give the folder that holds scenario.toml"
    raise InputError([Fault("no-folder", f"the scenario folder {reason}", folder.as_posix(), hint=hint)])


def _circuits_table(folder: Path) -> Table:
    found = [path for path in (folder / "circuits.csv", folder / "circuits.xlsx") if path.exists()]
    if len(found) == 2:
        message = "there are both circuits.csv and circuits.xlsx, and only one can count"
        raise InputError([Fault("two-circuits-files", message, folder.as_posix(), hint="remove one of them")])
    if not found:
        message = "there is neither circuits.csv nor circuits.xlsx"
        raise InputError([Fault("no-file", message, folder.as_posix())])
    path = found[0]
    read = read_csv if path.suffix == ".csv" else read_xlsx
    return read(path, path.as_posix(), COLUMNS)


def _catalogue_path(folder: Path, name: str, faults: list[PlacedFault]) -> tuple[Path | None, str]:
    if not name:
        return SHIPPED_CATALOGUE, _SHIPPED_NAME
    try:
        path = (folder / name).resolve()
        inside = path.is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):
        inside = False
    if inside:
        return path, (folder / name).as_posix()
    where = f'{(folder / "scenario.toml").as_posix()}, field "catalogue" = {shown(name)}'
    message, known = "the catalogue is outside the scenario folder", "expected a file in the scenario folder"
    faults.append(PlacedFault((_SCENARIO,), Fault("outside-folder", message, where, known)))
    return None, ""


def _circuits_document(table: Table) -> tuple[Document, dict[str, list[Item[Bond]]]]:
    document = Document(table.file, _CIRCUITS)
    document.faults.extend(PlacedFault((_CIRCUITS,), fault) for fault in table.faults)
    absent = frozenset(name for name in REQUIRED_COLUMNS if table.columns and name not in table.columns)
    misspelt = [nearest(column, COLUMNS) for column in table.columns if column not in COLUMNS]
    for name in sorted(name for name in absent if name not in misspelt):
        message = f"the table has no column {shown(name)}"
        known = Circuit.model_fields[name].description or ""
        document.faults.append(PlacedFault((_CIRCUITS,), Fault("missing-column", message, table.file, known)))
    for row in table.rows:
        if row.overlong:
            document.names.setdefault("circuits", []).append(row.cells.get("id", ""))
            continue
        fields, bad = circuit_fields(row.cells)
        document.entry(Circuit, "circuits", row.number, fields, row=row.cells, broken=absent | frozenset(bad))
        spot = _row_spot(document, row)
        for column, error in bad.items():
            message = f'"{column}" of {spot.subject} {error.problem}'
            document.faults.append(spot.fault(error.rule, message, column, known=f"expected {error.expected}"))
    return document, _bonds(table, document)


def _row_spot(document: Document, row: TableRow) -> Spot:
    subject = f"circuit {shown(row.cells['id'])}" if "id" in row.cells else f"row {row.number}"
    return document.spot(f"row {row.number}", subject, row.cells, row.number)


def _bonds(table: Table, document: Document) -> dict[str, list[Item[Bond]]]:
    """Return the pairs of the bond columns, each once, in the order of their ids and levels."""
    found: dict[tuple[str, tuple[str, ...], str], Item[Bond]] = {}
    ids = dict.fromkeys(document.names.get("circuits", []))
    sound = frozenset(item.value.id for item in document.items.get("circuits", []))
    for row in table.rows:
        own, spot = row.cells.get("id", ""), _row_spot(document, row)
        for bond in [] if row.overlong else bonds_of(row.cells):
            fault = _bond_fault(spot, own, bond, ids)
            if fault is not None:
                document.faults.append(fault)
            elif own in sound and bond.other in sound:
                pair = tuple(sorted((own, bond.other)))
                key = (bond.rule, pair, bond.level)
                found.setdefault(key, Item(spot, Bond.model_validate({"circuits": pair, "level": bond.level})))
    return {rule: [found[key] for key in sorted(found) if key[0] == rule] for rule, _ in BOND_COLUMNS.values()}


def _bond_fault(spot: Spot, own: str, bond: RawBond, ids: Mapping[str, None]) -> PlacedFault | None:
    subject = f'"{bond.column}" of {spot.subject}'
    if bond.level not in LEVELS:
        message = f"{subject} has the unknown level {shown(bond.level)}"
        known, hint = f"the levels are {quoted(LEVELS)}", did_you_mean(bond.level, LEVELS)
        return spot.fault("unknown-level", message, bond.column, known=known, hint=hint)
    if bond.other == own:
        return spot.fault("bond-with-itself", f"{subject} names the circuit itself", bond.column)
    if bond.other not in ids:
        message = f"{subject} names the unknown circuit {shown(bond.other)}"
        known, hint = f"the circuits are {quoted(ids)}", did_you_mean(bond.other, ids)
        return spot.fault("unknown-circuit", message, bond.column, known=known, hint=hint)
    return None
