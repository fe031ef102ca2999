"""
The current that a wire may carry in its place, exact, by this room's own sum.

Comes in as a wire of the catalogue, the ambient temperature and the bundle factor; goes out as milliamperes.
"""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from allocator import figures
from allocator.requirements.catalogue import Wire
from allocator.verifying.exact import exact, milliamperes, share


def _column(insulation_c: float) -> int | None:
    """Return the index of the table's column for an insulation, between two the lower one; None below the first."""
    lower = [index for index, degrees in enumerate(figures.AMPACITY_COLUMNS.value) if degrees <= insulation_c]
    return lower[-1] if lower else None


def _ambient_factor(hottest_c: float, ambient_c: float) -> Fraction:
    """Return sqrt((Tmax - Ta) / (Tmax - 30)), rounded down to a hundredth, from 0 to 1."""
    stated, step = exact(figures.AMPACITY_AMBIENT.value), exact(figures.AMBIENT_FACTOR_STEP.value)
    hottest, ambient = exact(hottest_c), exact(ambient_c)
    if ambient >= hottest:
        return Fraction()
    squared = (hottest - ambient) / (hottest - stated) / step**2
    return min(Fraction(1), isqrt(int(squared)) * step)


def wire_limit_ma(wire: Wire, ambient_c: float, bundle_percent: float = 100) -> Fraction:
    """
    Return the continuous current that a wire may carry at an ambient temperature.

    Parameters
    ----------
    wire
        Wire of the catalogue.
    ambient_c
        Highest ambient temperature in its place, degC.
    bundle_percent
        Share of the current that is left in a bundle, %. Feed cables, feed tails and jumpers run in none.

    Returns
    -------
    Fraction
        Current, mA: table value x ambient factor x bundle share; 0 for a wire thinner, or an insulation cooler, than
        the table has.

    Notes
    -----
    Source: 33 CFR 183.425 Table 5 (``figures.AMPACITY_ROWS``). An area or an insulation between two rows or columns is
    read at the lower one, and the ambient factor is that of the column.
    """
    column = _column(wire.insulation)
    rows = [currents_a for area, currents_a in figures.AMPACITY_ROWS.value if area <= wire.area]
    if column is None or not rows:
        return Fraction()
    factor = _ambient_factor(figures.AMPACITY_COLUMNS.value[column], ambient_c)
    return milliamperes(rows[-1][column]) * factor * share(bundle_percent)
