"""Lamps by the name of their category: a name and the nominal voltage of a net in, watts out."""

from __future__ import annotations

from allocator.figures import PUBLISHED, Figures


def lamp_names() -> tuple[str, ...]:
    """Return every category that is known for some net, in the order of names."""
    tables = (PUBLISHED.lamp_watts.value, PUBLISHED.lamp_watts_recalled.value)
    return tuple(sorted({name for table in tables for watts in table.values() for name in watts}))


def lamp_watts(name: str, nominal_v: float, figures: Figures = PUBLISHED) -> float | None:
    """
    Return the nominal watts of a lamp.

    Parameters
    ----------
    name
        Category, such as ``P21W``; of two filaments the larger counts.
    nominal_v
        Nominal voltage of the net, V.
    figures
        The figures in force.

    Returns
    -------
    float or None
        Watts; None if the category is not known for that voltage.

    Notes
    -----
    Sources: ``Figures.lamp_watts`` and, from memory, ``Figures.lamp_watts_recalled``.
    """
    found = figures.lamp_watts.value.get(nominal_v, {}).get(name)
    return found if found is not None else figures.lamp_watts_recalled.value.get(nominal_v, {}).get(name)


def lamp_voltages(name: str, figures: Figures = PUBLISHED) -> tuple[float, ...]:
    """Return the nominal voltages that a category is known for, V."""
    return tuple(volts for volts in figures.lamp_watts.value if lamp_watts(name, volts, figures) is not None)
