"""Feeds: cables, tails, studs, own fuses and relays, and where they can enter."""

from __future__ import annotations

from fractions import Fraction

import pytest

from allocator.requirements.catalogue import DeratingStep
from allocator.sizing.inlets import derated_ma
from allocator.sizing.sized import Tail
from tests.sizing.vehicles import (
    catalogue_table,
    circuit,
    faults,
    feed,
    fuse,
    option,
    panel,
    part,
    reason,
    row,
    sized,
    terminal,
)

KEY = {"source": "battery", "rating": "30 A", "fuse_format": "E"}


def test_a_root_feed():
    root = sized(feeds=[feed(rating="60 A")], rules={"feed_loading": "80 %"}).feeds["battery"]
    # 60 A at 30 degC, on its own: 10 mm2 (80 A); 6 mm2 carries exactly 60 A.
    assert (root.cable_wire, root.tail_wire, root.tail_protection_a) == ("w6", "w6", 60)
    assert (root.rating_ma, root.allowed_ma) == (60_000, Fraction(48_000))
    assert root.cable_mm_by_panel == {"cabin": 2000}
    assert (root.stud, root.stud_stack, root.tail_ring, root.cable_ring) == ("stud", 4, "ring-M8-50", "ring-M8-50")
    assert (root.tail_fuse, root.tail_holder) == (None, None)


def test_allowed_load_is_exact():
    assert sized(rules={"feed_loading": "33.3 %"}).feeds["battery"].allowed_ma == Fraction("19980")


def test_a_feed_is_sized_for_the_hottest_panel_it_reaches():
    two = [panel("cool"), panel("hot", ambient="60 degC")]  # factor 0.77 for 105 degC insulation
    assert sized(feeds=[feed(panels=["cool"])], panels=two).feeds["battery"].cable_wire == "w6"
    assert sized(feeds=[feed()], panels=two).feeds["battery"].cable_wire == "w10"  # 61.6 A


def test_a_tail_fuse_makes_a_thin_tail_with_fuse_and_holder():
    found = sized(feeds=[feed(rating="100 A", tail_fuse="20 A")]).feeds["battery"]
    assert (found.tail_protection_a, found.tail_fuse, found.tail_holder) == (20, "F20", "holder")
    assert (found.cable_wire, found.tail_wire) == ("w16", "w1.5")  # 1 mm2 carries 20 A, and melts before the fuse opens


def test_a_tail_fuse_that_no_holder_takes_is_a_fault():
    (fault,) = faults(feeds=[feed(tail_fuse="60 A")])
    assert fault.rule == "tail-fuse-not-offered" and "25, 30 A" in fault.known
    assert fault.where == 'scenario.toml, feed "battery"'


def test_the_own_fuse_of_a_branch_has_exactly_its_rating():
    found = option(name="key", fuse_format="E", feeds=[feed(), feed("key", **KEY)])
    assert (found.fuse, found.fuse_rating_a, found.wire, found.cavities) == ("E30", 30, "w2.5", 1)
    assert found.terminal_by_designation == {"way": "tab-9.5-6"} and found.wires == ()
    (fault,) = faults(feeds=[feed(), feed("key", **KEY | {"rating": "35 A"})])
    assert fault.rule == "feed-fuse-not-offered" and "30, 40" in fault.known


def test_a_branch_with_fuse_and_relay():
    branch = feed("key", **KEY, relay_class="heavy", control="lamp")
    found = option(name="key", fuse_format="E", feeds=[feed(), branch])
    assert (found.relay, found.jumper_wire, found.cavities) == ("heavy", "w2.5", 5)
    assert set(found.terminal_by_designation) == {"way", "30", "87", "85", "86"}
    assert [(cut.length_mm, cut.start, cut.end) for cut in found.wires] == [
        (0, "85", "earth"),
        (3000, "86", "switched side of lamp"),
    ]
    assert "carries 70 A for a load up to 24 A" in reason(found, "relay")


def test_a_branch_with_only_a_relay_is_protected_by_what_stands_before_it():
    branch = feed("late", source="battery", rating="20 A", relay_class="heavy", control="lamp")
    table = sized(feeds=[feed(rating="40 A"), branch])
    need = table.need_by_id["late"]
    assert not need.takes_way and need.takes_socket and need.supplies == "late"
    (found,) = need.options
    assert (found.fuse, found.fuse_rating_a, found.jumper_wire) == (None, 0, None)
    assert table.feeds["late"].cable_wire == "w4"  # 45 A for the 40 A before it, not for its own 20 A
    assert table.feeds["late"].tail_protection_a == 40
    assert found.terminal_by_designation["30"] == "tab-9.5-25"


