"""
Whether a wire outlives a short circuit: the heat it may take up, and what a fuse lets through before it opens.

Areas, temperatures, currents and times come in; one number goes out. While a short circuit lasts no heat leaves the
copper (adiabatic), so that only the integral of the squared current counts, A2s.
"""

from __future__ import annotations

import math

from allocator.figures import PUBLISHED, Figures
from allocator.units import cmil_in_mm2


def short_circuit_k(initial_c: float, final_c: float, figures: Figures = PUBLISHED) -> float:
    """
    Return k of a copper conductor.

    Parameters
    ----------
    initial_c, final_c
        Temperature when the short circuit begins, and that which the insulation stands at its end, degC.

    Returns
    -------
    float
        k, A.s^0.5/mm2; 0 where the conductor is too hot to begin with.

    Notes
    -----
    Source: ``Figures.adiabatic_copper``.
    """
    zero_c = figures.copper_inferred_zero.value
    if final_c <= initial_c:
        return 0.0
    return figures.adiabatic_copper.value * math.sqrt(math.log((zero_c + final_c) / (zero_c + initial_c)))


def insulation_k(insulation_c: float, figures: Figures = PUBLISHED) -> float:
    """Return k, A.s^0.5/mm2, of a copper wire that is as hot as its insulation may be when the short circuit begins."""
    finals = [final_c for least_c, final_c in figures.final_temperature.value.items() if insulation_c >= least_c]
    return short_circuit_k(insulation_c, finals[-1], figures) if finals else 0.0


def withstand_a2s(area_mm2: float, k: float) -> float:
    """Return the integral that a conductor stands, A2s: k2 S2."""
    return (k * area_mm2) ** 2


def least_fault_area_mm2(integral_a2s: float, k: float) -> float:
    """Return the area that stands an integral, mm2: sqrt(I2t) / k."""
    return math.sqrt(integral_a2s) / k


def let_through_a2s(
    fuse_format: str, rating_a: float, prospective_a: float, figures: Figures = PUBLISHED
) -> float | None:
    """
    Return the most that a fuse lets through in any short circuit up to the prospective current.

    Parameters
    ----------
    fuse_format, rating_a
        Type letter and rating, A.
    prospective_a
        Current of a short circuit at the panel, A; one farther along the run is smaller.
    figures
        The figures in force.

    Returns
    -------
    float or None
        Integral, A2s; None where no operating-time gate that the current reaches ends within the time in which no
        heat leaves the conductor (``Figures.adiabatic_longest``).

    Notes
    -----
    The largest product of a gate's current squared and its latest time (``Figures.fuse_gates``). A fuse needs no larger
    integral at a larger current, so what holds at a gate holds up to the next. Below the first such gate the wire is
    protected by its ampacity.
    """
    gates = figures.fuse_gates.value.get(fuse_format, {})
    reached = [
        (percent / 100 * rating_a) ** 2 * latest
        for percent, (_, latest) in gates.items()
        if latest is not None
        and latest <= figures.adiabatic_longest.value
        and percent / 100 * rating_a <= prospective_a
    ]
    return max(reached, default=None)


def melting_current_a(area_mm2: float, time_s: float, ambient_c: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the current that melts bare copper within a time.

    Parameters
    ----------
    area_mm2, time_s, ambient_c
        Area, mm2, time, s, and temperature to begin with, degC.

    Returns
    -------
    float
        Current, A.

    Notes
    -----
    Source: ``Figures.onderdonk``.
    """
    divisor, zero_c = figures.onderdonk.value
    heat = math.log10(1 + (figures.copper_melts.value - ambient_c) / (zero_c + ambient_c))
    return area_mm2 / cmil_in_mm2(1) * math.sqrt(heat / (divisor * time_s))
