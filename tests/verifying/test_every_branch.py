"""Cases that no other test of the checker reaches: statements on tolerances, runs with their own wishes, odd places."""

from __future__ import annotations

from dataclasses import replace

import pytest

from allocator.verifying import verify
from allocator.verifying.runs import allowed_drop_v, run_m
from allocator.verifying.view import View
from tests.verifying.edits import change
from tests.verifying.hand_built import good


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"outcome": "within tolerance", "best": 9, "bound": 8}, "called within tolerance, but the bound is 8"),
        ({"outcome": "best so far", "best": 8, "bound": 8}, "stated is 9; the best is 8 and the tolerance 0"),
        ({"outcome": "best so far", "best": 9, "bound": 8, "allowed": 20}, "up to 20 is said to be allowed; it is 9"),
    ],
)
def test_what_is_said_of_a_tolerance_must_hold(stated: dict[str, object], words: str) -> None:
    """The hand-built plan has 9 bays, and its rules give the goal no tolerance."""
    sized, plan = good()
    said = {name: str(value) if name != "outcome" else value for name, value in stated.items()}
    edited = change(plan, "goals", "bays", **{"value": "9", **said})
    found = [finding.detail for finding in verify(sized, edited) if finding.rule == "goal-value"]
    assert len(found) == 1 and words in found[0]


def test_the_way_back_and_the_drop_of_a_circuit_go_before_those_of_the_vehicle() -> None:
    """3 m there and 1 m back; 2 % of 12 V, of which the feed keeps its share."""
    sized, plan = good()
    view = View(sized, plan)
    circuit = view.circuits["heater"]
    panel = view.scenario.panels[0].name
    own = circuit.model_copy(update={"length": {panel: 3.0}, "return_length": 1.0, "drop": 2.0})
    assert run_m(view, own, panel) == 4.0
    kept = (100 - view.rules.upstream_drop) / 100
    assert allowed_drop_v(view, own) == pytest.approx(0.02 * view.scenario.vehicle.nominal_voltage * kept)


def test_hot_ways_at_a_place_that_cannot_be_read_are_passed_over() -> None:
    """The address is told by the rule on addresses; this one only must not stumble."""
    sized, plan = good()
    rules = sized.requirements.scenario.rules.model_copy(update={"hot_share": 0.1, "hot_from": 0.1})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    hot = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    before = {finding.where for finding in verify(hot, plan) if finding.rule == "hot-apart"}
    edited = change(plan, "ways", "heater", at="somewhere")
    after = {finding.where for finding in verify(hot, edited) if finding.rule == "hot-apart"}
    assert after <= before and not any("heater" in where for where in after)
    assert any(finding.where.startswith("somewhere") for finding in verify(hot, edited))
