"""
What a fuse may carry, what it may break, and when it opens.

Fuse parts, currents and temperatures come in; a fuse, a share of its rating or a span of time goes out. A steady load
may use the loading factor of the rating, or the share that the ambient curve of the type leaves if that is less;
never the product of both, because a maker's curve already holds a margin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from allocator.errors import SizingError
from allocator.figures import PUBLISHED, Figures, Steps
from allocator.requirements.catalogue import Fuse
from allocator.units import from_model, limit_to_model


def system_maximum_v(nominal_v: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the highest voltage of a net, V: what a fuse must be rated for.

    Notes
    -----
    Read at the next higher nominal voltage of ``Figures.system_maximum``; a third above nominal past its end.
    """
    for nominal, maximum in figures.system_maximum.value.items():
        if nominal_v <= nominal:
            return maximum
    return nominal_v * figures.system_maximum_ratio.value


def ambient_share(fuse_format: str, ambient_c: float, figures: Figures = PUBLISHED) -> float:
    """
    Return the share of its rating that a fuse may carry for ever at an ambient temperature.

    Parameters
    ----------
    fuse_format
        Type letter.
    ambient_c
        Ambient temperature, degC.
    figures
        The figures in force.

    Returns
    -------
    float
        Share, 1.

    Raises
    ------
    SizingError
        Past the last published column.

    Notes
    -----
    Source: ``Figures.fuse_share``, read at the next higher column. A type without a curve gets the least of all curves.
    """
    curves = figures.fuse_share.value
    shares = [
        at_column(steps, ambient_c)
        for letter, steps in curves.items()
        if letter == fuse_format or fuse_format not in curves
    ]
    if any(share is None for share in shares):
        raise SizingError(
            f"no data sheet says what a type {fuse_format} fuse carries at {ambient_c:g} °C",
            rule="ambient-past-table",
            known=f"the last published column is {_last_column(fuse_format, figures):g} °C",
            hint="move the panel to a cooler place, or use a type with a wider table",
        )
    return min(share for share in shares if share is not None)


def published_allowance_a(
    fuse_format: str, rating_a: float, ambient_c: float, figures: Figures = PUBLISHED
) -> float | None:
    """
    Return what a data sheet allows this very fuse without end at an ambient temperature.

    Returns
    -------
    float or None
        Current, A, at the next higher column of ``Figures.fuse_published``; None if nothing is published for it.
    """
    return at_column(figures.fuse_published.value.get(fuse_format, {}).get(rating_a, {}), ambient_c)


def allowed_ma(
    fuse_format: str, rating_a: float, ambient_c: float, loading_share: float, figures: Figures = PUBLISHED
) -> int:
    """
    Return the steady current that a fuse may carry in its place.

    Parameters
    ----------
    fuse_format, rating_a
        Type letter and rating, A.
    ambient_c
        Ambient temperature, degC.
    loading_share
        Loading factor of the rules, 1.
    figures
        The figures in force.

    Returns
    -------
    int
        Current, mA, rounded down: rating x min(loading factor, ambient share).

    Raises
    ------
    SizingError
        If no figure is published for that temperature.
    """
    return limit_to_model(rating_a * min(loading_share, ambient_share(fuse_format, ambient_c, figures)))


def smallest_fuse(
    fuses: Sequence[Fuse], load_ma: int, ambient_c: float, loading_share: float, figures: Figures = PUBLISHED
) -> Fuse:
    """
    Choose the fuse of the smallest rating that carries a steady load.

    Parameters
    ----------
    fuses
        Fuses of one format that suit the net, by rating and then price; at least one.
    load_ma
        Steady load, mA.
    ambient_c, loading_share, figures
        As for :func:`allowed_ma`.

    Returns
    -------
    Fuse
        The first that carries the load.

    Raises
    ------
    SizingError
        If the largest rating is too small, or no figure is published for that temperature.
    """
    last = fuses[-1]
    share = min(loading_share, ambient_share(last.fuse_format, ambient_c, figures))
    for fuse in fuses:
        if limit_to_model(fuse.rating * share) >= load_ma:
            return fuse
    raise SizingError(
        f"needs {from_model(load_ma):g} A; no fuse on offer carries it at {ambient_c:g} °C",
        rule="no-rating-large-enough",
        known=f"the largest, {last.rating:g} A type {last.fuse_format}, carries {last.rating * share:g} A without end",
        reach=last.rating * share,
        hint=f"split the load over several circuits, or offer a rating of {from_model(load_ma) / share:.1f} A or more",
    )


