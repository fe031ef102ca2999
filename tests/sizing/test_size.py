"""The whole table: needs in order, panels and feeds they may use, spares, faults, supply sums, determinism."""

from __future__ import annotations

from pathlib import Path

from allocator.requirements.reading import load_catalogue, load_scenario
from allocator.sizing import size
from tests.sizing.vehicles import (
    catalogue_table,
    circuit,
    faults,
    feed,
    need,
    panel,
    part,
    reason,
    requirements,
    row,
    sized,
)


def test_needs_are_listed_circuits_then_feeds_then_spares():
    branch = feed("key", source="battery", rating="30 A", fuse_format="E")
    rules = {"spares": [{"fuse_format": "F", "count": 2}]}
    table = sized(
        circuit("b"), circuit("a"), circuit("z", order=2), circuit("y", order=1), feeds=[feed(), branch], rules=rules
    )
    assert [item.id for item in table.needs] == ["y", "z", "a", "b", "key", "spare-1-1", "spare-1-2"]
    assert [item.kind for item in table.needs] == ["circuit"] * 4 + ["feed"] + ["spare"] * 2


def test_options_are_at_accepted_panels_that_an_accepted_feed_reaches():
    three = [panel("front"), panel("rear"), panel("roof")]
    feeds = [feed("battery", panels=["front", "rear"]), feed("house", panels=["roof"])]
    assert panels_of(need(circuit(), panels=three, feeds=feeds)) == ["front", "rear"]
    assert panels_of(need(circuit(panels=["rear", "roof"]), panels=three, feeds=feeds)) == ["rear"]
    assert panels_of(need(circuit(feeds=["battery", "house"]), panels=three, feeds=feeds)) == ["front", "rear", "roof"]
    (fault,) = faults(circuit(panels=["roof"]), panels=three, feeds=feeds)
    assert fault.rule == "unreachable"


def panels_of(item):
    return list(dict.fromkeys(option.panel for option in item.options))


def test_a_circuit_that_works_with_the_key_out_keeps_only_feeds_that_do():
    feeds = [
        feed("battery"),
        feed("ignition", kind="ignition"),
        feed("relayed", source="battery", rating="30 A", fuse_format="E", relay_class="heavy", control="key"),
        feed("fused", source="battery", rating="30 A", fuse_format="E"),
    ]
    names = ["battery", "ignition", "relayed", "fused"]
    wanted = circuit("hazard", feeds=names, key_out=True)
    assert need(wanted, circuit("key"), feeds=feeds).feeds == ("battery", "fused")
    (fault,) = faults(wanted | {"feeds": ["ignition", "relayed"]}, circuit("key"), feeds=feeds)
    assert fault.rule == "key-out" and fault.where == 'circuits table, circuit "hazard"'


def test_names_must_tell_needs_apart():
    branch = feed("lamp", source="battery", rating="30 A", fuse_format="E")
    (fault,) = faults(feeds=[feed(), branch])
    assert fault.rule == "name-taken" and "circuit and a feed" in fault.message


def test_rows_of_one_format_must_have_one_tab():
    other = part("other", rows=[row("C", tab=9.5)])
    (fault,) = faults(catalogue={"modules": [*catalogue_table()["modules"], other]})
    assert fault.rule == "tabs-differ" and "6.3 and 9.5" in fault.message


def test_every_option_states_its_reasons():
    always = {"current", "fuse", "wire", "relay", "surge", "fault", "terminal"}
    for option in need(circuit(switching="relay")).options:
        assert {reason.step for reason in option.reasons} == always
    for option in need(circuit(switching="relay", load_type="motor")).options:
        assert {reason.step for reason in option.reasons} == {*always, "start"}


def test_a_reason_says_which_test_decided_and_by_how_much():
    """A wiper of 8 A held fast at 40 A, behind 15 A type C, 4 m of 1.5 mm2 and a changeover relay."""
    wiper = circuit(load="8 A", load_type="motor", stall="40 A", switching="changeover", length="4 m")
    (item,) = [item for item in need(wiper).options if item.fuse_format == "C"]
    assert "for 8.175 A; the smallest on offer that does: 10 A would carry 7.5 A" in reason(item, "fuse")
    assert "40 A (5 x, as stated) for about 0.5 s: no published figure" in reason(item, "start")
    assert "held fast at 40 A it opens within 5 s" in reason(item, "start")
    assert "either contact switches 8 A of 18 A for motor (44%)" in reason(item, "relay")
    assert "make 87 carries 24 A, break 87a 18 A" in reason(item, "relay")
    assert "ampacity decides: w1 carries 14 A" in reason(item, "wire")
    assert "1000 A at the panel, of 1000 A that the fuse breaks" in reason(item, "fault")
    # 12 V / (12 V / 1000 A + 4 m x 13.3 mohm/m x (1 + 0.00393 x 85)) = 144.6 A
    assert "at the far end about 145 A, 9.64 x its rating: it opens within 0.15 s" in reason(item, "fault")


def test_a_lamp_whose_fuse_surely_outlasts_its_start_says_why():
    lamp = circuit(load="5 A", load_type="filament-lamp", fuse_format="C", fuse_rating="20 A")
    (item,) = need(lamp).options
    assert "50 A (10 x, by its kind) for about 0.005 s: the fuse stays whole" in reason(item, "start")
    assert "held fast" not in reason(item, "start")


