"""
The rule on short circuits: every wire outlives what the fuse before it lets by, by this room's own sum.

Comes in as a plan and the requirements; goes out as findings. The sizing table's choice of wire is not believed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import Fuse, Wire
from allocator.verifying.findings import Finding
from allocator.verifying.fuses_before import coil_wires, fuse_before_cable, fuse_before_coil, fuse_before_entry
from allocator.verifying.limits import tail_of
from allocator.verifying.view import View

_NOISE = 1 + 1e-9


def fault_heat_a2s(fuse: Fuse, prospective_a: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the largest integral that a fuse lets by in a short circuit of at most the prospective current, A²s.

    Each published gate that the current reaches, and at which the fuse opens while no heat leaves the wire, bounds the
    integral by (current)2 x latest time; 0 where there is none.
    """
    worst = 0.0
    for percent, (_, latest_s) in sorted(figures.fuse_gates.value.get(fuse.fuse_format, {}).items()):
        current_a = fuse.rating * percent / 100
        if latest_s is not None and latest_s <= figures.adiabatic_longest.value and current_a <= prospective_a:
            worst = max(worst, current_a * current_a * latest_s)
    return worst


def wire_heat_a2s(wire: Wire, figures: Figures = PUBLISHED) -> float:
    """Return the integral that a wire stands from its insulation's own temperature to the short-circuit one, A²s."""
    ends = figures.final_temperature.value
    final_c = ends[max(least for least in ends if least <= wire.insulation)] if wire.insulation >= min(ends) else 0.0
    if final_c <= wire.insulation:
        return 0.0
    zero_c = figures.copper_inferred_zero.value
    rise = math.log(final_c + zero_c) - math.log(wire.insulation + zero_c)
    return figures.adiabatic_copper.value**2 * rise * wire.area**2


def wire_withstands_fault(view: View) -> Iterator[Finding]:
    """Report wires that a short circuit could overheat before the fuse before them opens."""
    for way in view.ways:
        fuse, option = view.fuses.get(way.used.fuse or ""), view.option_of(way.need)
        run = way.used.wire if way.used.kind == "circuit" else None
        jumper = None if option is None or way.need not in view.socket_of else option.jumper_wire
        yield from _outlived(view, way.name, "run", run, fuse)
        yield from _outlived(view, way.name, "jumper", jumper, fuse)
    for need, socket in view.socket_of.items():
        option = view.option_of(need)
        for wire in () if option is None else coil_wires(option):
            yield from _outlived(view, socket.at, f"coil lead of {' '.join(need)}", wire, fuse_before_coil(view, need))
    for entry in view.entries:
        sized, tail = view.sized.feeds.get(entry.piece.feed), tail_of(view, entry)
        if sized is not None and entry.piece.feed in view.feeds:
            where, before = f'{entry.at} (feed "{entry.piece.feed}")', fuse_before_cable(view, entry.piece.feed)
            yield from _outlived(view, where, "cable", sized.cable_wire, before, _fault_a(view, entry.piece.feed))
            yield from _outlived(
                view, where, "tail", None if tail is None else tail.wire, fuse_before_entry(view, entry)
            )


def _fault_a(view: View, feed: str) -> float:
    """Return what a short circuit of a feed's cable draws at most, A: of a root feed that at the source."""
    supply = view.scenario.supply
    if view.feeds[feed].source is not None or supply.source_fault_current is None:
        return supply.fault_current
    return supply.source_fault_current


def _outlived(
    view: View, where: str, part: str, wire_id: str | None, fuse: Fuse | None, fault_a: float | None = None
) -> Iterator[Finding]:
    wire = view.wires.get(wire_id or "")
    if fuse is None or wire is None:
        return
    most_a = view.scenario.supply.fault_current if fault_a is None else fault_a
    passed = fault_heat_a2s(fuse, most_a, view.figures)
    stands = wire_heat_a2s(wire, view.figures)
    if passed > stands * _NOISE:
        text = f'{part}: fuse "{fuse.id}" lets by up to {passed:.0f} A²s; wire "{wire.id}" stands {stands:.0f} A²s'
        yield Finding("wire-withstands-fault", where, text)
