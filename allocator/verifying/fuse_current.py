"""
The current that a fuse may carry for ever in its place, exact, by this room's own sum.

Comes in as a fuse of the catalogue, the ambient temperature and the loading factor; goes out as milliamperes.
"""

from __future__ import annotations

from fractions import Fraction

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import Fuse, FuseFormat
from allocator.verifying.exact import exact, milliamperes, share


def fuse_share(fuse_format: FuseFormat, ambient_c: float, figures: Figures = PUBLISHED) -> Fraction:
    """
    Return the share of its rating that a fuse may carry at an ambient temperature, by its type alone.

    Notes
    -----
    Source: ``Figures.fuse_share``, read at the next higher column, nothing past the last one; a type without a curve
    of its own gets the least of all curves.
    """
    curves = figures.fuse_share.value
    chosen = [curves[fuse_format]] if fuse_format in curves else list(curves.values())
    return min(
        next((exact(left) for column, left in steps.items() if ambient_c <= column), Fraction()) for steps in chosen
    )


def fuse_limit_ma(fuse: Fuse, ambient_c: float, loading_percent: float, figures: Figures = PUBLISHED) -> Fraction:
    """
    Return the steady current that a fuse may carry.

    Parameters
    ----------
    fuse
        Fuse of the catalogue.
    ambient_c
        Highest ambient temperature in its place, degC.
    loading_percent
        Loading factor of the rules, %.
    figures
        The figures in force.

    Returns
    -------
    Fraction
        Current, mA: rating x the lesser of loading factor and the share of its type. Not the product: a curve already
        holds a margin.
    """
    return milliamperes(fuse.rating) * min(share(loading_percent), fuse_share(fuse.fuse_format, ambient_c, figures))
