"""Which circuit switches which relay, told apart by kind."""

from __future__ import annotations

from allocator.plan.controls import control_by_need
from tests.outputs.samples import SMALL, requirements_of


def test_a_circuit_and_a_feed_of_one_name_keep_each_its_own_control() -> None:
    """Names alone would let the feed's control stand for the circuit's."""
    plain = requirements_of(SMALL)
    feed = plain.scenario.feeds[0].model_copy(update={"relay_class": "heavy", "control": "other"})
    circuit = plain.circuits[0].model_copy(update={"id": feed.name, "switching": "relay", "control": "one"})
    scenario = plain.scenario.model_copy(update={"feeds": (feed,)})
    found = control_by_need(plain.model_copy(update={"scenario": scenario, "circuits": (circuit,)}))
    assert dict(found) == {("circuit", feed.name): "one", ("feed", feed.name): "other"}
