"""Wires are cut longer than they lie: a share along the run, and a little at each end."""

from __future__ import annotations

import pytest

from allocator.plan.cuts import cut_mm
from allocator.plan.wiring import Role, Run, WireEnd
from allocator.requirements.scenario import Requirements
from tests.verifying.hand_built import build_requirements


def requirements(run_allowance: float, end_allowance: float) -> Requirements:
    plain = build_requirements()
    rules = plain.scenario.rules.model_copy(update={"run_allowance": run_allowance})
    scenario = plain.scenario.model_copy(update={"rules": rules})
    catalogue = plain.catalogue.model_copy(update={"end_allowance": end_allowance})
    return plain.model_copy(update={"scenario": scenario, "catalogue": catalogue})


@pytest.mark.parametrize(
    ("role", "length_mm", "expected"),
    [
        ("wire", 3001, 3152 + 60),  # 3151.05 rounded up, and 30 mm at each end
        ("jumper", 120, 180),  # no bends within the panel
        ("cable", 6000, 6060),
        ("wire", 0, None),  # measured by the builder
    ],
)
def test_length_to_cut(role: Role, length_mm: int, expected: int | None) -> None:
    run = Run("X1", role, WireEnd("a"), WireEnd("b"), "w", length_mm, "", "battery")
    assert cut_mm(run, requirements(5.0, 0.03)) == expected


def test_without_allowances_a_wire_is_cut_as_it_lies() -> None:
    run = Run("W1", "wire", WireEnd("a"), WireEnd("b"), "w", 3001, "", "battery")
    assert cut_mm(run, build_requirements()) == 3001


def test_a_share_is_taken_exactly() -> None:
    """In binary fractions 1.1 x 1000 is a little more than 1100, and would be rounded up."""
    run = Run("W1", "wire", WireEnd("a"), WireEnd("b"), "w", 1000, "", "battery")
    assert cut_mm(run, requirements(10.0, 0.0)) == 1100
