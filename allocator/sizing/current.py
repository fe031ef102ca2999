"""
What a load and a relay coil draw.

A load of the circuits table and the vehicle's voltages come in; amperes go out. What keeps its resistance (heaters,
resistors, lamps) draws most at the highest steady voltage, what keeps its power (electronics, LED drivers, motors,
solenoids) at the lowest. Amperes are taken as written.
"""

from __future__ import annotations

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.catalogue import LoadType, Relay
from allocator.requirements.quantities import Load
from allocator.requirements.vehicle import Vehicle

FIXED_RESISTANCE: tuple[LoadType, ...] = ("resistive", "heater", "filament-lamp")
"""Load types whose watts hold at nominal voltage and grow with the square of it (common practice; a lamp grows
less); those of all others hold at every voltage (common practice)."""


def design_current_a(load: Load, load_type: LoadType, vehicle: Vehicle, figures: Figures = PUBLISHED) -> float:
    """
    Return the largest steady current of a load.

    Parameters
    ----------
    load
        Watts at nominal voltage, or amperes.
    load_type
        Kind of load.
    vehicle
        Nominal, operating and minimum voltage.
    figures
        The figures in force, for lamps by name.

    Returns
    -------
    float
        Current, A.
    """
    total = load.total(vehicle.nominal_voltage, figures)
    if load.unit == "A":
        return total
    if load_type in FIXED_RESISTANCE:
        return total * vehicle.operating_voltage / vehicle.nominal_voltage**2
    return total / vehicle.minimum_voltage


def current_reason(load: Load, load_type: LoadType, vehicle: Vehicle, figures: Figures) -> str:
    """Return the sentence that says how the design current comes about."""
    current_a = design_current_a(load, load_type, vehicle, figures)
    if load.unit == "A":
        return f"{current_a:.4g} A as given ({load.text})"
    if load_type in FIXED_RESISTANCE:
        watts = f"{load.text} ({load.total(vehicle.nominal_voltage, figures):g} W)" if load.lamps else load.text
        resistance = f"keeps the resistance of {watts} at {vehicle.nominal_voltage:g} V"
        return f"{current_a:.4g} A at {vehicle.operating_voltage:g} V: {load_type} {resistance}"
    ballasts = f" ({load.total(vehicle.nominal_voltage, figures):.3g} W with ballasts)" if load.lamps else ""
    power = f"keeps its power of {load.text}{ballasts}"
    return f"{current_a:.4g} A at {vehicle.minimum_voltage:g} V: {load_type} {power}"


def coil_current_a(relay: Relay, vehicle: Vehicle) -> float:
    """Return what a relay coil draws at operating voltage, A (a warm coil draws less)."""
    return vehicle.operating_voltage / relay.coil
