"""A circuit that was taken out at the vehicle: bonds forget it, and what it switched must be noted first."""

from __future__ import annotations

from typing import Any

from allocator.plan.plan import Plan
from allocator.requirements.places import Item, Spot
from allocator.requirements.scenario import Bond
from allocator.requirements.vehicle_notes import VehicleNote
from allocator.revising.noting import as_noted
from tests.revising.test_left_behind import FED, built, noted

REMOVED = ("circuit-01", "removed", "")


def without(name: str, **rules: Any) -> Plan:
    """Return the small sample with other rules, as it is without a circuit."""
    sized, plan = built(rules=rules)
    note = VehicleNote.model_validate({"day": "2026-03-02", "circuit": name, "what": "removed", "value": ""})
    return as_noted(plan, sized, [Item(Spot("notes.csv", "row 2", "the note", (2,), {}), note)])[0]


def test_what_a_circuit_switches_is_noted_before_it() -> None:
    panel = built(**FED)
    text = 'the circuit supplies the coil of circuit "circuit-05"'
    assert noted(panel, REMOVED) == [text]
    assert noted(panel, ("circuit-05", "removed", ""), REMOVED) == []


def test_bonds_forget_a_circuit_that_was_removed() -> None:
    """A bond of two is gone with it, one of three binds the other two."""
    pair = Bond(circuits=("circuit-02", "circuit-03"), level="row")
    three = Bond(circuits=("circuit-02", "circuit-03", "circuit-04"), level="module")
    rules = without("circuit-02", apart=(pair, three), together=(pair,)).requirements.scenario.rules
    assert rules.apart == (Bond(circuits=("circuit-03", "circuit-04"), level="module"),)
    assert rules.together == ()
