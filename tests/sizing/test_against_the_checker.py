"""
Every option of random circuits, hot ones included, held against the checker's own sums.

Whole vehicles of random circuits stand in ``test_random_vehicles.py``.
"""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

import pytest

from allocator.errors import InputError
from allocator.sizing import Sized, size
from allocator.verifying.design_current import design_current_ma
from allocator.verifying.exact import exact, milliamperes
from allocator.verifying.fuse_current import fuse_limit_ma
from allocator.verifying.wire_current import wire_limit_ma
from allocator.verifying.withstand import fault_heat_a2s, wire_heat_a2s
from tests.sizing.vehicles import circuit, panel, requirements

NUM_CIRCUITS = 500
PER_VEHICLE = 25
KINDS = ("resistive", "filament-lamp", "led", "motor", "inductive", "heater", "electronics")


def random_circuit(dice: random.Random, name: str) -> dict[str, Any]:
    return circuit(
        name,
        load=f"{dice.uniform(0.1, 28):.2f} A",
        load_type=dice.choice(KINDS),
        length=f"{dice.uniform(0, 6):.1f} m",
        critical=dice.random() < 0.3,
        switching=dice.choice(("none", "none", "relay")),
    )


def sized_without_the_impossible(circuits: list[dict[str, Any]], **tables: Any) -> Sized:
    """Leave out the circuits that a first try says cannot be: a hot panel makes some."""
    try:
        return size(requirements(*circuits, **tables))
    except InputError as error:
        lost = [fault.where for fault in error.faults]
        assert all("circuit" in where for where in lost)
        left = [item for item in circuits if not any(f'"{item["id"]}"' in where for where in lost)]
        return size(requirements(*left, **tables))


OWN = {
    "ampacity": {"2.5 mm2": {"105 degC": "28 A"}, "4 mm2": {"105 degC": "41 A"}, "14 AWG": {"105 degC": "27 A"}},
    "ampacity_ambient": "40 degC",
    "ambient_factor_step": 0.05,
    "fuse_share": {"C": {"30 degC": 0.8, "65 degC": 0.6, "85 degC": 0.5}},
    "fuse_gates": {"C": {"200 %": {"earliest": "0.15 s", "latest": "4.5 s"}}},
    "final_temperature": {"60 degC": "140 degC"},
    "adiabatic_copper": "200 A s^0.5/mm2",
    "copper_inferred_zero": "228 degC",
}
"""Figures of a vehicle's own, each harsher than published: sizing and checker must both take them."""


@pytest.mark.parametrize(("num_circuits", "own"), [(NUM_CIRCUITS, {}), (NUM_CIRCUITS, OWN)], ids=["published", "own"])
def test_no_fuse_stands_above_its_wire_by_the_checkers_sums(num_circuits: int, own: dict[str, Any]) -> None:
    dice, num_checked = random.Random(183), 0
    while num_checked < num_circuits:
        ambient_c, bundle = dice.randint(-10, 70), dice.randint(50, 100)
        circuits = [random_circuit(dice, f"c{index}") for index in range(PER_VEHICLE)]
        table = sized_without_the_impossible(
            circuits,
            panels=[panel(ambient=f"{ambient_c} degC")],
            rules={"bundle_factor": f"{bundle} %", "figures": own},
        )
        num_checked += hold(table, ambient_c, bundle)


def hold(table: Sized, ambient_c: float, bundle: float) -> int:
    """Check every option of every circuit, and return how many circuits there were."""
    catalogue, scenario = table.requirements.catalogue, table.requirements.scenario
    figures = table.requirements.figures
    wires = {wire.id: wire for wire in catalogue.wires}
    fuses = {fuse.id: fuse for fuse in catalogue.fuses}
    for item in table.requirements.circuits:
        load: Fraction = design_current_ma(item, scenario.vehicle, figures)
        for option in table.need_by_id[item.id].options:
            fuse, wire = fuses[str(option.fuse)], wires[str(option.wire)]
            bears = wire_limit_ma(wire, ambient_c, bundle, figures)
            assert load <= fuse_limit_ma(fuse, ambient_c, scenario.rules.loading_factor, figures)
            assert milliamperes(fuse.rating) <= bears
            assert 0 <= bears - 1000 * exact(option.wire_limit_a) < 1  # the table rounds down to whole milliamperes
            assert fault_heat_a2s(fuse, scenario.supply.fault_current, figures) <= wire_heat_a2s(wire, figures)
            if option.jumper_wire is not None:
                assert milliamperes(fuse.rating) <= wire_limit_ma(wires[option.jumper_wire], ambient_c, 100, figures)
    return len(table.requirements.circuits)
