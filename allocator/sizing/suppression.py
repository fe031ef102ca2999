"""
What to fit against the voltage that a coil makes when it is switched off: across the relay's coil, and across the load.

A relay, the kind of load that it switches and the figures in force come in; sentences for the builder go out.

Sources: a relay maker's application note on coil suppression (an open coil of 12 V makes 1000 V and more; a plain diode
lets the contacts open slowly, and those on inductive loads or lamps may weld; a resistor, or a diode with a zener
diode, costs less speed) and appendices on contact protection in manuals of relay boards (a diode across an inductive
load, of ten times the voltage in reverse and the load's current forward). The size of the resistor is common practice
and has no source.
"""

from __future__ import annotations

import math

from allocator.figures import Figures
from allocator.requirements.catalogue import LoadType, Relay

_WELDING: tuple[LoadType, ...] = ("filament-lamp", "led", "electronics", "motor", "inductive")
"""Kinds of load that a slow contact may weld on: those with inrush, and those that draw an arc."""
_REVERSE_VOLTS = 10
"""Reverse voltage of a diode across a load, in times the voltage of the net."""


def coil_advice(relay: Relay, load_type: LoadType | None, figures: Figures) -> str:
    """
    Say what to fit across the coil of a relay.

    Parameters
    ----------
    relay
        The relay.
    load_type
        What it switches; None: many loads, behind the relay of a feed.
    figures
        The figures in force.
    """
    if relay.function == "flasher":
        return "coil: none to suppress, a flasher has no coil side to be switched"
    if relay.suppressed:
        return "coil: suppressed inside the relay; 86 is positive"
    resistor = f"a resistor of about {two_digits(relay.coil * figures.coil_resistor.value)} ohm"
    if load_type is None or load_type in _WELDING:
        what = "what it feeds" if load_type is None else f"a load of kind {load_type}"
        return (
            f"coil: fit {resistor} across 85 and 86, or a diode and a zener diode in series; a plain diode lets it "
            f"release slowly, and contacts on {what} may weld"
        )
    return f"coil: fit {resistor} across 85 and 86, or a diode with its cathode at 86, which is then positive"


def two_digits(value: float) -> str:
    """Return a number of at least 10 with two digits that count, such as 680 or 2700."""
    return f"{round(value, 1 - math.floor(math.log10(value))):.0f}"


def load_advice(load_type: LoadType, load_a: float, nominal_v: float) -> str:
    """Say what to fit across a load, A, in a net of a nominal voltage, V; empty where it makes no voltage."""
    diode = f"a diode for {load_a:.3g} A and {_REVERSE_VOLTS * nominal_v:g} V across it, cathode to its supply"
    if load_type == "inductive":
        return f"load: {diode}; where it must let go quickly, with a zener diode in series"
    if load_type == "motor":
        return f"load: {diode}, if it turns one way and is not braked; else a varistor"
    return ""
