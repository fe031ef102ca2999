"""
What each circuit draws, by this room's own sums: the check on the currents of the sizing table.

Comes in as requirements; goes out as exact milliamperes by load case, coils included (docs/definitions.md, "Loads").
"""

from __future__ import annotations

from fractions import Fraction

from allocator.figures import PUBLISHED, Figures
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Vehicle
from allocator.verifying.exact import exact, milliamperes
from allocator.verifying.records import NeedKey
from allocator.verifying.view import View

_OHMIC = ("resistive", "heater", "filament-lamp")
"""Load types that draw more at a higher voltage; all others draw constant power, hence more at a lower voltage."""


def design_current_ma(circuit: Circuit, vehicle: Vehicle, figures: Figures = PUBLISHED) -> Fraction:
    """Return the steady current of a circuit's loads while they run, exact, mA."""
    size = sum(
        (count * exact(each) for count, each in circuit.load.sizes(vehicle.nominal_voltage, figures)), Fraction()
    )
    if circuit.load.unit == "A":
        return 1000 * size
    if circuit.load_type in _OHMIC:
        return 1000 * size * exact(vehicle.operating_voltage) / exact(vehicle.nominal_voltage) ** 2
    return 1000 * size / exact(vehicle.minimum_voltage)


def coil_ma(view: View, need: NeedKey) -> Fraction:
    """Return the largest coil current of the relays that may serve a need, at operating voltage, mA."""
    sized = view.sized_needs.get(need)
    options = () if sized is None else sized.options
    relays = [view.relays[option.relay] for option in options if option.relay is not None]
    volts = exact(view.scenario.vehicle.operating_voltage)
    return max((1000 * volts / exact(relay.coil) for relay in relays if relay.coil), default=Fraction())


def _runs(view: View, circuit: Circuit) -> tuple[bool, ...]:
    """Return for each load case whether a circuit runs in it."""
    return tuple(not circuit.load_cases or case.name in circuit.load_cases for case in view.scenario.load_cases)


def _coils_on(view: View, name: str) -> list[tuple[Fraction, tuple[bool, ...]]]:
    """Return the coils that a circuit carries, each with the load cases in which it is live."""
    coils = []
    for kind, need in view.needs_with_socket:
        if kind == "circuit":
            circuit = view.circuits[need]
            if (circuit.control or need) == name:
                coils.append((coil_ma(view, (kind, need)), _runs(view, circuit)))
        elif view.feeds[need].control == name:
            coils.append((coil_ma(view, (kind, need)), (True,) * view.num_cases))
    return coils


def circuit_load_ma(view: View, name: str) -> tuple[Fraction, ...]:
    """Return the load of a circuit with every coil that hangs on it, by load case, exact, mA."""
    circuit = view.circuits[name]
    own = design_current_ma(circuit, view.scenario.vehicle, view.figures)
    loads = [(own, _runs(view, circuit)), *_coils_on(view, name)]
    return tuple(sum((current for current, live in loads if live[case]), Fraction()) for case in range(view.num_cases))


def switched_ma(view: View, name: str) -> tuple[Fraction, ...]:
    """Return what the contact of a circuit's relay switches: its load without its own coil, by load case, mA."""
    own_coil = coil_ma(view, ("circuit", name)) if view.circuits[name].control is None else Fraction()
    runs = _runs(view, view.circuits[name])
    loads = circuit_load_ma(view, name)
    return tuple(load - own_coil * live for load, live in zip(loads, runs, strict=True))


def need_load_ma(view: View, need: NeedKey) -> tuple[Fraction, ...]:
    """Return what a need draws itself, by load case, exact, mA: see ``Need.load_ma_by_case``."""
    kind, name = need
    if kind == "circuit":
        return circuit_load_ma(view, name)
    if kind == "spare":
        return (milliamperes(view.spares[name].reserve),) * view.num_cases
    own_coil = need in view.needs_with_socket and view.feeds[name].control is None
    return (coil_ma(view, need) if own_coil else Fraction(),) * view.num_cases


def unplaced_coils_ma(view: View, need: NeedKey) -> Fraction:
    """
    Return by how much the load of a circuit may be stated higher, mA.

    A relay class counts with its coil if its contacts may switch the load, also where no terminal or wire then fits it
    and no option has it: that only makes the load larger.
    """
    if need[0] != "circuit":
        return Fraction()
    on_it = (c for c in view.circuits.values() if c.switching != "none" and (c.control or c.id) == need[1])
    return sum((_larger_coil_ma(view, circuit) for circuit in on_it), Fraction())


def _larger_coil_ma(view: View, circuit: Circuit) -> Fraction:
    sized, vehicle = view.sized_needs.get(("circuit", circuit.id)), view.scenario.vehicle
    placed = {option.relay_class for option in sized.options} if sized is not None else set()
    coils = [
        1000 * exact(vehicle.operating_voltage) / exact(relay.coil)
        for relay in view.relays.values()
        if relay.function == view.relay_function(("circuit", circuit.id))
        and relay.voltage == vehicle.nominal_voltage
        and relay.relay_class not in placed
        and circuit.relay_class in (None, relay.relay_class)
    ]
    return max(Fraction(), max(coils, default=Fraction()) - coil_ma(view, ("circuit", circuit.id)))


def num_terms(view: View, need: NeedKey) -> int:
    """Return how many currents are added up for a need: the sizing table rounds each to whole milliamperes."""
    return 1 + (len(_coils_on(view, need[1])) if need[0] == "circuit" else 0)
