"""Every panel of the open data set reaches its known optimum on all five levels, or is refused as it must be."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import pytest

from allocator.errors import CannotBeMet
from allocator.solving import allocate
from allocator.verifying import verify
from tests.builders import MINI_PANELS, mini_panel

INFEASIBLE = [instance for instance in MINI_PANELS if instance["expected"] == "infeasible"]
FEASIBLE = [instance for instance in MINI_PANELS if instance["expected"] != "infeasible"]
LEVELS = {
    "bays": "bays",
    "module-types": "module_types",
    "strip-pieces": "strip_pieces",
    "peak-utilisation": "peak_feed_utilisation",
    "price": "price",
}


def test_the_data_set_is_complete() -> None:
    assert (len(FEASIBLE), len(INFEASIBLE)) == (14, 2)


@pytest.mark.parametrize("instance", FEASIBLE, ids=lambda instance: instance["id"])
def test_known_optimum(instance: Mapping[str, Any]) -> None:
    """All five goal values are the known ones, exactly, and the plan says that none can be better."""
    sized = mini_panel(instance)
    plan = allocate(sized)
    expected = {goal: Fraction(instance["expected"][name]) for goal, name in LEVELS.items()}
    assert {result.goal: result.value for result in plan.goals} == expected
    assert {result.goal: result.bound for result in plan.goals} == expected
    assert [result.outcome for result in plan.goals] == ["best possible"] * len(LEVELS)
    assert verify(sized, plan) == ()


@pytest.mark.parametrize("instance", INFEASIBLE, ids=lambda instance: instance["id"])
def test_known_infeasible(instance: Mapping[str, Any]) -> None:
    with pytest.raises(CannotBeMet):
        allocate(mini_panel(instance))
