"""The checker's rule on voltage drop, held against drops worked by hand from IEC 60228 and 33 CFR 183.425."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import Any

import pytest

from allocator.requirements.own_figures import OwnFigures
from allocator.verifying.drop import drop_within_limit
from allocator.verifying.findings import Finding
from allocator.verifying.view import View
from tests.verifying.hand_built import good

METRE_OHM = 3.30e-3
"""6 mm2 at 20 degC, IEC 60228 class 5."""
WARMER = 0.00393
"""Rise of the resistance of copper for each degree, IEC 60028."""


def drop_v(current_a: float, metres: float, carries_a: float, metre_ohm: float = METRE_OHM) -> float:
    """Return what a wire of 105 degC loses at 50 degC, V: it warms with the square root of its share of what it may."""
    wire_c = 50 + (105 - 50) * sqrt(min(current_a / carries_a, 1))
    return current_a * metres * metre_ohm * (1 + WARMER * (wire_c - 20))


def winch(drop_percent: float, figures: dict[str, Any] | None = None, **fields: Any) -> list[Finding]:
    """Return the findings on the winch: 15 A over 6 mm2, aft at 50 degC, where the rules leave 70 % to a bundle."""
    sized, plan = good()
    requirements = sized.requirements
    own = {"length": {"": 9.0, "aft": 4.0}, "drop": drop_percent, **fields}
    circuits = [c.model_copy(update=own) if c.id == "winch" else c for c in requirements.circuits]
    rules = requirements.scenario.rules
    if figures is not None:
        rules = rules.model_copy(update={"figures": OwnFigures.model_validate(figures)})
    scenario = requirements.scenario.model_copy(update={"rules": rules})
    asked = requirements.model_copy(update={"scenario": scenario, "circuits": tuple(circuits)})
    found = drop_within_limit(View(replace(sized, requirements=asked), plan))
    return [finding for finding in found if "winch" in finding.where]


TABLE_A = 60 * 0.85
"""33 CFR 183.425 Table 5: 10 AWG of 105 degC, and its factor for an engine space."""
CASES: dict[str, tuple[float, dict[str, Any]]] = {
    "by the rules' bundle, at its own panel's length": (drop_v(15, 4, TABLE_A * 0.7), {}),
    "in a bundle of 7 to 24, note 2 of the table": (drop_v(15, 4, TABLE_A * 0.5), {"bundle": 7}),
    "with a way back": (drop_v(15, 4 + 1.5, TABLE_A * 0.7), {"return_length": 1.5}),
    "by the vehicle's own ampacity": (
        drop_v(15, 4, 40 * 0.85 * 0.7),
        {"figures": {"ampacity": {"6 mm2": {"105 degC": "40 A"}}}},
    ),
    "by the vehicle's own resistance": (
        drop_v(15, 4, TABLE_A * 0.7, 4e-3),
        {"figures": {"metric_resistance": {"6 mm2": "4 mohm/m"}}},
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_run_may_lose_its_share_and_no_more(name: str) -> None:
    """A ten-thousandth below what it loses the limit is passed, above not."""
    lost_v, fields = CASES[name]
    percent = 100 * lost_v / 12
    assert winch(percent * 1.0001, **fields) == []
    (finding,) = winch(percent * 0.9999, **fields)
    assert (finding.rule, finding.where) == ("drop-within-limit", "aft/3/B/2 (circuit winch)")
    metres = 5.5 if "return_length" in fields else 4
    told = f'loses {lost_v:.3g} V in {metres:g} m of wire "w6"; {lost_v:.3g} V are allowed'
    assert finding.detail == told


def test_a_wire_that_may_carry_nothing_is_as_hot_as_its_insulation_may_be() -> None:
    """At 105 degC the wire has nothing left; its resistance is that of 105 degC, however little flows."""
    sized, plan = good()
    panels = tuple(p.model_copy(update={"ambient": 105.0}) for p in sized.requirements.scenario.panels)
    circuits = tuple(c.model_copy(update={"drop": 0.0}) for c in sized.requirements.circuits)
    scenario = sized.requirements.scenario.model_copy(update={"panels": panels})
    asked = sized.requirements.model_copy(update={"scenario": scenario, "circuits": circuits})
    found = {f.where: f.detail for f in drop_within_limit(View(replace(sized, requirements=asked), plan))}
    lost_v = 15 * 4 * METRE_OHM * (1 + WARMER * (105 - 20))
    assert found["aft/3/B/2 (circuit winch)"] == f'loses {lost_v:.3g} V in 4 m of wire "w6"; 0 V are allowed'
