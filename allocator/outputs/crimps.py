"""
How many crimps a plan takes, by kind of terminal and size of wire, and what brings the supply to its ways.

Comes in as the Content of a plan; goes out as ``crimps.csv``, as lines of the summary and as plain data. A way on a bus
strip needs no crimp on its supply side, one that is fed singly needs one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK, clean
from allocator.outputs.lists import remarks_of
from allocator.outputs.records import csv_text
from allocator.plan.crimps import crimp_counts, crimps_of
from allocator.requirements.catalogue import Terminal

COLUMNS = ("terminal", "label", "kind", "fits", "wires", "area_mm2", "crimps", "limit_a")
_KINDS = ("tab", "inlet", "ring")


@dataclass(frozen=True, slots=True)
class CrimpLine:
    """
    Crimps of one terminal onto one wire (or onto several that share its cavity).

    Attributes
    ----------
    kind
        ``tab`` (single terminal), ``inlet`` (of a bus strip) or ``ring``.
    fits
        Width of the tab or size of the stud: ``6.3 mm``, ``M8``.
    wires, sizes, areas_mm2
        Wires of the catalogue in it, their sizes in words, and their areas.
    """

    terminal: str
    label: str
    kind: str
    fits: str
    wires: tuple[str, ...]
    sizes: tuple[str, ...]
    areas_mm2: tuple[float, ...]
    limit_a: float
    count: int


@dataclass(frozen=True, slots=True)
class SupplySides:
    """What brings the supply to the used ways: bridged by strips, each by a terminal of its own, or on a solid bus."""

    bridged: int
    strip_inlets: int
    single: int
    on_bus: int


def crimp_lines(content: Content) -> tuple[CrimpLine, ...]:
    """Return crimps by terminal and wires: tabs, inlets, rings, each from the small to the large."""
    catalogue = content.sized.requirements.catalogue
    terminals = {item.id: item for item in catalogue.terminals}
    areas = {wire.id: wire.area for wire in catalogue.wires}
    found = [
        CrimpLine(
            terminal=terminal,
            label=terminals[terminal].label,
            kind=terminals[terminal].kind,
            fits=_fits(terminals[terminal]),
            wires=wires,
            sizes=tuple(content.area_text(wire).replace(NO_BREAK, " ") for wire in wires),
            areas_mm2=tuple(areas[wire] for wire in wires),
            limit_a=terminals[terminal].limit,
            count=count,
        )
        for (terminal, wires), count in crimp_counts(crimps_of(content.runs)).items()
    ]
    return tuple(sorted(found, key=lambda line: (*_order(terminals[line.terminal]), line.areas_mm2, line.terminal)))


def supply_sides(content: Content) -> SupplySides:
    """Count the used ways by what brings their supply."""
    entries = content.index.entry_by_way
    kinds = Counter(entries[place].piece.kind for place in content.index.way_by_place)
    inlets = sum(entry.piece.kind == "strip" for entry in content.index.entries)
    return SupplySides(kinds["strip"], inlets, kinds["single"], kinds["stud"])


def crimps_csv(content: Content) -> str:
    """Return crimps.csv."""
    rows = [
        (
            line.terminal, line.label, line.kind, line.fits, " + ".join(line.wires),
            " + ".join(f"{area:.4g}" for area in line.areas_mm2), line.count, f"{line.limit_a:g}",
        )
        for line in crimp_lines(content)
    ]  # fmt: skip
    return csv_text(COLUMNS, rows, [sides_text(content), *remarks_of(content)])


def crimps_data(content: Content) -> Mapping[str, Any]:
    """Return the crimps as plain data."""
    lines = [
        {"terminal": line.terminal, "kind": line.kind, "fits": line.fits, "wires": line.wires, "count": line.count}
        for line in crimp_lines(content)
    ]
    return {"crimps": lines, "supply_sides": asdict(supply_sides(content))}


def crimps_text(content: Content) -> Iterator[Sequence[str]]:
    """Yield a row of cells for each kind of terminal: kind, number, and how many on which size of wire."""
    by_kind: dict[tuple[str, str], Counter[str]] = {}
    for line in crimp_lines(content):
        sizes = by_kind.setdefault((line.kind, line.fits), Counter())
        sizes[" with ".join(line.sizes)] += line.count
    for (kind, fits), counts in by_kind.items():
        on = ", ".join(f"{count} x {size}" for size, count in counts.items())
        yield f"{kind} {fits}", str(counts.total()), clean(on)


def sides_text(content: Content) -> str:
    """Say what brings the supply to the ways."""
    sides = supply_sides(content)
    return (
        f"supply of the ways: {sides.bridged} bridged by {sides.strip_inlets} strip pieces, {sides.single} by a "
        f"terminal of their own, {sides.on_bus} on a solid bus"
    )


def _fits(terminal: Terminal) -> str:
    return str(terminal.stud) if terminal.kind == "ring" else f"{terminal.tab:g} mm"


def _order(terminal: Terminal) -> tuple[int, float, int]:
    stud = int(str(terminal.stud).removeprefix("M")) if terminal.kind == "ring" else 0
    return _KINDS.index(terminal.kind), terminal.tab or 0.0, stud
