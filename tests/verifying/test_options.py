"""Named options of the rules: what the checker lets pass with them, and what it then refuses."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.plan.plan import Plan
from allocator.requirements.catalogue import LoadType
from allocator.sizing.sized import Sized
from allocator.verifying import verify
from allocator.verifying.relays import strict_factor
from allocator.verifying.wire_systems import is_gauge
from tests.verifying.edits import change
from tests.verifying.hand_built import good


def _findings(sized: Sized, plan: Plan, rule: str = "fuse-protects-wire", **rules: Any) -> list[str]:
    scenario = sized.requirements.scenario
    changed = scenario.model_copy(update={"rules": scenario.rules.model_copy(update=rules)})
    requirements = sized.requirements.model_copy(update={"scenario": changed})
    found = verify(replace(sized, requirements=requirements), plan.model_copy(update={"requirements": requirements}))
    return [finding.detail for finding in found if finding.rule == rule]


# The heater draws 17.5 A behind 30 A; at 50 degC and 70 % 2.5 mm2 carries 35 x .85 x .7 = 20.825 A: 31.2 A at 150 %.
@pytest.mark.parametrize(
    ("option", "fuse", "wire", "passes"),
    [
        ("never", "E-30", "w2.5", False),
        ("small-craft-150", "E-30", "w2.5", True),
        ("small-craft-150", "E-50", "w2.5", False),  # above 150 %
        ("small-craft-150", "E-20", "w1.5", False),  # 14.875 A at 150 % bears 20 A, and does not carry the heater
    ],
)
def test_a_fuse_above_its_run(option: str, fuse: str, wire: str, passes: bool) -> None:
    sized, plan = good()
    edited = change(plan, "ways", "heater", fuse=fuse, wire=wire)
    assert (_findings(sized, edited, fuse_over_wire=option) == []) is passes


def test_feeds_and_jumpers_are_never_allowed_more() -> None:
    """The cable of feed hold and the jumper of the fan stay at what they carry."""
    sized, plan = good()
    for name, fuse in (("hold", "SF30-60"), ("fan", "E-50")):
        edited = change(plan, "ways", name, fuse=fuse)
        assert _findings(sized, edited, fuse_over_wire="small-craft-150")


def test_wires_of_another_system_are_reported() -> None:
    """All wires of the hand-built vehicle are metric."""
    sized, plan = good()
    assert _findings(sized, plan, "wires-of-system", wire_system="metric") == []
    found = _findings(sized, plan, "wires-of-system", wire_system="awg")
    assert 'wire "w6" is not of the system awg' in found and len(found) > len(plan.ways) - 2  # spares have no wire


@pytest.mark.parametrize(
    ("area_mm2", "gauge"), [(2.080908, True), (2.08, True), (107.22, True), (1.875793, True), (2, False), (50, False)]
)
def test_what_is_a_gauge(area_mm2: float, gauge: bool) -> None:
    """14 AWG by ASTM B258, 4/0 AWG, and 14 SAE of 3702 circular mils; 50 mm2 is near 1/0 SAE and is none."""
    assert is_gauge(area_mm2) is gauge


def test_strict_contacts_are_checked() -> None:
    """The hazard lamps, 9.139 A, need five times that at 12 V; horn, fan and the feeds' relays have enough."""
    sized, plan = good()
    found = _findings(sized, plan, "relay-carries-load", strict_contacts=True)
    assert _findings(sized, plan, "relay-carries-load") == []
    assert found == ['circuit "hazard" needs a contact of 45.694 A by the strict rule; relay "flash-standard" has 20 A']


@pytest.mark.parametrize(
    ("load_type", "nominal_v", "factor"),
    [
        ("heater", 12, 1), ("resistive", 24, 2), ("led", 12, 5), ("electronics", 24, 8), ("filament-lamp", 6, 5),
        ("motor", 12, 2), ("motor", 24, 3), ("inductive", 48, 4),
    ],
)  # fmt: skip
def test_strict_factor(load_type: LoadType, nominal_v: float, factor: int) -> None:
    assert strict_factor(load_type, nominal_v) == factor


@pytest.mark.parametrize(
    ("count", "table", "passes"),
    [
        (None, "steps", False),  # 25 A x .85 x .7 = 14.9 A at 50 degC
        (1, "steps", True),  # 21.25 A
        (2, "steps", False),
        (2, "bunched", False),  # x .8 = 17 A
        (21, "bunched", False),  # past the table nothing is left
    ],
)
def test_a_bundle_that_a_circuit_states(count: int | None, table: str, passes: bool) -> None:
    """The heater behind 20 A on 1.5 mm2."""
    sized, plan = good()
    circuits = tuple(
        item.model_copy(update={"bundle": count}) if item.id == "heater" else item
        for item in sized.requirements.circuits
    )
    stated = replace(sized, requirements=sized.requirements.model_copy(update={"circuits": circuits}))
    edited = change(plan, "ways", "heater", fuse="E-20", wire="w1.5")
    assert (_findings(stated, edited, bundle_table=table) == []) is passes
