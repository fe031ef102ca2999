"""What is lost before the fuse, worked by hand from the table's own cables."""

from __future__ import annotations

import pytest

from allocator.sizing.upstream import upstream_drop_v
from tests.sizing.vehicles import circuit, feed, panel, sized

# Class 5 copper by IEC 60228, ohm/m at 20 degC; at 105 degC x (1 + 0.00393 x 85) = 1.33405.
OHM_PER_M = {"w16": 0.00121, "w10": 0.00191, "w25": 0.000780, "w6": 0.0033, "w2.5": 0.00798}
HOT = 1.33405


def lost(table, name):
    return float(table.feeds[name].allowed_ma) / 1000 * OHM_PER_M[table.feeds[name].cable_wire] * HOT


def test_cable_and_tail_of_a_root_feed():
    far = sized(circuit(), panels=[panel(supply_distance="6 m")])
    metres = 6 + far.requirements.catalogue.tail_length
    assert far.feeds["battery"].cable_wire == far.feeds["battery"].tail_wire
    assert upstream_drop_v(far, "battery", "cabin") == pytest.approx(metres * lost(far, "battery"))


def test_a_return_by_wire_loses_as_much_again():
    there = sized(circuit())
    back = sized(circuit(), vehicle={"return_path": "wire"})
    assert upstream_drop_v(back, "battery", "cabin") == pytest.approx(2 * upstream_drop_v(there, "battery", "cabin"))


def test_a_branch_adds_what_its_source_loses():
    key = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="heavy", control="switch")
    table = sized(circuit("switch"), feeds=[feed(rating="60 A"), key])
    alone = 2 * table.requirements.catalogue.tail_length * lost(table, "key")  # its cable is as short as a tail
    assert upstream_drop_v(table, "key", "cabin") == pytest.approx(alone + upstream_drop_v(table, "battery", "cabin"))
