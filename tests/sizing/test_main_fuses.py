"""The main fuse of a root feed: rating, net, fault current at the source, holder, rings and lead."""

from __future__ import annotations

import pytest

from allocator.sizing.sized import MainFuse
from tests.sizing.vehicles import catalogue_table, faults, feed, fuse, panel, part, sized, terminal


def holder(name: str = "main", **fields):
    return part(name, **{"fuse_format": "SF30", "limit": "200 A", "stud": "M8", "stack": 1} | fields)


ONE = (holder(),)


def offered(*fuses, holders=ONE):
    return {"fuses": [*catalogue_table()["fuses"], *fuses], "main_holders": list(holders)}


def main_of(*fuses, holders=ONE, **tables):
    return (
        sized(feeds=[feed(rating="60 A")], catalogue=offered(*fuses, holders=holders), **tables).feeds["battery"].main
    )


def test_it_has_exactly_the_rating_of_the_feed():
    assert main_of(fuse("SF30", 60), fuse("SF30", 80)) == MainFuse("SF3060", "main", "ring-M8-50", 0, ())
    (fault,) = faults(feeds=[feed(rating="60 A")], catalogue=offered(fuse("SF30", 50), fuse("SF30", 80)))
    assert fault.rule == "no-main-fuse" and "would do otherwise: 50, 80 A" in fault.known
    assert fault.where == 'scenario.toml, feed "battery"'


@pytest.mark.parametrize(("voltage", "breaking", "does"), [(16, 5000, True), (15, 5000, False), (16, 4999, False)])
def test_it_suits_the_net_and_the_fault_current_at_the_source(voltage, breaking, does):
    """A 12 V net may have 16 V; the fuses behind it see the 1000 A of the panel, it sees 5000 A."""
    tables = {"catalogue": offered(fuse("SF30", 60, voltage, breaking)), "supply": {"source_fault_current": "5000 A"}}
    found = [fault.rule for fault in faults(feeds=[feed(rating="60 A")], **tables)]
    assert found == ([] if does else ["no-main-fuse"])


def test_without_a_figure_for_the_source_the_panel_counts():
    assert main_of(fuse("SF30", 60, 32, 1000)) is not None
    assert faults(feeds=[feed(rating="60 A")], catalogue=offered(fuse("SF30", 60, 32, 999)))


def test_the_holder_takes_the_format_the_rating_and_a_cable_for_each_panel():
    holders = (holder("small", limit="50 A"), holder("other", fuse_format="SF51"), holder("lone"))
    tables = {"feeds": [feed(rating="60 A")], "catalogue": offered(fuse("SF30", 60), holders=holders)}
    assert sized(**tables).feeds["battery"].main.holder == "lone"
    (fault,) = faults(panels=[panel("front"), panel("rear")], **tables)
    assert fault.rule == "no-main-fuse" and "a holder for 2 cables" in fault.message


def test_the_cheapest_pair_is_taken():
    pairs = (holder("dear", price="9.00"), holder("fair", price="3.00"))
    assert main_of(fuse("SF30", 60), holders=pairs).holder == "fair"


def test_holder_and_fuse_together_are_cheapest():
    """Holder 3 + fuse 1 against holder 2 + fuse 5."""
    fuses = [item for item in catalogue_table()["fuses"] if item["id"] != "E60"]
    fuses += [fuse("SF30", 60), fuse("E", 60) | {"price": "5.00"}]
    pairs = [holder("strip", price="3.00"), holder("blade", fuse_format="E", price="2.00")]
    table = {"fuses": fuses, "main_holders": pairs}
    assert sized(feeds=[feed(rating="60 A")], catalogue=table).feeds["battery"].main.holder == "strip"


def test_a_holder_may_be_filled_to_its_limit():
    assert main_of(fuse("SF30", 60), holders=(holder("exact", limit="60 A"),)).holder == "exact"


def test_where_no_fuse_would_do_the_fault_says_so():
    (fault,) = faults(feeds=[feed(rating="60 A")], catalogue=offered())
    assert fault.message == (
        'feed "battery": finds no main fuse of 60 A on offer for 16 V and 1000 A at the source, in a holder for 1 cable'
    )
    assert fault.known == "ratings on offer that would do otherwise: none"
    assert fault.hint == "choose one of these as the rating of the feed, or offer such a fuse and main holder"


def test_a_source_without_a_ring_on_offer_takes_a_fuse_of_its_own_and_no_lead():
    tables = {"supply": {"stud": "M10"}, "catalogue": offered(fuse("SF30", 60))}
    at_source = sized(feeds=[feed(rating="60 A")], **tables).feeds["battery"].main
    assert (at_source.lead_mm, at_source.lead_rings) == (0, ())
    (fault,) = faults(feeds=[feed(rating="60 A", main_fuse_distance="0.15 m")], **tables)
    assert fault.rule == "no-feed-cable"


def test_a_holder_without_a_ring_for_the_cable_is_passed_over():
    rings = [*catalogue_table()["terminals"], terminal("ring", "M6", 0.5, 4, 100)]
    pairs = (holder("m6", stud="M6", price="0.10"), holder("m8"))
    table = offered(fuse("SF30", 60), holders=pairs) | {"terminals": rings}
    assert sized(feeds=[feed(rating="60 A")], catalogue=table).feeds["battery"].main.holder == "m8"
    (fault,) = faults(feeds=[feed(rating="60 A")], catalogue=table | {"main_holders": [pairs[0]]})
    assert fault.rule == "no-feed-cable" and "at its main fuse" in fault.message


def test_the_lead_is_part_of_the_distance_and_has_a_ring_at_each_end():
    tables = {"feeds": [feed(rating="60 A", main_fuse_distance="0.15 m")], "panels": [panel(supply_distance="2 m")]}
    found = sized(**tables).feeds["battery"]
    assert (found.main.lead_mm, found.main.lead_rings) == (150, ("ring-M8-50", "ring-M8-50"))
    assert found.cable_mm_by_panel == {"cabin": 1850}
    rings = {"terminals": [*catalogue_table()["terminals"], terminal("ring", "M10", 1, 50, 250)]}
    other = sized(supply={"stud": "M10"}, catalogue=rings, **tables).feeds["battery"]
    assert other.main.lead_rings == ("ring-M10-50", "ring-M8-50")


def test_a_branch_has_none():
    branch = feed("key", source="battery", rating="30 A", fuse_format="E")
    assert sized(feeds=[feed(), branch]).feeds["key"].main is None


def test_the_cable_outlives_a_short_circuit_just_behind_the_main_fuse():
    """A type E fuse of 20 A lets 120 A pass for 1 s where so much flows: 1 mm2 of 20 A is too thin for that."""
    maxi = offered(holders=(holder(fuse_format="E"),))
    tables = {"feeds": [feed(rating="20 A")], "catalogue": maxi}
    assert sized(supply={"fault_current": "100 A"}, **tables).feeds["battery"].cable_wire == "w1"
    strong = {"fault_current": "100 A", "source_fault_current": "1000 A"}
    assert sized(supply=strong, **tables).feeds["battery"].cable_wire == "w1.5"


def test_a_branch_with_only_a_relay_hangs_on_the_main_fuse():
    branch = feed("late", source="battery", rating="10 A", relay_class="heavy", control="lamp")
    maxi = offered(holders=(holder(fuse_format="E"),))
    found = sized(feeds=[feed(rating="20 A"), branch], catalogue=maxi)
    assert found.feeds["late"].cable_wire == "w1.5"