def test_the_strict_rule_is_in_the_reason():
    lamp = circuit(load="8 A", load_type="filament-lamp", switching="relay", relay_class="standard", fuse_format="C")
    (item,) = need(lamp, rules={"strict_contacts": True}).options
    assert "by FAA AC 43.13-1B it needs 40 A of its 40 A for resistive loads" in reason(item, "relay")


def test_the_same_requirements_give_the_same_table():
    many = [circuit(f"c{n}", load=f"{n % 9 + 1} A", switching="relay" if n % 3 else "none") for n in range(20)]
    assert repr(size(requirements(*many))) == repr(size(requirements(*many)))


def test_every_part_named_is_in_the_catalogue():
    """With the catalogue that ships: every part of every option has a price."""
    many = [circuit(f"c{n}", load=f"{n + 1} A", load_type=kind) for n, kind in enumerate(KINDS)]
    switched = [circuit(f"s{n}", switching=how, load="4 A") for n, how in enumerate(("relay", "changeover", "flasher"))]
    inputs = requirements(*many, *switched, supply={"fault_current": "900 A"})
    table = size(inputs.model_copy(update={"catalogue": load_catalogue()}))
    for item in table.needs:
        for option in item.options:
            wires = [cut.wire for cut in option.wires] + [option.wire, option.jumper_wire or option.wire]
            assert set(option.parts) | set(wires) <= set(table.price_by_part)
            assert sum(option.parts.values()) == 1 + (option.relay is not None) + option.cavities


KINDS = ("resistive", "filament-lamp", "led", "motor", "inductive", "electronics", "heater")


def test_the_faults_of_all_circuits_and_feeds_are_told_together():
    """One without a feed for its key, one too large, one sound, and a feed without a cable."""
    feeds = [
        feed(),
        feed("key", kind="ignition"),
        feed("large", rating="500 A"),
        feed("odd", **BRANCH | {"rating": "35 A"}),
    ]
    found = faults(
        circuit("a", feeds=["key"], key_out=True), circuit("b", load="99 A"), circuit("c", load="98 A"), circuit("d"),
        feeds=feeds, rules={"spares": [{"fuse_format": "A", "count": 1}]},
    )  # fmt: skip
    assert [fault.rule for fault in found] == [
        "key-out", "no-rating-large-enough", "no-rating-large-enough", "no-feed-cable", "feed-fuse-not-offered",
        "format-not-offered",
    ]  # fmt: skip


BRANCH = {"source": "battery", "rating": "30 A", "fuse_format": "E"}


def test_feeds_and_their_needs_keep_the_order_of_the_scenario_though_sources_are_sized_first():
    late = BRANCH | {"source": "one", "rating": "20 A"}
    table = sized(feeds=[feed("two", **late), feed("one", **BRANCH), feed()])
    assert list(table.feeds) == ["two", "one", "battery"]
    assert [item.id for item in table.needs] == ["lamp", "two", "one"]


def test_circuits_are_listed_by_their_order_and_then_by_their_ids():
    """Those without an order last, and 0 is one."""
    orders = {"d": 2, "c": 1, "b": None, "a": None, "e": 0, "f": 1}
    table = sized(*(circuit(name, **({} if order is None else {"order": order})) for name, order in orders.items()))
    assert [item.id for item in table.needs] == ["e", "c", "f", "d", "a", "b"]


def test_a_need_has_the_label_and_pin_of_its_circuit():
    plain, pinned = need(circuit(label="Left lamp")), need(circuit(pin="cabin"))
    assert (plain.kind, plain.label, plain.feeds, plain.pin) == ("circuit", "Left lamp", ("battery",), None)
    assert pinned.pin == "cabin"
    assert need(circuit(label="")).label == "lamp"


def test_a_need_of_several_feeds_is_not_stranded_by_one_that_enters_nowhere():
    """It may use the other; one of the strong feed alone may not, and a relay alone takes no way."""
    no_stud = {"modules": [item for item in catalogue_table()["modules"] if item["id"] != "bus-e"], "holders": []}
    feeds = [feed(), feed("strong", rating="200 A")]
    both = circuit(feeds=["battery", "strong"], fuse_format="C")
    assert faults(both, feeds=feeds, catalogue=no_stud) == ()
    (fault,) = faults(both, circuit("lone", feeds=["strong"], fuse_format="C"), feeds=feeds, catalogue=no_stud)
    assert (fault.rule, fault.known) == ("no-entry", "lone would be fed by it")


def test_a_strip_is_priced_for_one_way_and_every_other_part_for_one():
    """100 cents for 20 ways, 250 for a stud."""
    table = sized(catalogue={"studs": [part("stud", size="M8", limit="200 A", stack=4) | {"price": "2.50"}]})
    assert (table.price_by_part["strip"], table.price_by_part["stud"], table.price_by_part["w1"]) == (5, 250, 100)
    tables = catalogue_table()
    assert set(table.price_by_part) == {
        item["id"]
        for name in tables
        if isinstance(tables[name], list) and name != "relay_tabs"
        for item in tables[name]
    }


def test_other_rules_change_nothing_else_and_every_place_is_still_known() -> None:
    """A trade-off is asked under other goals; what is found wrong then must name the user's file as before."""
    own = size(load_scenario(Path(__file__).parents[2] / "scenarios" / "starter-camper"))
    other = own.under_rules(objective=())
    assert (other.needs, other.entries, other.requirements.scenario.rules.objective) == (own.needs, own.entries, ())
    places = [found.requirements.where("circuits", own.needs[0].id, "load") for found in (own, other)]
    assert places[0] == places[1] and "circuits.csv" in str(places[0])
