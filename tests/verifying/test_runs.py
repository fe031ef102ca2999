"""Bundle, length and drop of a run by the checker's own reading of the requirements."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.requirements.own_figures import OwnFigures
from allocator.sizing.sized import Sized
from allocator.verifying.runs import allowed_drop_v, bundle_percent, run_m
from allocator.verifying.view import View
from tests.verifying.hand_built import good
from tests.verifying.other_tables import with_circuit, with_rules, with_tables


def _view(sized: Sized) -> View:
    return View(sized, good()[1])


@pytest.mark.parametrize(
    ("fields", "panel", "return_path", "metres"),
    [
        ({"length": {"": 3.0, "aft": 4.0}}, "aft", "chassis", 4),
        ({"length": {"": 3.0, "aft": 4.0}}, "cabin", "chassis", 3),
        ({"length": {"": 3.0, "aft": 4.0}}, "aft", "wire", 8),
        ({"length": {"aft": 4.0}}, "cabin", "wire", 0),  # a panel that it does not reach
        ({"length": {"": 3.0}, "return_length": 0.5}, "aft", "wire", 3.5),
        ({"length": {"": 3.0}, "return_length": 0.0}, "aft", "wire", 3),
    ],
)
def test_there_and_back(fields: dict[str, Any], panel: str, return_path: str, metres: float) -> None:
    sized, _ = good()
    vehicle = sized.requirements.scenario.vehicle.model_copy(update={"return_path": return_path})
    view = _view(with_tables(with_circuit(sized, "winch", **fields), vehicle=vehicle))
    assert run_m(view, view.circuits["winch"], panel) == metres


@pytest.mark.parametrize(
    ("fields", "volts"),
    [
        ({"critical": True}, 0.02 * 12 * 0.75),
        ({"critical": False}, 0.08 * 12 * 0.75),
        ({"critical": True, "drop": 5.0}, 0.05 * 12 * 0.75),
        ({"critical": False, "drop": 0.0}, 0),
    ],
)
def test_what_a_run_may_lose(fields: dict[str, Any], volts: float) -> None:
    """Of 12 V; a quarter is kept for the feed."""
    rules = with_rules(good()[0], drop_critical=2.0, drop_other=8.0, upstream_drop=25.0)
    view = _view(with_circuit(rules, "winch", **fields))
    assert allowed_drop_v(view, view.circuits["winch"]) == pytest.approx(volts)


@pytest.mark.parametrize(
    ("count", "percent"), [(None, 65), (3, 70), (4, 60), (6, 60), (7, 50), (24, 50), (25, 40), (10**6, 40)]
)
def test_a_bundle_by_its_own_count_or_by_the_rules(count: int | None, percent: float) -> None:
    """The steps of ISO 13297 and of 33 CFR 183.425, note 2 of its table."""
    view = _view(with_circuit(with_rules(good()[0], bundle_factor=65.0), "winch", bundle=count))
    assert bundle_percent(view, "winch") == percent
    assert bundle_percent(view, "no-such") == 65


@pytest.mark.parametrize(("count", "percent"), [(3, 62.5), (20, 38), (21, 0)])
def test_a_bundle_by_the_vehicle_s_own_share_and_past_the_table(count: int, percent: float) -> None:
    """BS 7671 Table 4C1 ends at 20 circuits."""
    own = OwnFigures.model_validate({"bundles": {"bunched": {"3": "62.5 %"}}})
    rules = with_rules(good()[0], bundle_table="bunched", figures=own)
    assert bundle_percent(_view(with_circuit(rules, "winch", bundle=count)), "winch") == percent
