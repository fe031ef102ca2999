"""Two thousand random circuits, sized, and then held against the checker's own sums on wires, fuses and loads."""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

from allocator.errors import InputError
from allocator.sizing import Sized, size
from allocator.verifying.design_current import design_current_ma
from allocator.verifying.exact import exact, milliamperes
from allocator.verifying.fuse_current import fuse_limit_ma
from allocator.verifying.wire_current import wire_limit_ma
from allocator.verifying.withstand import fault_heat_a2s, wire_heat_a2s
from tests.sizing.vehicles import circuit, panel, requirements

NUM_CIRCUITS = 2000
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


def test_no_fuse_stands_above_its_wire_by_the_checkers_sums() -> None:
    dice, num_checked = random.Random(183), 0
    while num_checked < NUM_CIRCUITS:
        ambient_c, bundle = dice.randint(-10, 70), dice.randint(50, 100)
        circuits = [random_circuit(dice, f"c{index}") for index in range(PER_VEHICLE)]
        table = sized_without_the_impossible(
            circuits,
            panels=[panel(ambient=f"{ambient_c} degC")],
            rules={"bundle_factor": f"{bundle} %"},
        )
        num_checked += hold(table, ambient_c, bundle)


def hold(table: Sized, ambient_c: float, bundle: float) -> int:
    """Check every option of every circuit, and return how many circuits there were."""
    catalogue, scenario = table.requirements.catalogue, table.requirements.scenario
    wires = {wire.id: wire for wire in catalogue.wires}
    fuses = {fuse.id: fuse for fuse in catalogue.fuses}
    for item in table.requirements.circuits:
        load: Fraction = design_current_ma(item, scenario.vehicle)
        for option in table.need_by_id[item.id].options:
            fuse, wire = fuses[str(option.fuse)], wires[str(option.wire)]
            bears = wire_limit_ma(wire, ambient_c, bundle)
            assert load <= fuse_limit_ma(fuse, ambient_c, scenario.rules.loading_factor)
            assert milliamperes(fuse.rating) <= bears
            assert 0 <= bears - 1000 * exact(option.wire_limit_a) < 1  # the table rounds down to whole milliamperes
            assert fault_heat_a2s(fuse, scenario.supply.fault_current) <= wire_heat_a2s(wire)
            if option.jumper_wire is not None:
                assert milliamperes(fuse.rating) <= wire_limit_ma(wires[option.jumper_wire], ambient_c)
    return len(table.requirements.circuits)
