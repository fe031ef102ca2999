"""Lamps by the name of their category: a name and the nominal voltage of a net in, watts out."""

from __future__ import annotations

from allocator import figures


def lamp_names() -> tuple[str, ...]:
    """Return every category that is known for some net, in the order of names."""
    tables = (figures.LAMP_WATTS.value, figures.LAMP_WATTS_RECALLED.value)
    return tuple(sorted({name for table in tables for watts in table.values() for name in watts}))


def lamp_watts(name: str, nominal_v: float) -> int | None:
    """
    Return the nominal watts of a lamp.

    Parameters
    ----------
    name
        Category, such as ``P21W``; of two filaments the larger counts.
    nominal_v
        Nominal voltage of the net, V.

    Returns
    -------
    int or None
        Watts; None if the category is not known for that voltage.

    Notes
    -----
    Sources: ``figures.LAMP_WATTS`` and, from memory, ``figures.LAMP_WATTS_RECALLED``.
    """
    found = figures.LAMP_WATTS.value.get(nominal_v, {}).get(name)
    return found if found is not None else figures.LAMP_WATTS_RECALLED.value.get(nominal_v, {}).get(name)


def lamp_voltages(name: str) -> tuple[float, ...]:
    """Return the nominal voltages that a category is known for, V."""
    return tuple(volts for volts in figures.LAMP_WATTS.value if lamp_watts(name, volts) is not None)