def test_a_tail_fuse_of_the_source_protects_a_branch_with_only_a_relay():
    branch = feed("late", source="battery", rating="20 A", relay_class="heavy", control="lamp")
    table = sized(feeds=[feed(rating="100 A", tail_fuse="20 A"), branch])
    assert table.feeds["late"].tail_protection_a == 20 and table.feeds["late"].cable_wire == "w1.5"


def test_a_branch_whose_relay_cannot_take_its_cable_is_a_fault_that_says_what_would_do():
    branch = feed("late", source="battery", rating="20 A", relay_class="standard", control="lamp")
    (fault,) = faults(feeds=[feed(rating="80 A"), branch])
    assert fault.rule == "no-feed-cable" and "w10" in fault.message
    assert "fuse format or relay class" in fault.hint and "tail fuse on its source" in fault.hint


def test_a_relay_of_a_feed_must_carry_its_allowed_load():
    branch = feed("key", source="battery", rating="100 A", fuse_format="E", relay_class="heavy", control="lamp")
    (fault,) = faults(feeds=[feed(rating="150 A"), branch])
    assert fault.rule == "no-relay-large-enough" and "heavy switches 70 A" in fault.known


def test_cable_lengths_of_a_branch():
    two = [panel("front", supply_distance="1 m"), panel("rear", supply_distance="6 m")]
    branch = feed("key", **KEY, home="front")
    cables = sized(circuit(panels=["front"]), feeds=[feed(), branch], panels=two).feeds["key"].cable_mm_by_panel
    assert cables == {"front": 400, "rear": 7000}


SENSELESS = {
    "home-open": (
        "has no home: its own fuse or relay could be at front or engine",
        "it reaches front, rear, engine; its source battery reaches front, engine",
        'name one panel as its "home"',
    ),
    "home-unreached": (
        "has its home at panel rear, which its source battery does not reach",
        "battery reaches front, engine",
        "choose one of these as home",
    ),
    "branch-without-parts": (
        "branches from battery with neither fuse nor relay: it is the same conductor",
        "",
        "give it a fuse_format or a relay_class",
    ),
    "root-with-parts": (
        "comes from the supply, so it takes no fuse or relay in the panel",
        "",
        "name its source, or leave out fuse_format and relay_class",
    ),
    "coil-unprotected": (
        "has a relay whose coil hangs on no fuse",
        "",
        "name a control circuit, or give the feed its own fuse",
    ),
    "feed-loop": ("branches from itself: key from key", "", "let one of them come from the supply"),
}


@pytest.mark.parametrize(
    ("branch", "rule"),
    [
        (feed("key", **KEY), "home-open"),
        (feed("key", **KEY, home="rear"), "home-unreached"),
        (feed("key", source="battery", rating="30 A", home="front"), "branch-without-parts"),
        (feed("key", rating="30 A", fuse_format="E"), "root-with-parts"),
        (feed("key", source="battery", rating="30 A", relay_class="heavy", home="front"), "coil-unprotected"),
        (feed("key", source="key", rating="30 A", fuse_format="E"), "feed-loop"),
        (feed("key", **KEY | {"fuse_format": "A"}, home="front"), "no-fuse-for-net"),
    ],
)
def test_feeds_that_make_no_sense_are_faults(branch, rule):
    told = SENSELESS.get(rule)
    front, rear, engine = panel("front"), panel("rear"), panel("engine")
    found = faults(circuit(), feeds=[feed(panels=["front", "engine"]), branch], panels=[front, rear, engine])
    assert [fault.rule for fault in found] == [rule]
    assert found[0].where == 'scenario.toml, feed "key"'
    if told is not None:
        assert (found[0].message.partition(": ")[2], found[0].known, found[0].hint) == told


def test_entries_take_the_least_of_inlet_stud_and_tail():
    entries = sized(feeds=[feed(rating="60 A")]).entries
    limits = {module: entry.limit_ma for (_, module, _, _), entry in entries.items()}
    # The tail of 6 mm2 carries 60 A on its own; a way fed singly has a terminal of 40 A, and a fuse of 40 A at most.
    assert limits == {"row-c": 60_000, "row-f": 60_000, "bus-e": 60_000, "single-c": 40_000}
    assert entries["cabin", "row-c", 0, "battery"].terminal == "inlet-9.5-25"
    assert entries["cabin", "bus-e", 0, "battery"].terminal == "ring-M8-50"
    assert entries["cabin", "single-c", 0, "battery"].terminal == "tab-6.3-6"


MAXI = {"holders": [part("maxi", fuse_format="E", limit="100 A"), part("mini", fuse_format="F", limit="30 A")]}


