"""
What a wire may carry in its place, how hot it gets, and how much voltage it loses.

Areas, temperatures, lengths and currents come in as plain numbers; one number goes out. Nothing here knows the
catalogue.
"""

from __future__ import annotations

import math

from allocator.figures import PUBLISHED, Figures
from allocator.units import awg_area_mm2

_SAME_AREA_MM2 = 1e-4
_SMALL = 1e-9


def ampacity_a(
    area_mm2: float,
    insulation_c: float,
    ambient_c: float,
    bundle_share: float = 1.0,
    figures: Figures = PUBLISHED,
) -> float:
    """
    Return the continuous current that a wire may carry.

    Parameters
    ----------
    area_mm2
        Conductor area, mm2.
    insulation_c
        Highest temperature of the insulation, degC.
    ambient_c
        Ambient temperature, degC.
    bundle_share
        Share left in a bundle, 1.
    figures
        The figures in force.

    Returns
    -------
    float
        Current, A: table value x ambient factor x bundle share; 0 if the table has no row so thin or no column so cool.

    Notes
    -----
    Source: ``Figures.ampacity`` (33 CFR 183.425 Table 5), read at the next smaller area and the next lower insulation
    temperature, never interpolated.
    """
    # A vehicle's own row may hold fewer columns than the table; a thinner one that holds such a column serves instead.
    cells = [
        (area, column, amps)
        for area, row in figures.ampacity.value.items()
        for column, amps in row.items()
        if area <= area_mm2 and column <= insulation_c
    ]
    if not cells:
        return 0.0
    _, column, amps = max(cells)
    return amps * ambient_factor(column, ambient_c, figures) * bundle_share


def ambient_factor(insulation_c: float, ambient_c: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the share of the table's ampacity that is left at an ambient temperature, rounded down, at most 1.

    Notes
    -----
    Source: ``Figures.ambient_factor_step``. The temperature of the table's column is used, not that of the
    insulation, so that a wire between two columns is no better than the lower one.
    """
    columns = [column for row in figures.ampacity.value.values() for column in row if column <= insulation_c]
    if not columns:
        return 0.0
    factor = ambient_ratio(max(columns), ambient_c, figures.ampacity_ambient.value)
    step = figures.ambient_factor_step.value
    return min(1.0, round(math.floor(factor / step + _SMALL) * step, 9))


def ambient_ratio(conductor_c: float, ambient_c: float, reference_c: float) -> float:
    """
    Return the ratio of ampacities at two ambient temperatures: heat given off equals heat made.

    Parameters
    ----------
    conductor_c
        Highest conductor temperature, degC.
    ambient_c, reference_c
        Ambient temperature, and that at which the ampacity is known, degC.

    Returns
    -------
    float
        sqrt((conductor - ambient) / (conductor - reference)), 1; 0 where the air is as hot as the conductor may be.
    """
    return math.sqrt(max(0.0, conductor_c - ambient_c) / (conductor_c - reference_c))


def resistance_ohm_per_m(area_mm2: float, temperature_c: float = 20.0, figures: Figures = PUBLISHED) -> float:
    """
    Return the resistance of one metre of copper wire.

    Parameters
    ----------
    area_mm2
        Conductor area, mm2. A metric size, a wire gauge and any other area have figures of their own.
    temperature_c
        Conductor temperature, degC.
    figures
        The figures in force.

    Returns
    -------
    float
        Resistance, ohm/m.

    Notes
    -----
    Sources: ``Figures.metric_resistance`` (IEC 60228 class 5), ``Figures.gauge_resistance`` (AC 43.13-1B), else
    ``Figures.other_resistivity`` / area; ``Figures.copper_alpha``.
    """
    return hot_resistance_ohm(_cold_ohm_per_m(area_mm2, figures), temperature_c, figures.copper_alpha.value)


def hot_resistance_ohm(cold_ohm: float, temperature_c: float, alpha: float = PUBLISHED.copper_alpha.value) -> float:
    """
    Return a resistance at another temperature than 20 degC.

    Parameters
    ----------
    cold_ohm, temperature_c
        Resistance at 20 degC, ohm, and the temperature, degC.
    alpha
        Temperature coefficient at 20 degC, 1/K.
    """
    return cold_ohm * (1 + alpha * (temperature_c - 20.0))


def resistance_ohm(resistivity: float, length_m: float, area_mm2: float) -> float:
    """Return the resistance of a conductor, ohm; resistivity in ohm.mm2/m."""
    return resistivity * length_m / area_mm2


def least_area_mm2(resistivity: float, length_m: float, most_ohm: float) -> float:
    """Return the area, mm2, at which a conductor has just the resistance allowed, ohm; resistivity in ohm.mm2/m."""
    return resistivity * length_m / most_ohm


def _cold_ohm_per_m(area_mm2: float, figures: Figures) -> float:
    for area, milliohm in figures.metric_resistance.value.items():
        if abs(area - area_mm2) < _SAME_AREA_MM2:
            return milliohm / 1000
    for gauge, milliohm in figures.gauge_resistance.value.items():
        if abs(awg_area_mm2(gauge) - area_mm2) < _SAME_AREA_MM2:
            return milliohm / (1000 * figures.foot_m.value)
    return resistance_ohm(figures.other_resistivity.value / 1000, 1.0, area_mm2)


def conductor_temperature_c(ambient_c: float, insulation_c: float, current_a: float, ampacity_now_a: float) -> float:
    """
    Estimate how hot a conductor gets.

    Parameters
    ----------
    ambient_c, insulation_c
        Ambient temperature and highest temperature of the insulation, degC.
    current_a, ampacity_now_a
        Current, and what the wire may carry in its place, A.

    Returns
    -------
    float
        Temperature, degC, at most that of the insulation.

    Notes
    -----
    T1 + (TR - T1) x sqrt(I / Imax): FAA AC 43.13-1B par. 11-69, the formula itself from memory. It lies above the
    rise with the square of the current, hence on the safe side.
    """
    share = min(1.0, current_a / ampacity_now_a)
    return ambient_c + (insulation_c - ambient_c) * math.sqrt(share)


def drop_v(current_a: float, length_m: float, ohm_per_m: float) -> float:
    """Return the voltage lost along a length of wire (out and back, where both are wire), V: current x resistance."""
    return current_a * length_m * ohm_per_m


def smallest_area_mm2(
    current_a: float, insulation_c: float, ambient_c: float, bundle_share: float, figures: Figures = PUBLISHED
) -> float | None:
    """Return the least table area, mm2, whose ampacity reaches a current, A, or None if no row does."""
    return next(
        (
            area
            for area in figures.ampacity.value
            if ampacity_a(area, insulation_c, ambient_c, bundle_share, figures) >= current_a
        ),
        None,
    )
