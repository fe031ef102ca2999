"""
Lamps by the name of their category: a name and the nominal voltage of a net in, watts out.

A lamp of two filaments goes by its category (the larger filament) or by category and filament (``P21/5W minor``). A
gas-discharge lamp counts with what its ballast draws.
"""

from __future__ import annotations

from allocator.figures import PUBLISHED, Figures

_BALLASTS_V = (12.0, 24.0)
"""Nets that ballasts of gas-discharge lamps are made for; the lamp behind them is the same."""


def lamp_names() -> tuple[str, ...]:
    """Return every lamp that is known for some net, in the order of names."""
    return tuple(sorted([*filament_names(), *discharge_names()]))


def filament_names() -> tuple[str, ...]:
    """Return every filament lamp, and every filament of lamps with two, in the order of names."""
    tables = (PUBLISHED.lamp_watts.value, PUBLISHED.lamp_watts_recalled.value)
    return tuple(sorted({name for table in tables for watts in table.values() for name in watts}))


def discharge_names() -> tuple[str, ...]:
    """Return every gas-discharge lamp, in the order of names."""
    return tuple(sorted([*PUBLISHED.discharge_watts.value, *PUBLISHED.discharge_watts_recalled.value]))


def lamp_watts(name: str, nominal_v: float, figures: Figures = PUBLISHED) -> float | None:
    """
    Return what a lamp draws at the nominal voltage of a net.

    Parameters
    ----------
    name
        Category, such as ``P21W``, with or without a filament.
    nominal_v
        Nominal voltage of the net, V.
    figures
        The figures in force.

    Returns
    -------
    float or None
        Watts, nominal; of a gas-discharge lamp with its ballast. None if the lamp is not known for that voltage.

    Notes
    -----
    Sources: ``Figures.lamp_watts``, ``Figures.discharge_watts``, ``Figures.discharge_ballast`` and, from memory,
    ``Figures.lamp_watts_recalled`` and ``Figures.discharge_watts_recalled``.
    """
    discharge = {**figures.discharge_watts_recalled.value, **figures.discharge_watts.value}
    if name in discharge:
        return discharge[name] / figures.discharge_ballast.value if nominal_v in _BALLASTS_V else None
    found = figures.lamp_watts.value.get(nominal_v, {}).get(name)
    return found if found is not None else figures.lamp_watts_recalled.value.get(nominal_v, {}).get(name)


def lamp_voltages(name: str, figures: Figures = PUBLISHED) -> tuple[float, ...]:
    """Return the nominal voltages that a lamp is known for, V."""
    return tuple(volts for volts in figures.lamp_watts.value if lamp_watts(name, volts, figures) is not None)