def test_a_feed_that_is_stronger_than_a_strip_gets_a_tail_fuse_there():
    entries = sized(feeds=[feed(rating="100 A")], catalogue=MAXI).entries
    strip, stud = entries["cabin", "row-c", 0, "battery"], entries["cabin", "bus-e", 0, "battery"]
    # Strip of 80 A, inlet of 100 A: a maxi fuse of 80 A, and a wire that bears it; it carries 75 %.
    assert (strip.limit_ma, strip.tail) == (60_000, Tail("w10", "ring-M8-50", "E80", "maxi", 80))
    assert stud.tail is None and stud.limit_ma == 120_000  # the stud carries 150 A, the tail of 16 mm2 120 A


def test_a_tail_fuse_carries_what_its_own_type_s_curve_allows_and_no_other_s():
    """A curve of the vehicle's own allows type E half of its rating; one for type C says nothing of type E."""

    def limit_ma(letter, share):
        own = {"figures": {"fuse_share": {letter: {"65 degC": share}}}}
        found = sized(feeds=[feed(rating="100 A")], catalogue=MAXI, rules=own)
        return found.entries["cabin", "row-c", 0, "battery"].limit_ma

    assert limit_ma("E", "50 %") == 40_000
    assert limit_ma("C", "30 %") == 60_000


def test_a_tail_lies_alone_whatever_a_bundle_leaves():
    found = sized(feeds=[feed(rating="100 A")], catalogue=MAXI, rules={"bundle_factor": "60 %"})
    assert found.entries["cabin", "row-c", 0, "battery"].tail.wire == "w10"


def test_a_strip_is_never_behind_a_fuse_of_more_than_it_carries():
    """The inlet's terminal would carry 100 A, the strip 50 A."""
    thin = part("thin", ways=20, limit="50 A", inlet_tab="9.5 mm", stated_ambient="125 degC")
    rows = [row("C") | {"strip": "thin"}]
    table = MAXI | {"strips": [*catalogue_table()["strips"], thin], "modules": [part("thin", rows=rows)]}
    found = sized(circuit(fuse_format="C"), feeds=[feed(rating="100 A")], catalogue=table)
    entry = found.entries["cabin", "thin", 0, "battery"]
    assert (entry.tail.fuse, entry.limit_ma, entry.terminal) == ("E50", 37_500, "inlet-9.5-25")


def test_of_equal_tail_fuses_holder_and_fuse_together_are_cheapest():
    """Holder 3 + fuse 1 against holder 2 + fuse 5, both of 30 A."""
    fuses = [item for item in catalogue_table()["fuses"] if item["id"] != "E30"]
    two = [
        part("mini", fuse_format="F", limit="30 A", price="3.00"),
        part("maxi", fuse_format="E", limit="30 A", price="2.00"),
    ]
    thin = part("thin", ways=20, limit="30 A", inlet_tab="9.5 mm", stated_ambient="125 degC")
    table = {
        "fuses": [*fuses, fuse("E", 30) | {"price": "5.00"}],
        "holders": two,
        "strips": [*catalogue_table()["strips"], thin],
        "modules": [part("thin", rows=[row("C") | {"strip": "thin"}])],
    }
    found = sized(circuit(fuse_format="C"), feeds=[feed(rating="100 A")], catalogue=table)
    assert found.entries["cabin", "thin", 0, "battery"].tail.holder == "mini"


def test_a_tail_fuse_that_the_scenario_gives_is_taken_where_the_inlet_bears_it():
    fused = feed(rating="100 A", tail_fuse="20 A")
    assert sized(feeds=[fused]).entries["cabin", "row-c", 0, "battery"].limit_ma == 15_000  # 75 % of 20 A
    weak = part("weak", ways=20, limit="18 A", inlet_tab="9.5 mm", stated_ambient="125 degC")
    rows = [item | {"strip": "weak"} for item in (row("C"),)]
    offered = {"strips": [*catalogue_table()["strips"], weak], "modules": [part("thin", rows=rows)]}
    found = sized(circuit(fuse_format="C"), feeds=[fused], catalogue=offered).entries["cabin", "thin", 0, "battery"]
    assert found.tail is not None and (found.tail.fuse, found.limit_ma) == ("F15", 11_250)


def test_the_tail_fuse_that_carries_most_is_taken_and_then_the_cheapest():
    two = [part("maxi", fuse_format="E", limit="100 A"), part("cheap", fuse_format="E", limit="100 A", price="0.50")]
    found = sized(feeds=[feed(rating="100 A")], catalogue={"holders": two}).entries["cabin", "row-c", 0, "battery"]
    assert found.tail is not None and (found.tail.holder, found.tail.fuse) == ("cheap", "E80")


