"""
The current that a wire may carry in its place, exact, by this room's own sum.

Comes in as a wire of the catalogue, the ambient temperature and the bundle factor; goes out as milliamperes.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from math import isqrt

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import Wire
from allocator.verifying.exact import exact, milliamperes, share


@cache
def _ambient_factor(hottest_c: float, ambient_c: float, stated_c: float, step_of: float) -> Fraction:
    """Return sqrt((Tmax - Ta) / (Tmax - 30)), rounded down to a step, from 0 to 1."""
    hottest, ambient, stated, step = exact(hottest_c), exact(ambient_c), exact(stated_c), exact(step_of)
    if ambient >= hottest:
        return Fraction()
    squared = (hottest - ambient) / (hottest - stated) / step**2
    return min(Fraction(1), isqrt(int(squared)) * step)


def wire_limit_ma(wire: Wire, ambient_c: float, bundle_percent: float = 100, figures: Figures = PUBLISHED) -> Fraction:
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
    figures
        The figures in force.

    Returns
    -------
    Fraction
        Current, mA: table value x ambient factor x bundle share; 0 for a wire thinner, or an insulation cooler, than
        the table has.

    Notes
    -----
    Source: 33 CFR 183.425 Table 5 (``Figures.ampacity``). An area or an insulation between two rows or columns is read
    at the lower one that there is, and the ambient factor is that of the column.
    """
    for area in sorted(figures.ampacity.value, reverse=True):
        row = figures.ampacity.value[area]
        columns = [column for column in row if column <= wire.insulation]
        if area <= wire.area and columns:
            stated_c, step_of = figures.ampacity_ambient.value, figures.ambient_factor_step.value
            factor = _ambient_factor(max(columns), ambient_c, stated_c, step_of)
            return milliamperes(row[max(columns)]) * factor * share(bundle_percent)
    return Fraction()
