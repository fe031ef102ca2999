"""The bundled vehicles: each shows every feature, has a proven plan of known figures, and defeats the baseline."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from allocator.plan.plan import Plan
from allocator.requirements import load_scenario
from allocator.requirements.scenario import ModuleLimit
from allocator.sizing import Sized, size
from allocator.solving import allocate
from allocator.verifying import verify
from tests.oracles.greedy_plan import greedy_plan

FOLDERS = sorted(path.parent for path in (Path(__file__).parents[1] / "scenarios").glob("*/scenario.toml"))
VEHICLES = [folder.name for folder in FOLDERS]
FULL = [name for name in VEHICLES if name not in ("starter-camper", "vet-van")]
"""Those that show every feature: the camper is for the first ten minutes, the van for comparing trade-offs."""


@cache
def sized_of(name: str) -> Sized:
    return size(load_scenario(Path(__file__).parents[1] / "scenarios" / name))


@cache
def plan_of(name: str) -> Plan:
    """Return a plan that is best in the goals up to strip pieces: the later ones cannot change these."""
    requirements = sized_of(name).requirements
    rules = requirements.scenario.rules
    first = rules.objective[: rules.objective.index("strip-pieces") + 1]
    scenario = requirements.scenario.model_copy(update={"rules": rules.model_copy(update={"objective": first})})
    return allocate(size(requirements.model_copy(update={"scenario": scenario})))


def expected_of(name: str) -> Mapping[str, Mapping[str, int]]:
    folder = Path(__file__).parents[1] / "scenarios" / name
    found: dict[str, Any] = tomllib.loads((folder / "expected.toml").read_text(encoding="utf-8"))
    return found


def values_of(plan: Plan) -> dict[str, int | str]:
    return {result.goal: int(result.value) for result in plan.goals if result.value.denominator == 1}


@pytest.mark.parametrize("name", VEHICLES)
def test_known_optimum(name: str) -> None:
    """Bays, module types and strip pieces are the known ones, and proven."""
    plan, expected = plan_of(name), expected_of(name)["best"]
    levels = {result.goal: result for result in plan.goals if result.goal in expected}
    assert {goal: result.value for goal, result in levels.items()} == expected
    assert {result.outcome for result in levels.values()} == {"best possible"}


@pytest.mark.long
@pytest.mark.parametrize("name", VEHICLES)
def test_all_goals(name: str) -> None:
    """With all its goals, in a minute: the same figures, and a plan that keeps every rule."""
    plan, expected = allocate(sized_of(name), workers=2), expected_of(name)["best"]
    assert {goal: value for goal, value in values_of(plan).items() if goal in expected} == expected
    assert verify(sized_of(name), plan) == ()


@pytest.mark.parametrize("name", VEHICLES)
def test_the_greedy_baseline_loses(name: str) -> None:
    """Its plan keeps every rule, reaches its known figures, and needs more bays or more strip pieces."""
    plan = greedy_plan(sized_of(name))
    assert verify(sized_of(name), plan) == ()
    reached, expected = values_of(plan), expected_of(name)
    assert {goal: reached[goal] for goal in expected["greedy"]} == expected["greedy"]
    best = values_of(plan_of(name))
    assert (reached["bays"], reached["strip-pieces"]) > (best["bays"], best["strip-pieces"])


@pytest.mark.parametrize("name", FULL)
def test_every_feature_is_there(name: str) -> None:
    """What a reader of the vehicle should be able to look up in it."""
    scenario, circuits = sized_of(name).requirements.scenario, sized_of(name).requirements.circuits
    branches = [feed for feed in scenario.feeds if feed.source]
    classes = {option.relay_class for need in sized_of(name).needs for option in need.options}
    features = {
        "circuits with a choice of feeds": sum(len(circuit.feeds) > 1 for circuit in circuits) >= 10,
        "a branch with fuse and heavy relay": any(f.fuse_format and f.relay_class == "heavy" for f in branches),
        "a branch with a relay only": any(f.relay_class and not f.fuse_format for f in branches),
        "load cases": len(scenario.load_cases) >= 4,
        "relays of every class": {"micro", "standard", "heavy"} <= classes,
        "a changeover relay and a flasher": {"changeover", "flasher"} <= {circuit.switching for circuit in circuits},
        "separations": bool(scenario.rules.apart),
        "togetherness": bool(scenario.rules.together),
        "spare ways": bool(scenario.rules.spares),
        "circuits that work with the key out": any(circuit.key_out for circuit in circuits),
        "a pin": any(circuit.pin for circuit in circuits),
        "a note": any(circuit.note for circuit in circuits),
    }
    assert [feature for feature, there in features.items() if not there] == []


def test_the_vehicles_differ_in_kind() -> None:
    scenarios = {name: sized_of(name).requirements for name in FULL}
    assert {found.scenario.vehicle.nominal_voltage for found in scenarios.values()} == {12.0, 24.0}
    assert {found.scenario.vehicle.return_path for found in scenarios.values()} == {"chassis", "wire"}
    assert {len(found.scenario.panels) for found in scenarios.values()} == {1, 2}
    assert sorted(len(found.circuits) for found in scenarios.values()) == [31, 44, 63]


def test_a_solid_bus_serves_where_nothing_else_may() -> None:
    """The starter, with every module forbidden that has ways on strips or ways fed singly."""
    found = load_scenario(Path(__file__).parents[1] / "scenarios" / "starter-camper")
    others = [m.id for m in found.catalogue.modules if any(row.bus != "stud" for row in m.rows)]
    limits = tuple(ModuleLimit(module=module, most=0) for module in others)
    rules = found.scenario.rules.model_copy(update={"modules": limits, "spares": ()})
    scenario = found.scenario.model_copy(update={"rules": rules})
    sized = size(found.model_copy(update={"scenario": scenario}))
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    assert {piece.kind for piece in plan.pieces} == {"stud"}
