"""Every wire of a plan is asked for its system, and what counts as a gauge."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.sizing.sized import Cut
from allocator.verifying.wire_systems import is_gauge
from tests.verifying.edits import change
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_options, with_rules, with_sized_feed


def _said(*places: str) -> list[str]:
    return [f'{place}: wire "g14" is not of the system metric  [wires-of-system]' for place in places]


@pytest.mark.parametrize(
    ("need", "fields", "places"),
    [
        ("fan", {"jumper_wire": "g14"}, ["circuit fan"]),
        ("horn", {"wires": (Cut("w1", 100), Cut("g14", 100))}, ["circuit horn"]),
        ("deck", {"wires": (Cut("g14", 100),)}, ["feed deck"]),
        ("spare-1-1", {"wires": (Cut("g14", 100),)}, ["spare spare-1-1"]),
    ],
)
def test_the_wires_of_a_need(need: str, fields: dict[str, Any], places: list[str]) -> None:
    """One gauge among metric wires."""
    sized, plan = good()
    assert told(with_options(sized, need, **fields), plan, "wires-of-system") == _said(*places)


@pytest.mark.parametrize(
    ("field", "places"),
    [("cable_wire", ["cable of feed hold"]), ("tail_wire", ["tail at aft/1/A/1", "tail at aft/3/A/1-2"])],
)
def test_the_wires_of_a_feed(field: str, places: list[str]) -> None:
    sized, plan = good()
    assert told(with_sized_feed(sized, "hold", **{field: "g14"}), plan, "wires-of-system") == _said(*places)


def test_the_wire_that_the_plan_puts_to_a_way() -> None:
    sized, plan = good()
    edited = change(plan, "ways", "wiper", wire="g14")
    assert told(sized, edited, "wires-of-system") == _said("cabin/4/A/1 (circuit wiper)")


# ASTM B258: AWG n is 0.127 mm x 92^((36 - n) / 39) thick; 4/0 is n = -3.
@pytest.mark.parametrize(
    ("area_mm2", "gauge"),
    [
        (107.2193, True),  # 4/0
        (135.2, False),  # 5/0 is no size of the table
        (0.0050143, True),  # 40
        (0.0039765, False),  # 41
        (2.080908 * 1.0009, True),  # 14, to a thousandth
        (2.080908 * 1.0011, False),
    ],
)
def test_where_gauges_end(area_mm2: float, gauge: bool) -> None:
    assert is_gauge(area_mm2) is gauge


def test_any_system_will_do_where_the_rules_say_so() -> None:
    sized, plan = good()
    edited = change(plan, "ways", "wiper", wire="g14")
    assert told(with_rules(sized, wire_system="any"), edited, "wires-of-system") == []
