"""
Whether a fuse is still whole when its load has started, by this room's own reading of the published gates.

A view of the plan comes in; fuses that open before the start of their load is over go out.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from allocator.requirements.lamps import discharge_names
from allocator.requirements.scenario import Circuit
from allocator.verifying.design_current import design_current_ma
from allocator.verifying.exact import amperes, exact, milliamperes
from allocator.verifying.findings import Finding
from allocator.verifying.view import View


def fuse_outlasts_start(view: View) -> Iterator[Finding]:
    """Report fuses that are shown to open while their load starts, where the rules ask for none and none is wanted."""
    for way in view.ways if view.rules.fuse_outlasts_start else ():
        fuse, circuit = view.fuses.get(way.used.fuse or ""), view.circuits.get(way.used.need)
        if fuse is None or circuit is None or way.used.kind != "circuit" or circuit.fuse_rating is not None:
            continue
        peak_ma, time_s = _start(view, circuit)
        gates = view.figures.fuse_gates.value.get(fuse.fuse_format, {})
        reached = [percent for percent in gates if 100 * peak_ma >= exact(percent) * milliamperes(fuse.rating)]
        latest_s = gates[max(reached)][1] if reached else None
        if latest_s is not None and exact(latest_s) <= time_s:
            start = f"starts with {amperes(peak_ma)} for {float(time_s):g} s"
            yield Finding("fuse-outlasts-start", way.name, f'{start}; fuse "{fuse.id}" opens within {latest_s:g} s')


def _start(view: View, circuit: Circuit) -> tuple[Fraction, Fraction]:
    """Return what a circuit draws at its start, mA, and for how long, s: no time for loads that start as they go on."""
    figures = view.figures
    steady_ma = design_current_ma(circuit, view.scenario.vehicle, figures)
    num_discharge = circuit.load.num_of(discharge_names())
    if num_discharge:
        arcs_ma = num_discharge * milliamperes(figures.discharge_start.value)
        return max(steady_ma, arcs_ma), exact(figures.discharge_start_time.value)
    if circuit.load_type == "filament-lamp":
        return steady_ma * exact(figures.lamp_inrush.value), exact(figures.lamp_inrush_time.value)
    if circuit.load_type == "motor":
        by_kind_ma = steady_ma * exact(figures.motor_inrush.value)
        stalled_ma = by_kind_ma if circuit.stall is None else milliamperes(circuit.stall)
        return stalled_ma, exact(figures.motor_inrush_time.value)
    return steady_ma, Fraction()
