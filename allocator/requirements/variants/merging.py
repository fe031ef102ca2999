"""
Panels of a scenario that a variant merges: what could be at the one is at the other, behind longer runs.

A circuit that has a length from the other panel keeps that; one that could only be at the merged panel gets its own
length from there, and what the variant says on top.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from allocator.requirements.cells import items_of
from allocator.requirements.places import PlacedFault, Spot, did_you_mean, quoted, shown
from allocator.requirements.variants.documents import Documents, lists_in
from allocator.requirements.variants.reading import Merge, Variant
from allocator.units import BadValue, number_in


def merge(variant: Variant, documents: Documents) -> list[PlacedFault]:
    """Merge the panels that a variant names; return the faults of names that are not there."""
    faults: list[PlacedFault] = []
    for (spot, _), merged in zip(variant.entries("merge"), variant.merges, strict=True):
        found = list(_faults(documents, spot, merged))
        faults += found
        if not found and documents.scenario is not None:
            _merge_tables(documents, documents.scenario, merged)
        if not found and documents.rows is not None:
            documents.rows[:] = [replace(row, cells=_cells(row.cells, merged)) for row in documents.rows]
    return faults


def _faults(documents: Documents, spot: Spot, merged: Merge) -> Iterator[PlacedFault]:
    known = documents.names("panels")
    for field in ("panel", "into"):
        name = getattr(merged, field)
        if documents.is_known("panels") and name not in known:
            message = f'"{field}" of {spot.subject} names the unknown panel {shown(name)}'
            hint = did_you_mean(name, known)
            yield spot.fault("unknown-panel", message, field, known=f"the panels are {quoted(known)}", hint=hint)
    if merged.panel == merged.into:
        yield spot.fault("merged-with-itself", f"{spot.subject} merges a panel with itself", "into")


def _merge_tables(documents: Documents, scenario: dict[str, Any], merged: Merge) -> None:
    def is_kept(entry: object) -> bool:
        return not (isinstance(entry, dict) and entry.get("name") == merged.panel)

    documents.keep("panels", scenario.get("panels"), is_kept)
    for entry, field, table in lists_in(scenario):
        if table == "panels":
            entry[field] = list(dict.fromkeys(_instead(name, merged) for name in entry[field]))
    rules = scenario.get("rules")
    spares = rules.get("spares") if isinstance(rules, dict) else None
    for entries, field in ((scenario.get("feeds"), "home"), (spares, "panel")):
        for entry in entries if isinstance(entries, list) else ():
            if isinstance(entry, dict) and field in entry:
                entry[field] = _instead(entry[field], merged)


def _instead(name: Any, merged: Merge) -> Any:
    return merged.into if name == merged.panel else name


def _cells(cells: Mapping[str, str], merged: Merge) -> dict[str, str]:
    found = dict(cells)
    panels = items_of(cells.get("panels", ""))
    only_there = panels == [merged.panel]
    if panels:
        found["panels"] = "; ".join(dict.fromkeys(_instead(name, merged) for name in panels))
    lengths = {
        name.strip(): length for name, _, length in (item.rpartition(":") for item in items_of(cells.get("length", "")))
    }
    if merged.panel in lengths:
        own = lengths.pop(merged.panel)
        lengths.setdefault(merged.into, _longer(own, merged))
    elif only_there:
        lengths = {name: _longer(length, merged) for name, length in lengths.items()}
    else:
        return found
    found["length"] = "; ".join(
        f"{name}: {length.strip()}" if name else length.strip() for name, length in lengths.items()
    )
    if only_there and "return_length" in found:
        found["return_length"] = _longer(found["return_length"], merged)
    return found


def _longer(length: str, merged: Merge) -> str:
    """Return a length with what the variant adds; one that cannot be read stays as it is, and is a fault later."""
    try:
        return f"{float(number_in(length.strip(), 'm')) + merged.longer_by:.9g} m"
    except BadValue:
        return length
