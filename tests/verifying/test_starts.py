"""What the checker says of a start, by its own sums, for every kind of load, and whom it does not ask."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.requirements.own_figures import OwnFigures
from allocator.requirements.quantities import Load
from tests.verifying.edits import change
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_circuit, with_rules

RULE = "fuse-outlasts-start"


# ISO 8820-3 gates of type C as data sheets quote them: latest 600 s at 135 %, 50 s at 160 %, 5 s at 200 %, 0.5 s at
# 350 %, 0.15 s at 600 %; of type E 50 s at 200 %, 7 s at 350 %, 1 s at 600 %.
@pytest.mark.parametrize(
    ("need", "fuse", "fields", "says"),
    [
        ("pump-a", "C-5", {}, 'starts with 30 A for 0.5 s; fuse "C-5" opens within 0.15 s'),
        ("pump-a", "C-10", {"stall": 34.9}, None),
        ("pump-a", "C-10", {"stall": 35.0}, 'starts with 35 A for 0.5 s; fuse "C-10" opens within 0.5 s'),
        ("pump-a", "C-10", {"stall": 35.0, "fuse_rating": 10.0}, None),
        ("pump-a", "C-10", {"stall": 35.0, "load_type": "electronics"}, None),
        ("pump-a", "E-20", {"stall": 500.0}, None),
        ("heater", "E-20", {}, None),
        ("heater", "C-5", {}, None),  # open within half a second, but of its load: another rule tells
    ],
)
def test_starts(need: str, fuse: str, fields: dict[str, Any], says: str | None) -> None:
    sized, plan = good()
    (way,) = (way.at for way in plan.ways if way.need == need)
    found = told(with_circuit(sized, need, **fields), change(plan, "ways", need, fuse=fuse), RULE)
    assert found == ([] if says is None else [f"{way} (circuit {need}): {says}  [{RULE}]"])


def test_lamps() -> None:
    """A dipped beam draws 5.347 A at 14 V and ten times that at its start."""
    sized, plan = good()
    small, usual = (change(plan, "ways", "dip-left", fuse=name) for name in ("C-5", "C-10"))
    slow = with_rules(sized, figures=OwnFigures.model_validate({"lamp_inrush_time": "0.2 s"}))
    assert told(sized, small, RULE) == []  # it is over in 5 ms
    others = {
        f'cabin/1/A/1 (circuit hazard): starts with 91.389 A for 0.2 s; fuse "C-15" opens within 0.15 s  [{RULE}]'
    }
    assert {*told(slow, usual, RULE)} == others  # 535 %
    (found,) = {*told(slow, small, RULE)} - others
    assert found.endswith(
        f'(circuit dip-left): starts with 53.472 A for 0.2 s; fuse "C-5" opens within 0.15 s  [{RULE}]'
    )


def test_a_lamp_starts_with_the_vehicle_s_own_watts() -> None:
    """Ten times 21 W or 24 W / 12 V x 14 V / 12 V."""
    sized, plan = good()
    (way,) = (way.at for way in plan.ways if way.need == "radio")
    lamp = with_circuit(sized, "radio", load=Load.read("P21W"), load_type="filament-lamp")
    for watts, peak in (("21 W", "20.417"), ("24 W", "23.333")):
        own = OwnFigures.model_validate({"lamp_inrush_time": "1 s", "lamp_watts": {"12 V": {"P21W": watts}}})
        found = told(with_rules(lamp, figures=own), plan, RULE)
        says = f'starts with {peak} A for 1 s; fuse "C-5" opens within 0.5 s'
        assert f"{way} (circuit radio): {says}  [{RULE}]" in found


@pytest.mark.parametrize(
    ("load", "time", "says"),
    [
        ("D1S", "1 s", 'starts with 20 A for 1 s; fuse "C-5" opens within 0.5 s'),
        ("D1S", "0.4 s", None),
        ("D1S + 330 W", "1 s", 'starts with 33.834 A for 1 s; fuse "C-5" opens within 0.15 s'),  # more than the arc
        ("8 x D1S", "1 s", 'starts with 160 A for 1 s; fuse "C-5" opens within 0.15 s'),
    ],
)
def test_arcs(load: str, time: str, says: str | None) -> None:
    sized, plan = good()
    (way,) = (way.at for way in plan.ways if way.need == "radio")
    own = OwnFigures.model_validate({"discharge_start_time": time})
    arc = with_rules(with_circuit(sized, "radio", load=Load.read(load)), figures=own)
    assert told(arc, plan, RULE) == ([] if says is None else [f"{way} (circuit radio): {says}  [{RULE}]"])


def test_nothing_is_asked_without_the_rule_or_of_what_is_no_circuit() -> None:
    sized, plan = good()
    weak = change(change(plan, "ways", "pump-a", fuse="C-5"), "ways", "hold", fuse="C-5")
    assert told(with_rules(sized, fuse_outlasts_start=False), weak, RULE) == []
    assert len(told(sized, weak, RULE)) == 1
    assert told(sized, change(plan, "ways", "pump-a", fuse="none"), RULE) == []
    assert told(sized, change(plan, "ways", "pump-a", need="none"), RULE) == []