def wanted_fuse(
    fuses: Sequence[Fuse],
    rating_a: float,
    load_ma: int,
    ambient_c: float,
    loading_share: float,
    figures: Figures = PUBLISHED,
) -> Fuse:
    """
    Return the fuse that the customer wants, if it is on offer and carries the load.

    Raises
    ------
    SizingError
        If it is not on offer, too small, or no figure is published for that temperature.
    """
    fuse = next((fuse for fuse in fuses if fuse.rating == rating_a), None)
    if fuse is None:
        raise SizingError(
            f"no type {fuses[0].fuse_format} fuse of {rating_a:g} A is on offer for this net",
            rule="wanted-fuse-not-offered",
            known="ratings on offer: " + ", ".join(dict.fromkeys(f"{fuse.rating:g}" for fuse in fuses)) + " A",
            hint="want a rating on offer, or leave the choice open",
        )
    allowed = allowed_ma(fuse.fuse_format, rating_a, ambient_c, loading_share, figures)
    if allowed < load_ma:
        enough_a = math.ceil(round(10 * from_model(load_ma) * rating_a / max(from_model(allowed), 1e-9), 6)) / 10
        raise SizingError(
            f"the wanted fuse of {rating_a:g} A carries {from_model(allowed):g} A at {ambient_c:g} °C; "
            f"the load is {from_model(load_ma):g} A",
            rule="wanted-fuse-too-small",
            known=f"a rating of {enough_a:.1f} A or more would do",
            hint="want a larger rating, or leave the choice open",
        )
    return fuse


def opening_time_s(
    fuse_format: str, rating_a: float, current_a: float, figures: Figures = PUBLISHED
) -> tuple[float, float]:
    """
    Return the earliest and the latest time at which a fuse may open, as far as published gates say.

    Parameters
    ----------
    fuse_format, rating_a
        Type letter and rating, A.
    current_a
        Steady current, A.
    figures
        The figures in force.

    Returns
    -------
    tuple of float
        Earliest, s (0: nothing is published), and latest, s (infinite: it may never open).

    Notes
    -----
    Source: ``Figures.fuse_gates``. Between two gates nothing is interpolated: the earliest time is that of the gate
    above, the latest that of the gate below. Up to 100 % of the rating a fuse does not open.
    """
    percent = round(100 * current_a / rating_a, 6)
    if percent <= 100:
        return math.inf, math.inf
    gates = sorted(figures.fuse_gates.value.get(fuse_format, {}).items())
    earliest = next((early or 0.0 for gate, (early, _) in gates if gate >= percent), 0.0)
    latest = [math.inf if late is None else late for gate, (_, late) in gates if gate <= percent]
    return earliest, latest[-1] if latest else math.inf


def current_of_drop_a(fuse_format: str, rating_a: float, drop_v: float, figures: Figures = PUBLISHED) -> float | None:
    """
    Return the small current that a voltage across a fuse in place tells, A; None if no cold resistance is published.

    Notes
    -----
    Source: ``Figures.fuse_cold_resistance``; near its rating a fuse is warm and has more.
    """
    milliohm = figures.fuse_cold_resistance.value.get(fuse_format, {}).get(rating_a)
    return None if milliohm is None else drop_v / (milliohm / 1000)


def melting_a2s(fuse_format: str, rating_a: float, figures: Figures = PUBLISHED) -> float | None:
    """
    Return a current integral that surely does not melt a fuse, A2s; None if nothing is published.

    Notes
    -----
    Source: ``Figures.fuse_melting``, read at the next smaller rating of the type.
    """
    rows = figures.fuse_melting.value.get(fuse_format, {})
    return max((integral for rating, integral in rows.items() if rating <= rating_a), default=None)


def at_column(steps: Steps, ambient_c: float) -> float | None:
    """Return the value at the next higher column of a table, never interpolated; None past its last column."""
    return next((value for column, value in steps.items() if ambient_c <= column), None)


def _last_column(fuse_format: str, figures: Figures) -> float:
    curves = figures.fuse_share.value
    return max(curves[fuse_format]) if fuse_format in curves else min(max(steps) for steps in curves.values())