def test_an_entry_is_missing_where_no_fuse_protects_what_it_enters():
    """The stud of the solid bus carries 150 A, every strip 80 A."""
    strong = [feed(rating="120 A")]
    assert sorted(module for _, module, _, _ in sized(feeds=strong, catalogue={"holders": []}).entries) == ["bus-e"]
    entries = sized(feeds=strong).entries
    assert sorted(module for _, module, _, _ in entries) == ["bus-e", "row-c", "row-f", "single-c"]


def test_a_way_fed_singly_is_protected_by_its_own_fuse():
    """Terminals of 40 A and fuses of up to 40 A behind a feed of 60 A; terminals of 35 A ask for a tail fuse."""

    def entry(limit_a: float):
        tabs = [item for item in catalogue_table()["terminals"] if item["id"] != "tab-6.3-6"]
        offered = {"terminals": [*tabs, terminal("tab", 6.3, 1.5, 6, limit_a)]}
        return sized(feeds=[feed(rating="60 A")], catalogue=offered).entries["cabin", "single-c", 0, "battery"]

    assert entry(40).tail is None
    weak = entry(35).tail
    assert weak is not None and weak.fuse == "F30"


def test_a_feed_that_enters_nowhere_is_a_fault_that_says_what_would_do():
    no_stud = {"modules": [item for item in catalogue_table()["modules"] if item["id"] != "bus-e"]}
    (fault,) = faults(circuit(fuse_format="C"), feeds=[feed(rating="200 A")], catalogue=no_stud | {"holders": []})
    assert fault.rule == "no-entry" and "lamp" in fault.known and "in-line holder" in fault.hint


def test_a_cable_is_thick_enough_for_the_inlets_it_could_enter():
    inlets = [item for item in catalogue_table()["terminals"] if item["kind"] != "inlet"]
    thick_inlet = {"terminals": [*inlets, terminal("inlet", 9.5, 4, 25, 100)]}
    assert sized(feeds=[feed(rating="30 A")]).feeds["battery"].cable_wire == "w2.5"
    assert sized(feeds=[feed(rating="30 A")], catalogue=thick_inlet).feeds["battery"].cable_wire == "w4"


def test_a_stud_must_carry_the_feed_and_take_its_rings():
    small = part("small", size="M8", limit="50 A", stack=3, price="0.10")
    offered = {"studs": [*catalogue_table()["studs"], small]}
    assert sized(feeds=[feed(rating="50 A")], catalogue=offered).feeds["battery"].stud == "small"
    assert sized(feeds=[feed(rating="60 A")], catalogue=offered).feeds["battery"].stud == "stud"
    (fault,) = faults(catalogue={"studs": []})
    assert fault.rule == "no-feed-cable" and "no stud on offer" in fault.message


def test_the_stud_of_a_branch_with_only_a_relay_bears_the_fuse_before_it():
    """A branch of 20 A with no fuse of its own hangs on the 40 A of its source, and so does its stud."""
    studs = [part("small", size="M8", limit=f"{limit} A", stack=3, price="0.10") for limit in (39, 40)]
    late = {"source": "battery", "rating": "20 A", "relay_class": "heavy", "control": "lamp"}
    for small, chosen in zip(studs, ("stud", "small"), strict=True):
        offered = {"studs": [*catalogue_table()["studs"], small]}
        found = sized(circuit(fuse_format="C"), feeds=[feed(rating="40 A"), feed("late", **late)], catalogue=offered)
        assert found.feeds["late"].stud == chosen


STEPS = [DeratingStep.model_validate({"ambient": f"{c} degC", "factor": f"{f} %"}) for c, f in ((85, 61), (55, 90))]


@pytest.mark.parametrize(
    ("ambient_c", "steps", "ma"),
    [
        (40, [], 80_000),
        (40.1, [], 0),
        (40.1, STEPS, 72_000),
        (55, STEPS, 72_000),
        (56, STEPS, 48_800),
        (85.1, STEPS, 0),
    ],
)
def test_derating_reads_the_next_higher_column_and_allows_nothing_past_the_last(ambient_c, steps, ma):
    assert derated_ma(80, 40, steps, ambient_c) == ma


def test_row_and_module_limits_are_derated_by_panel():
    module = part(
        "hot",
        rows=[row("C", limit="50 A"), row("C")],
        limit="90 A",
        derating=[{"ambient": "60 degC", "factor": "80 %"}],
    )
    offered = {"modules": [*catalogue_table()["modules"], module]}
    table = sized(panels=[panel("cool"), panel("hot", ambient="60 degC")], catalogue=offered)
    assert [table.row_limit_ma["cool", "hot", index] for index in (0, 1)] == [50_000, None]
    assert [table.row_limit_ma["hot", "hot", index] for index in (0, 1)] == [40_000, None]
    assert (table.module_limit_ma["cool", "hot"], table.module_limit_ma["hot", "hot"]) == (90_000, 72_000)
    assert table.module_limit_ma["hot", "row-c"] is None
