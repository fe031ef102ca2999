"""
The rule on voltage drop: no run loses more than its circuit may, by this room's own sum.

Comes in as a plan and the requirements; goes out as findings. What cables and tails lose before the fuse is no part of
the rule: it depends on what else runs, and sizing warns of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import Wire
from allocator.verifying.design_current import switched_ma
from allocator.verifying.findings import Finding
from allocator.verifying.runs import allowed_drop_v, bundle_percent, run_m
from allocator.verifying.view import View
from allocator.verifying.wire_current import wire_limit_ma

_NOISE = 1 + 1e-9
_EQUAL_MM2 = 1e-4


@cache
def gauge_mm2(gauge: int) -> float:
    """Return the area of an AWG number by ASTM B258: 0.127 mm across at 36, 92 times as much 39 numbers below."""
    radius_mm = 0.0635 * math.pow(92, (36 - gauge) / 39)
    return math.pi * radius_mm * radius_mm


def wire_ohm_per_m(area_mm2: float, temperature_c: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the resistance of one metre of copper wire at a temperature, ohm.

    Notes
    -----
    Sources: IEC 60228 class 5 for metric sizes, FAA AC 43.13-1B for gauges, for all others the largest product of area
    and resistance in the former; IEC 60028 for the rise from 20 degC.
    """
    metric = [cold for area, cold in figures.metric_resistance.value.items() if abs(area - area_mm2) < _EQUAL_MM2]
    gauges = [
        cold / figures.foot_m.value
        for gauge, cold in figures.gauge_resistance.value.items()
        if abs(gauge_mm2(gauge) - area_mm2) < _EQUAL_MM2
    ]
    cold = [*metric, *gauges, figures.other_resistivity.value / area_mm2][0]
    return (cold + cold * figures.copper_alpha.value * (temperature_c - 20)) / 1000


def wire_temperature_c(wire: Wire, ambient_c: float, load_share: float) -> float:
    """
    Return how hot a wire gets that carries a share of what it may.

    Notes
    -----
    Source: FAA AC 43.13-1B par. 11-69, at most the temperature of the insulation; the formula itself from memory.
    """
    return ambient_c + (wire.insulation - ambient_c) * math.sqrt(min(load_share, 1.0))


def drop_within_limit(view: View) -> Iterator[Finding]:
    """Report runs that lose more than their circuit may at its largest current."""
    for way in view.ways:
        wire = view.wires.get(way.used.wire or "")
        known = way.used.kind == "circuit" and way.need in view.known_needs
        if wire is None or not known or way.place is None or way.place.panel not in view.panels:
            continue
        circuit, site = view.circuits[way.used.need], view.panels[way.place.panel]
        current_a = float(max(switched_ma(view, circuit.id))) / 1000
        carries_a = float(wire_limit_ma(wire, site.ambient, bundle_percent(view, circuit.id), view.figures)) / 1000
        hot_c = wire_temperature_c(wire, site.ambient, current_a / carries_a if carries_a else 1.0)
        lost_v = current_a * run_m(view, circuit, site.name) * wire_ohm_per_m(wire.area, hot_c, view.figures)
        allowed_v = allowed_drop_v(view, circuit)
        if lost_v > allowed_v * _NOISE:
            text = f'loses {lost_v:.3g} V in {run_m(view, circuit, site.name):g} m of wire "{wire.id}"'
            yield Finding("drop-within-limit", way.name, f"{text}; {allowed_v:.3g} V are allowed")
