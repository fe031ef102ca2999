"""
What a wire may carry in its place, how hot it gets, and how much voltage it loses.

Areas, temperatures, lengths and currents come in as plain numbers; one number goes out. Nothing here knows the
catalogue.
"""

from __future__ import annotations

import math

from allocator import figures
from allocator.units import awg_area_mm2

_SAME_AREA_MM2 = 1e-4
_SMALL = 1e-9


def ampacity_a(area_mm2: float, insulation_c: float, ambient_c: float, bundle_share: float = 1.0) -> float:
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

    Returns
    -------
    float
        Current, A: table value x ambient factor x bundle share; 0 if the table has no row so thin or no column so cool.

    Notes
    -----
    Source: ``figures.AMPACITY_ROWS`` (33 CFR 183.425 Table 5), read at the next smaller area and the next lower
    insulation temperature, never interpolated.
    """
    column = _column(insulation_c)
    if column is None:
        return 0.0
    row = next((amps for area, amps in reversed(figures.AMPACITY_ROWS.value) if area_mm2 >= area), None)
    return 0.0 if row is None else row[column] * ambient_factor(insulation_c, ambient_c) * bundle_share


def ambient_factor(insulation_c: float, ambient_c: float) -> float:
    """
    Return the share of the table's ampacity that is left at an ambient temperature, rounded down, at most 1.

    Notes
    -----
    Source: ``figures.AMBIENT_FACTOR_STEP``. The temperature of the table's column is used, not that of the
    insulation, so that a wire between two columns is no better than the lower one.
    """
    column = _column(insulation_c)
    if column is None:
        return 0.0
    factor = ambient_ratio(figures.AMPACITY_COLUMNS.value[column], ambient_c, figures.AMPACITY_AMBIENT.value)
    step = figures.AMBIENT_FACTOR_STEP.value
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


def _column(insulation_c: float) -> int | None:
    columns = figures.AMPACITY_COLUMNS.value
    return max((index for index, column in enumerate(columns) if insulation_c >= column), default=None)


def resistance_ohm_per_m(area_mm2: float, temperature_c: float = 20.0) -> float:
    """
    Return the resistance of one metre of copper wire.

    Parameters
    ----------
    area_mm2
        Conductor area, mm2. A metric size, a wire gauge and any other area have figures of their own.
    temperature_c
        Conductor temperature, degC.

    Returns
    -------
    float
        Resistance, ohm/m.

    Notes
    -----
    Sources: ``figures.METRIC_RESISTANCE`` (IEC 60228 class 5), ``figures.GAUGE_RESISTANCE`` (AC 43.13-1B), else
    ``figures.OTHER_RESISTIVITY`` / area; ``figures.COPPER_ALPHA``.
    """
    return hot_resistance_ohm(_cold_ohm_per_m(area_mm2), temperature_c)


def hot_resistance_ohm(cold_ohm: float, temperature_c: float, alpha: float = figures.COPPER_ALPHA.value) -> float:
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


def _cold_ohm_per_m(area_mm2: float) -> float:
    for area, milliohm in figures.METRIC_RESISTANCE.value.items():
        if abs(area - area_mm2) < _SAME_AREA_MM2:
            return milliohm / 1000
    for gauge, ohm in figures.GAUGE_RESISTANCE.value.items():
        if abs(awg_area_mm2(gauge) - area_mm2) < _SAME_AREA_MM2:
            return ohm / (1000 * figures.FOOT_M.value)
    return resistance_ohm(figures.OTHER_RESISTIVITY.value / 1000, 1.0, area_mm2)


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


def smallest_area_mm2(current_a: float, insulation_c: float, ambient_c: float, bundle_share: float) -> float | None:
    """Return the least table area, mm2, whose ampacity reaches a current, A, or None if no row does."""
    return next(
        (
            area
            for area, _ in figures.AMPACITY_ROWS.value
            if ampacity_a(area, insulation_c, ambient_c, bundle_share) >= current_a
        ),
        None,
    )
