"""
What a revision takes, in the workshop's words: what to buy, cut, crimp, label and test.

Comes in as a ``ChangeSheet``; goes out as rows that text and paper share, and as plain data.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from allocator.outputs.changes.words import ChangeSheet
from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK, clean
from allocator.outputs.workshop.outside import fuses_to_label
from allocator.plan.change_needs import change_needs
from allocator.plan.cuts import cut_mm
from allocator.plan.wiring import Run
from allocator.units import MM_PER_M

TITLE = "What this change takes, beyond the panel as built"
NOTE = "What comes free is used again, save wires and their terminals. parts.csv and wires.csv list the whole panel."


def need_rows(sheet: ChangeSheet) -> list[tuple[str, str]]:
    """Return what to do and with what, one row for each thing; none where nothing is done."""
    needs, content = change_needs(sheet.changes), sheet.content
    rows = [("buy", f"{number} x {_named(sheet, part)}") for part, number in needs.parts.items()]
    rows += [("buy", f"{ways} ways of {_named(sheet, strip)}") for strip, ways in needs.strip_ways.items()]
    terminals = Counter(crimp.terminal for crimp in needs.crimps)
    rows += [("buy", f"{terminals[part]} x {_named(sheet, part)}") for part in sorted(terminals)]
    lengths: Counter[str] = Counter()
    for run in needs.cut:
        lengths[run.wire] += cut_mm(run, sheet.sized.requirements) or 0
    rows += [("buy", f"{lengths[wire] / MM_PER_M:.2f} m of {_named(sheet, wire)}") for wire in sorted(lengths)]
    rows += [("cut", f"{run.number}, {content.area_text(run.wire)}, {_length(sheet, run)}") for run in needs.cut]
    for crimp in needs.crimps:
        on = " and ".join(f"{number} ({content.area_text(wire)})" for number, wire in _wires(crimp.runs, crimp.wires))
        rows.append(("crimp", f"{crimp.terminal} onto {on}: {crimp.place} {crimp.cavity}".rstrip()))
    if needs.labelled:
        rows.append(("label", f"both ends of {', '.join(run.number for run in needs.labelled)} (labels.pdf)"))
    if holders := list(_holders(sheet)):
        rows.append(("label", f"fuse holders, so that nobody fits what was there: {', '.join(holders)} (labels.pdf)"))
    if sheet.numbered:
        rows.append(("label", "the lid: hang the new legend (legend.pdf)"))
    if needs.tried:
        tried = ", ".join(needs.tried)
        rows.append(("test", f"again, before fuses go in and with power: {tried} (their rows of tests.pdf)"))
    return [(do, clean(text).replace(NO_BREAK, " ")) for do, text in rows]


def _holders(sheet: ChangeSheet) -> Iterator[str]:
    """Yield every holder outside the modules whose label is new, or says another rating, place or thing protected."""
    built, now = (Content(index.sized, index.plan) for index in (sheet.changes.old, sheet.changes.new))
    labels_built = set(_holder_labels(built))
    for label in _holder_labels(now):
        if label not in labels_built:
            name, kind, rating, *_ = label
            yield f"{name} ({kind}, {rating})"


def _holder_labels(content: Content) -> list[tuple[str, ...]]:
    """Return what the label of every holder says, its name, kind and rating first."""
    rating_by_fuse = {fuse.id: f"{fuse.rating:g} A" for fuse in content.sized.requirements.catalogue.fuses}
    return [
        (item.name, item.kind, f"{rating_by_fuse[item.fuse]} {content.fuse_type(item.fuse)}", item.where, item.protects)
        for item in fuses_to_label(content)
    ]


def _wires(runs: tuple[str, ...], wires: tuple[str, ...]) -> list[tuple[str, str]]:
    return list(zip(runs, wires, strict=True))


def _length(sheet: ChangeSheet, run: Run) -> str:
    length = cut_mm(run, sheet.sized.requirements)
    return "length to be measured" if length is None else f"{length / MM_PER_M:.2f} m"


def _named(sheet: ChangeSheet, part: str) -> str:
    catalogue = sheet.sized.requirements.catalogue
    tables = (
        catalogue.modules, catalogue.carriers, catalogue.fuses, catalogue.relays, catalogue.terminals, catalogue.wires,
        catalogue.strips, catalogue.studs, catalogue.holders, catalogue.main_holders, catalogue.accessories,
    )  # fmt: skip
    label = next((item.label for table in tables for item in table if item.id == part), "")
    return f"{label} ({part})" if label else part


def needs_data(sheet: ChangeSheet) -> list[dict[str, Any]]:
    """Return the same rows as plain data."""
    return [{"do": do, "what": what} for do, what in need_rows(sheet)]
