"""
Where everything of a panel lies on paper, seen from the front: carriers, bays, modules, rows, ways, sockets.

Comes in as an indexed plan and a stretch of bays; goes out as boxes in mm from the left upper corner of the stretch. A
``View`` puts them on a sheet; the wiring side is the same boxes mirrored, so that both sides agree cavity by cavity.
Within a module the drawing is not to scale: ways of a row share its width evenly.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from allocator.outputs.paper import Box
from allocator.plan.index import CarrierAt, ModuleAt, PlanIndex

Side = Literal["front", "wiring side"]

FRAME_MM = 2.5
BAY_HEAD_MM = 4.2
CARRIER_FOOT_MM = 4.0
CARRIER_GAP_MM = 4.0
MODULE_HEAD_MM = 5.2
ROW_HEAD_MM = 4.2
INLET_MM = 5.4
BAR_MM = 3.2
SOCKETS_PER_BAY = 2
SOCKET_LINE_SHARE = 0.8
"""Height of a line of sockets, as a share of that of a row of ways."""


@dataclass(frozen=True, slots=True)
class RowArea:
    """A row: its letter, the zone of the inlets, the supply bar, and the cell of every way."""

    number: int
    letter: Box
    inlets: Box
    bar: Box
    cells: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class ModuleArea:
    """A module with its rows and sockets."""

    at: ModuleAt
    box: Box
    head: Box
    rows: tuple[RowArea, ...]
    sockets: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class CarrierArea:
    """The part of a carrier that lies in the stretch; an edge is open where the carrier goes on in another one."""

    at: CarrierAt
    box: Box
    foot: Box
    open_left: bool
    open_right: bool


@dataclass(frozen=True, slots=True)
class Area:
    """A stretch of bays of one panel."""

    panel: str
    bays: tuple[int, ...]
    width: float
    height: float
    carriers: tuple[CarrierArea, ...]
    bay_heads: tuple[tuple[int, Box], ...]
    modules: tuple[ModuleArea, ...]
    blanks: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class View:
    """One side of a stretch at a place of a sheet."""

    area: Area
    side: Side
    x: float
    y: float

    def at(self, box: Box) -> Box:
        """Return a box of the stretch as it lies on the sheet."""
        seen = box.mirrored(self.area.width) if self.side == "wiring side" else box
        return seen.moved(self.x, self.y)


def stretches(index: PlanIndex, panel: str, most_bays: int) -> tuple[tuple[int, ...], ...]:
    """
    Cut the bays of a panel into stretches of at most ``most_bays``, never through a module.

    Between carriers where that takes no more stretches, else as even as can be. A module that is wider than the most
    stands alone in a longer stretch.
    """
    units = list(_units(index, panel))
    num_bays = sum(len(unit) for unit in units)
    if not num_bays:
        return ()
    evenly = _lines(units, -(-num_bays // -(-num_bays // most_bays)))
    whole = _lines([tuple(item.bays) for item in index.carriers if item.panel == panel], most_bays)
    fits = max(map(len, whole)) <= most_bays and len(whole) <= len(evenly)
    return whole if fits else evenly


def _lines(units: Sequence[tuple[int, ...]], most_bays: int) -> tuple[tuple[int, ...], ...]:
    """Put units one after the other into lines that hold so many bays."""
    found: list[list[int]] = [[]]
    for unit in units:
        if found[-1] and len(found[-1]) + len(unit) > most_bays:
            found.append([])
        found[-1].extend(unit)
    return tuple(tuple(line) for line in found)


def _units(index: PlanIndex, panel: str) -> Iterator[tuple[int, ...]]:
    """Bays that must stay side by side: those of one module, else each alone."""
    bays = [bay for item in index.carriers if item.panel == panel for bay in item.bays]
    wide = {item.bay: item.module.bays for item in index.modules if item.panel == panel}
    skip = 0
    for bay in bays:
        if skip:
            skip -= 1
            continue
        skip = wide.get(bay, 1) - 1
        yield tuple(range(bay, bay + skip + 1))


def arrange(index: PlanIndex, panel: str, bays: Sequence[int], bay_mm: float, height_mm: float) -> Area:
    """Lay out a stretch of bays, front side, each bay ``bay_mm`` wide and the whole ``height_mm`` high."""
    carriers = [item for item in index.carriers if item.panel == panel and any(bay in item.bays for bay in bays)]
    x_by_bay: dict[int, float] = {}
    areas: list[CarrierArea] = []
    x = 0.0
    for item in carriers:
        here = [bay for bay in item.bays if bay in bays]
        width = len(here) * bay_mm + 2 * FRAME_MM
        x_by_bay |= {bay: x + FRAME_MM + number * bay_mm for number, bay in enumerate(here)}
        box = Box(x, 0, width, height_mm)
        foot = Box(x + FRAME_MM + 3, height_mm - CARRIER_FOOT_MM, width - 2 * FRAME_MM - 6, CARRIER_FOOT_MM)
        areas.append(CarrierArea(item, box, foot, here[0] != item.bays[0], here[-1] != item.bays[-1]))
        x += width + CARRIER_GAP_MM
    top, bottom = BAY_HEAD_MM, height_mm - CARRIER_FOOT_MM
    modules = [item for item in index.modules if item.panel == panel and item.bay in x_by_bay]
    filled = {item.bay + number for item in modules for number in range(item.module.bays)}
    slot = Box(0.4, top, bay_mm - 0.8, bottom - top)
    return Area(
        panel,
        tuple(x_by_bay),
        x - CARRIER_GAP_MM,
        height_mm,
        tuple(areas),
        tuple((bay, Box(at, 0.6, bay_mm, BAY_HEAD_MM - 0.6)) for bay, at in x_by_bay.items()),
        tuple(
            _module(item, Box(x_by_bay[item.bay] + 0.4, top, item.module.bays * bay_mm - 0.8, bottom - top))
            for item in modules
        ),
        tuple(slot.moved(at, 0) for bay, at in x_by_bay.items() if bay not in filled),
    )


def _module(at: ModuleAt, box: Box) -> ModuleArea:
    across = _sockets_across(at, box)
    num_lines = -(-len(at.sockets) // across)
    body_y, body_h = box.y + MODULE_HEAD_MM, box.h - MODULE_HEAD_MM - 1.0
    unit = body_h / (len(at.module.rows) + SOCKET_LINE_SHARE * num_lines)
    rows = tuple(
        _row(number, row.ways, Box(box.x + 0.6, body_y + number * unit, box.w - 1.2, unit))
        for number, row in enumerate(at.module.rows)
    )
    below = Box(box.x + 0.6, body_y + len(rows) * unit, box.w - 1.2, num_lines * SOCKET_LINE_SHARE * unit)
    return ModuleArea(
        at, box, Box(box.x + 1, box.y + 0.5, box.w - 2, MODULE_HEAD_MM - 1), rows, _sockets(at, below, across)
    )


def _row(number: int, num_ways: int, box: Box) -> RowArea:
    ways = Box(box.x + ROW_HEAD_MM, box.y, box.w - ROW_HEAD_MM - 0.6, box.h)
    pitch = ways.w / num_ways
    cell_y = box.y + INLET_MM + BAR_MM + 0.6
    return RowArea(
        number,
        Box(box.x, cell_y, ROW_HEAD_MM - 0.4, box.bottom - cell_y - 0.8),
        Box(ways.x, box.y, ways.w, INLET_MM),
        Box(ways.x, box.y + INLET_MM, ways.w, BAR_MM),
        tuple(
            Box(ways.x + way * pitch + 0.25, cell_y, pitch - 0.5, box.bottom - cell_y - 0.8) for way in range(num_ways)
        ),
    )


def _sockets_across(at: ModuleAt, box: Box) -> int:
    """Return how many sockets stand beside each other: as many as a bay takes, fewer where they would be slender."""
    most = max(1, min(SOCKETS_PER_BAY * at.module.bays, len(at.sockets)))
    if at.module.rows:
        return most
    # without rows above them they share the whole height: the nearest to a square
    return min(range(1, most + 1), key=lambda across: abs(math.log(_socket_aspect(len(at.sockets), across, box))))


def _socket_aspect(num_sockets: int, across: int, box: Box) -> float:
    """Return width to height of each of so many sockets, so many beside each other."""
    return box.w / across / (box.h / -(-max(1, num_sockets) // across))


def _sockets(at: ModuleAt, box: Box, across: int) -> tuple[Box, ...]:
    if not at.sockets:
        return ()
    num_lines = -(-len(at.sockets) // across)
    width, height = box.w / across, box.h / num_lines
    return tuple(
        Box(box.x + number % across * width, box.y + number // across * height, width, height).inset(0.7, 0.8)
        for number in range(len(at.sockets))
    )
