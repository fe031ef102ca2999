"""
What a variant drops: entries that are no longer there, and their names out of the lists that mention them.

A list that would become empty keeps the name, so that its entry is told to be in need of another: an empty list often
means "any".
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from allocator.errors import Fault
from allocator.requirements.cells import items_of
from allocator.requirements.places import PlacedFault, Spot, did_you_mean, quoted, shown
from allocator.requirements.variants.documents import SCENARIO_TABLES, Documents, lists_in, without
from allocator.requirements.variants.reading import PART_TABLES, Variant

_WORDS: Mapping[str, str] = {**SCENARIO_TABLES, "circuits": "circuit", "parts": "part"}
_CELLS: Mapping[str, str] = {"feeds": "feeds", "panels": "panels", "load_cases": "load_cases"}
"""Columns of the circuits table that hold a list of names, and the table of what they name."""


def drop(variant: Variant, documents: Documents) -> list[PlacedFault]:
    """Take away what a variant drops; return the faults of names that are not there or are changed as well."""
    spot = Spot(variant.file, "[drop]", "[drop]", variant.spot.order, variant.raw.get("drop", {}))
    names = {table: frozenset(getattr(variant.drop, table)) for table in _WORDS}
    faults = [fault for table in _WORDS for fault in _faults(variant, documents, spot, table)]
    for table in SCENARIO_TABLES:
        _drop_entries(documents, documents.scenario, table, "name", names[table])
    for table in PART_TABLES:
        _drop_entries(documents, documents.catalogue, table, "id", names["parts"])
    if documents.scenario is not None:
        _drop_mentions(documents, documents.scenario, names)
    if documents.rows is not None:
        kept = [row for row in documents.rows if row.cells.get("id") not in names["circuits"]]
        documents.rows[:] = [replace(row, cells=_cells(row.cells, names)) for row in kept]
    return faults


def _faults(variant: Variant, documents: Documents, spot: Spot, table: str) -> Iterator[PlacedFault]:
    known, word = documents.names(table), _WORDS[table]
    changed = {
        entry.get("name", entry.get("id"))
        for where in (table, *_parts_of(table))
        for _, entry in variant.entries(where)
    }
    for name in getattr(variant.drop, table):
        if documents.is_known(table) and name not in known:
            message = f'"{table}" of [drop] names the unknown {word} {shown(name)}'
            hint = did_you_mean(name, known)
            yield spot.fault(
                f"unknown-{word.replace(' ', '-')}", message, table, known=f"the {word}s are {quoted(known)}", hint=hint
            )
        if name in changed:
            message = f"{word} {shown(name)} is dropped and changed"
            yield spot.fault("dropped-and-changed", message, table, hint="take it out of one of the two")


def _parts_of(table: str) -> list[str]:
    return [f"parts.{part}" for part in PART_TABLES] if table == "parts" else []


def _drop_entries(
    documents: Documents, document: dict[str, Any] | None, table: str, key: str, names: frozenset[str]
) -> None:
    def is_kept(entry: object) -> bool:
        return not (isinstance(entry, dict) and entry.get(key) in names)

    documents.keep(table, (document or {}).get(table), is_kept)


def _drop_mentions(documents: Documents, scenario: dict[str, Any], names: Mapping[str, frozenset[str]]) -> None:
    for entry, field, table in lists_in(scenario):
        kept = [name for name in entry[field] if not (isinstance(name, str) and name in names[table])]
        entry[field] = kept or entry[field]
    rules = scenario.get("rules")
    for table, field, of in (
        ("apart", "circuits", "circuits"),
        ("together", "circuits", "circuits"),
        ("modules", "module", "parts"),
    ):
        if isinstance(rules, dict) and names[of]:
            documents.keep(f"rules.{table}", rules.get(table), partial(_has_sense, field=field, names=names[of]))


def _has_sense(entry: object, field: str, names: frozenset[str]) -> bool:
    """Whether a rule is still about something: a part that is there, two circuits or more."""
    value = entry.get(field) if isinstance(entry, dict) else None
    if isinstance(value, list):
        return len(value) >= 2 and not all(name in names for name in value)
    return value not in names if isinstance(value, str) else True


def drops_told(faults: Iterable[Fault], variant: Variant) -> list[Fault]:
    """Return faults, those about a name that the variant dropped with the advice that follows."""
    hints = {
        f"the unknown {word} {shown(name)}": f"{variant.file} drops that {word}: change or drop this entry there too"
        for table, word in _WORDS.items()
        for name in (*getattr(variant.drop, table), *(item.panel for item in variant.merges if table == "panels"))
    }
    own = tuple(f"{variant.file}, {table}" for table in ("[drop]", "[[merge]]"))
    return [
        fault
        if fault.where.startswith(own)
        else replace(fault, hint=next((hint for text, hint in hints.items() if text in fault.message), fault.hint))
        for fault in faults
    ]


def _cells(cells: Mapping[str, str], names: Mapping[str, frozenset[str]]) -> dict[str, str]:
    found = dict(cells)
    for column, table in _CELLS.items():
        if column in found and names[table]:
            found[column] = without(found[column], names[table])
    for column in ("separate_from", "together_with"):
        if column in found and names["circuits"]:
            kept = [item for item in items_of(found[column]) if item.partition("@")[0].strip() not in names["circuits"]]
            found[column] = "; ".join(kept)
    if "length" in found and names["panels"]:
        kept = [item for item in items_of(found["length"]) if item.rpartition(":")[0].strip() not in names["panels"]]
        found["length"] = "; ".join(kept) or found["length"]
    return {column: cell for column, cell in found.items() if cell}
