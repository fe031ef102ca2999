"""The peak of more needs than a few, here on small panels: first steps that do not suffice, and those after them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from allocator.solving import balancing, bounds, minimising, search, search_plan
from allocator.solving.balancing import Balancing
from allocator.solving.levels import Relaxed
from allocator.solving.minimising import Step
from tests.builders import MINI_PANELS, mini_panel

BUILDABLE = [panel for panel in MINI_PANELS if panel["expected"] != "infeasible"]


@pytest.mark.parametrize("panel", BUILDABLE[:8], ids=lambda panel: str(panel["id"]))
@pytest.mark.parametrize("soon", [1e-9, 1.5])
def test_further_steps_lead_to_the_same_goals(
    panel: Mapping[str, Any], soon: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With sets of modules that prove it at once, and without; no step loses what the one before it had."""
    sized = mini_panel(panel)
    wanted = [(goal.goal, goal.value, goal.outcome) for goal in search_plan(sized).plan.goals]
    monkeypatch.setattr(bounds, "SMALL", 0)
    monkeypatch.setattr(balancing, "SMALL", 0)
    monkeypatch.setattr(search, "SOON_EFFORT", soon)
    monkeypatch.setattr(minimising, "BALANCE_OF_FEW", (Step(0.02, 0),))
    one_step = Balancing._step

    def noted(self: Balancing, fixed: Any, relaxed: Relaxed, step: Step) -> Relaxed:
        found = one_step(self, fixed, relaxed, step)
        assert found.bound >= relaxed.bound and found.value <= relaxed.value and found.bound <= found.value
        return found

    monkeypatch.setattr(Balancing, "_step", noted)
    assert [(goal.goal, goal.value, goal.outcome) for goal in search_plan(sized).plan.goals] == wanted
