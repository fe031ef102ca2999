"""What is lost before the fuse, worked by hand from the table's own cables."""

from __future__ import annotations

import pytest

from allocator.sizing.upstream import upstream_drop_v
from tests.sizing.vehicles import circuit, feed, panel, part, sized

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


def test_the_lead_before_the_main_fuse_is_part_of_the_way():
    """The same 2 m, of which 0.5 m stand before the main fuse."""
    at_source = sized(circuit())
    led = sized(circuit(), feeds=[feed(main_fuse_distance="0.5 m")])
    assert led.feeds["battery"].main.lead_mm == 500
    assert upstream_drop_v(led, "battery", "cabin") == pytest.approx(upstream_drop_v(at_source, "battery", "cabin"))


def test_copper_of_the_vehicle_s_own_counts():
    table = sized(circuit())
    wire = table.requirements.catalogue.wires
    area = next(item.area for item in wire if item.id == table.feeds["battery"].cable_wire)
    ohm_per_m = OHM_PER_M[table.feeds["battery"].cable_wire]
    own = {"figures": {"metric_resistance": {f"{area:g} mm2": f"{2000 * ohm_per_m} mohm/m"}}}
    twice = sized(circuit(), rules=own)
    assert twice.feeds["battery"].cable_wire == table.feeds["battery"].cable_wire
    assert upstream_drop_v(twice, "battery", "cabin") == pytest.approx(2 * upstream_drop_v(table, "battery", "cabin"))


def test_the_worst_tail_counts():
    """Behind a fuse of 30 A of its own a thinner tail loses more than the feed's, where the tails are long."""
    maxi = {"holders": [part("mini", fuse_format="F", limit="30 A")], "tail_length": "2 m"}
    thin = part("thin", ways=20, limit="30 A", inlet_tab="9.5 mm", stated_ambient="125 degC")
    table = sized(feeds=[feed(rating="100 A")], catalogue=maxi | {"strips": [thin | {"id": "strip"}]})
    tails = [entry.tail for entry in table.entries.values() if entry.tail]
    own = tails[0]
    assert own.wire != table.feeds["battery"].tail_wire and own.protection_a == 30
    cable_v = 2 * lost(table, "battery")
    tail_v = 2 * 30 * OHM_PER_M[own.wire] * HOT
    assert upstream_drop_v(table, "battery", "cabin") == pytest.approx(cable_v + tail_v)
