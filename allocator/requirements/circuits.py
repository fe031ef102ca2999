"""
The circuits table of a scenario folder in, typed circuits with their bonds out, item by item.

What is broken is reported, and the rest is kept for cross-checks.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from allocator.errors import Fault, InputError
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
from allocator.requirements.places import Item, Overlay, PlacedFault, Spot, did_you_mean, nearest, quoted, shown
from allocator.requirements.scenario import Bond, Circuit
from allocator.requirements.separators import moved_cells, name_missing, without_commas
from allocator.requirements.tables import Table, TableRow, read_csv, read_xlsx, too_many_cells


def circuits_table(folder: Path) -> Table:
    """Read ``circuits.csv`` or ``circuits.xlsx``; raise InputError where there is neither, or both."""
    found = [path for path in (folder / "circuits.csv", folder / "circuits.xlsx") if os.path.lexists(path)]
    if len(found) == 2:
        message = "there are both circuits.csv and circuits.xlsx, and only one can count"
        raise InputError([Fault("two-circuits-files", message, folder.as_posix(), hint="remove one of them")])
    if not found:
        message = "there is neither circuits.csv nor circuits.xlsx"
        raise InputError([Fault("no-file", message, folder.as_posix())])
    path = found[0]
    read = read_csv if path.suffix == ".csv" else read_xlsx
    return read(path, path.as_posix(), COLUMNS)


def circuits_document(
    table: Table, rank: int, overlay: Overlay | None = None
) -> tuple[Document, dict[str, list[Item[Bond]]]]:
    """
    Read every row.

    Parameters
    ----------
    table
        The rows.
    rank
        Place of the table in the order in which faults are listed.
    overlay
        What a variant wrote over it.

    Returns
    -------
    tuple
        The circuits, and the pairs of the bond columns by rule (``apart``, ``together``).
    """
    document = Document(table.file, rank, overlay)
    laid = {} if overlay is None else overlay.fields
    written = {name: frozenset(fields) for (of, name), fields in laid.items() if of == "circuits"}
    table, commas = without_commas(table, written)
    document.faults.extend(PlacedFault((rank,), fault) for fault in table.faults)
    absent = frozenset(name for name in REQUIRED_COLUMNS if table.columns and name not in table.columns)
    misspelt = [nearest(column, COLUMNS) for column in table.columns if column not in COLUMNS]
    for name in sorted(name for name in absent if name not in misspelt):
        message = f"the table has no column {shown(name)}"
        known = f"{name}: {Circuit.model_fields[name].description}"
        document.faults.append(PlacedFault((rank,), Fault("missing-column", message, table.file, known)))
    of_the_table = len(document.faults)
    slips: dict[int, Fault] = {}
    for row in table.rows:
        num_faults = len(document.faults)
        if row.overlong:
            document.names.setdefault("circuits", []).append(row.cells.get("id", ""))
            where = f"{table.file}, row {row.number}"
            slips[row.number] = too_many_cells(row.overlong, len(table.columns), where)
        else:
            _read_row(document, row, absent | commas.get(row.number, frozenset()))
            slip = moved_cells(table, row) if len(document.faults) > num_faults else None
            if slip is not None:
                slips[row.number] = slip
        if row.number in slips:
            document.faults[num_faults:] = [PlacedFault((rank, row.number), slips[row.number])]
    unnamed = name_missing(table, slips)
    if unnamed is not None:
        document.faults[of_the_table:] = [PlacedFault((rank,), unnamed)]
    return document, _bonds([row for row in table.rows if row.number not in slips], document)


def _read_row(document: Document, row: TableRow, broken: frozenset[str]) -> None:
    fields, bad = circuit_fields(row.cells)
    document.entry(Circuit, "circuits", row.number, fields, row=row.cells, broken=broken | frozenset(bad))
    spot = _row_spot(document, row)
    for column, error in bad.items():
        message = f'"{column}" of {spot.subject} {error.problem}'
        document.faults.append(spot.fault(error.rule, message, column, known=f"expected {error.expected}"))


def _row_spot(document: Document, row: TableRow) -> Spot:
    subject = f"circuit {shown(row.cells['id'])}" if "id" in row.cells else f"row {row.number}"
    name = row.cells.get("id", "")
    return document.spot(f"row {row.number}", subject, row.cells, row.number, table="circuits", name=name)


def _bonds(rows: Sequence[TableRow], document: Document) -> dict[str, list[Item[Bond]]]:
    """Return the pairs of the bond columns, each once, in the order of their ids and levels."""
    found: dict[tuple[str, tuple[str, ...], str], Item[Bond]] = {}
    ids = dict.fromkeys(document.names.get("circuits", []))
    sound = frozenset(item.value.id for item in document.items.get("circuits", []))
    for row in rows:
        own, spot = row.cells.get("id", ""), _row_spot(document, row)
        for bond in bonds_of(row.cells):
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
