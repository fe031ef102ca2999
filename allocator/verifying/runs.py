"""
What a circuit's run to its load is, by this room's own reading of the requirements: bundle, length, drop allowed.

Comes in as the view and a circuit; goes out as plain numbers.
"""

from __future__ import annotations

from allocator.requirements.scenario import Circuit
from allocator.verifying.view import View


def bundle_percent(view: View, name: str) -> float:
    """Return what a bundle leaves to the run of a circuit, %: by its own count where it has one, else by the rules."""
    circuit = view.circuits.get(name)
    if circuit is None or circuit.bundle is None:
        return view.rules.bundle_factor
    columns = view.figures.bundles.value[view.rules.bundle_table]
    enough = [most for most in columns if most >= circuit.bundle]
    return round(100 * columns[min(enough)], 6) if enough else 0.0


def out_m(circuit: Circuit, panel: str) -> float:
    """Return the length of the wire from a panel to the load, m; 0 where none is stated from there."""
    return circuit.length[panel] if panel in circuit.length else circuit.length.get("", 0.0)


def back_m(view: View, circuit: Circuit, panel: str) -> float:
    """Return the length of the wire back, m: as stated; else as long as the run if the return is a wire, else none."""
    if circuit.return_length is not None:
        return circuit.return_length
    return out_m(circuit, panel) if view.scenario.vehicle.return_path == "wire" else 0.0


def run_m(view: View, circuit: Circuit, panel: str) -> float:
    """Return the length of wire to the load and back, m."""
    return out_m(circuit, panel) + back_m(view, circuit, panel)


def allowed_drop_v(view: View, circuit: Circuit) -> float:
    """Return the voltage that a run may lose, V: what the circuit is allowed, less the share kept for its feed."""
    percent = view.rules.drop_critical if circuit.critical else view.rules.drop_other
    if circuit.drop is not None:
        percent = circuit.drop
    kept = (100 - view.rules.upstream_drop) / 100
    return percent / 100 * view.scenario.vehicle.nominal_voltage * kept
