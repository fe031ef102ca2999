"""
Two thousand random circuits in whole vehicles, with relays, branching feeds and several panels: every one sized, placed
by the greedy baseline, and the plan held against every rule of the independent checker.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import Any

from allocator.errors import InputError
from allocator.plan.plan import Plan
from allocator.requirements import load_catalogue
from allocator.requirements.scenario import Circuit, Requirements, Scenario
from allocator.sizing import Sized, size
from allocator.verifying import verify
from allocator.verifying.exact import milliamperes
from allocator.verifying.runs import bundle_percent
from allocator.verifying.view import View
from allocator.verifying.wire_current import wire_limit_ma
from tests.oracles.greedy_feeds import Stuck
from tests.oracles.greedy_plan import greedy_plan

NUM_CIRCUITS, PER_VEHICLE, SEED = 2000, 40, 41
KINDS = ("resistive", "filament-lamp", "led", "motor", "inductive", "heater", "electronics")
SWITCHING = ("none", "none", "none", "none", "relay", "relay", "changeover", "flasher")
PANELS = ("front", "middle", "rear")
FEEDS = ("battery", "house", "spine", "key", "lights", "cabin")


def random_vehicle(dice: random.Random) -> Requirements:
    """Return a vehicle of two or three panels, four root feeds and branches with fuse, relay, or both."""
    panels = PANELS[: dice.randint(2, 3)]
    scenario = {
        "vehicle": {
            "name": "Random vehicle", "nominal_voltage": "12 V", "operating_voltage": "14 V", "minimum_voltage": "11 V",
            "return_path": dice.choice(("chassis", "wire")),
        },
        "supply": {"charger_rating": "200 A", "battery_capacity": "200 Ah",
                   "fault_current": f"{dice.randint(400, 1000)} A"},
        "panels": [
            {"name": name, "ambient": f"{dice.randint(-10, 55)} degC", "max_bays": 60,
             "supply_distance": f"{dice.uniform(0.5, 4):.1f} m"}
            for name in panels
        ],
        "feeds": [
            {"name": "battery", "kind": "permanent", "rating": "150 A", "tail_fuse": dice.choice((None, "60 A"))},
            {"name": "house", "kind": "permanent", "rating": "125 A", "tail_fuse": dice.choice((None, "40 A"))},
            {"name": "spine", "kind": "permanent", "rating": "150 A", "tail_fuse": "60 A"},
            {"name": "key", "kind": "ignition", "rating": "50 A", "source": "battery", "fuse_format": "E",
             "relay_class": "heavy", "control": "switch", "home": "front"},
            {"name": "lights", "kind": "switched", "rating": "30 A", "source": "house", "fuse_format": "E",
             "home": dice.choice(panels)},
            {"name": "cabin", "kind": "accessory", "rating": "60 A", "source": "spine", "relay_class": "heavy",
             "control": "switch", "home": "front"},
        ],
        "load_cases": [
            {"name": "day", "engine_running": True, "hours": "1 h"},
            {"name": "night", "engine_running": False, "hours": "1 h"},
        ],
        "rules": {
            "bundle_factor": f"{dice.randint(50, 100)} %",
            "fuse_over_wire": dice.choice(("never", "never", "small-craft-150")),
        },
    }  # fmt: skip
    switch = {"id": "switch", "label": "", "load": "1 A", "load_type": "electronics", "feeds": ["battery"],
              "panels": ["front"], "length": {"": "1 m"}}  # fmt: skip
    rows = [switch, *(random_circuit(dice, f"c{number}") for number in range(PER_VEHICLE))]
    return Requirements(
        scenario=Scenario.model_validate(scenario),
        circuits=tuple(Circuit.model_validate(row) for row in rows),
        catalogue=load_catalogue(),
    )


def random_circuit(dice: random.Random, name: str) -> dict[str, Any]:
    switching = dice.choice(SWITCHING)
    return {
        "id": name, "label": "", "load": f"{dice.uniform(0.1, 16 if switching == 'none' else 7):.2f} A",
        "load_type": dice.choice(KINDS[:3] if switching == "flasher" else KINDS),
        "feeds": dice.sample(FEEDS, dice.randint(2, 4)),
        "load_cases": dice.choice(([], ["day"], ["night"])),
        "length": {"": f"{dice.uniform(0, 6):.1f} m"},
        "return_length": dice.choice((None, None, "2 m")),
        "bundle": dice.choice((None, None, 2, 5, 9)),
        "critical": dice.random() < 0.2,
        "switching": switching,
        "control": "switch" if switching in ("relay", "changeover") and dice.random() < 0.5 else None,
    }  # fmt: skip


def sized_without_the_impossible(vehicle: Requirements) -> Sized:
    """Leave out the circuits that a first try says cannot be, such as a large load in a full bundle."""
    try:
        return size(vehicle)
    except InputError as error:
        lost = {fault.where.split('"')[1] for fault in error.faults if fault.where.startswith("circuits table")}
        assert len(lost) == len(error.faults)
        kept = tuple(circuit for circuit in vehicle.circuits if circuit.id not in lost)
        return size(vehicle.model_copy(update={"circuits": kept}))


@cache
def planned() -> tuple[tuple[Sized, Plan], ...]:
    """Return enough random vehicles with a plan each; those for which the baseline finds none are left out."""
    dice, found, num_circuits = random.Random(SEED), [], 0
    while num_circuits < NUM_CIRCUITS:
        sized = sized_without_the_impossible(random_vehicle(dice))
        try:
            plan = greedy_plan(sized)
        except Stuck:
            continue
        found.append((sized, plan))
        num_circuits += len(sized.requirements.circuits)
    return tuple(found)


def test_the_checker_finds_nothing_in_any_of_them() -> None:
    for sized, plan in planned():
        assert verify(sized, plan) == ()


def test_everything_that_could_go_wrong_is_in_them() -> None:
    """Relays of each kind, branches with fuse, relay and both, several panels, tail fuses, wires back, small craft."""
    seen = Counter[str]()
    for sized, plan in planned():
        seen.update(item.switching for item in sized.requirements.circuits)
        seen.update(way.need for way in plan.ways if way.kind == "feed")
        seen["direct"] += sum(piece.kind == "socket" for piece in plan.pieces)
        seen["panels"] += len({way.at.split("/")[0] for way in plan.ways}) > 1
        seen["tail fuses"] += sum(feed.tail_fuse is not None for feed in sized.feeds.values())
        seen["back by wire"] += sized.requirements.scenario.vehicle.return_path == "wire"
        seen["small craft"] += sized.requirements.scenario.rules.fuse_over_wire != "never"
    wanted = ("relay", "changeover", "flasher", "key", "lights", "direct", "panels", "tail fuses", "back by wire")
    assert all(seen[name] >= 5 for name in (*wanted, "small craft")), seen


def test_the_checker_notices_a_fuse_above_its_wire_in_every_one_of_them() -> None:
    """One way of each plan gets a fuse on offer that its wire may not stand behind."""
    for sized, plan in planned():
        place, larger = next(too_large(sized, plan))
        way = plan.ways[place].model_copy(update={"fuse": larger})
        ways = (*plan.ways[:place], way, *plan.ways[place + 1 :])
        rules = {finding.rule for finding in verify(sized, plan.model_copy(update={"ways": ways}))}
        assert "fuse-protects-wire" in rules, way


def too_large(sized: Sized, plan: Plan) -> Iterator[tuple[int, str]]:
    """Yield the number of a circuit's way with the smallest fuse of its format above what the rules allow its wire."""
    view = View(sized, plan)
    share = Fraction(3, 2) if sized.requirements.scenario.rules.fuse_over_wire != "never" else Fraction(1)
    parts = {part.id: part for part in (*sized.requirements.catalogue.fuses, *sized.requirements.catalogue.wires)}
    ambient = {site.name: site.ambient for site in sized.requirements.scenario.panels}
    fuses = sorted(sized.requirements.catalogue.fuses, key=lambda fuse: fuse.rating)
    for place, way in enumerate(plan.ways):
        if way.kind == "circuit":
            percent = bundle_percent(view, way.need)
            bears = wire_limit_ma(parts[str(way.wire)], ambient[way.at.split("/")[0]], percent) * share
            of_format = [fuse for fuse in fuses if fuse.fuse_format == parts[str(way.fuse)].fuse_format]
            yield from ((place, fuse.id) for fuse in of_format if milliamperes(fuse.rating) > bears)
