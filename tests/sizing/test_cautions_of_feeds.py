"""Cautions about feeds: whom each names among several, what it says, and from where on it is given."""

from __future__ import annotations

import pytest

from tests.sizing.vehicles import Table, circuit, feed, panel, part, relay, told

BRANCH = feed("branch", source="battery", rating="30 A", fuse_format="E")
MAXI_MAIN = {"main_holders": [part("main", fuse_format="E", limit="60 A", stud="M8", stack=4)]}
"""Type E, which six times its rating opens within 1 s; of the strips in its place nothing is published."""
LAMP = {"load_type": "filament-lamp"}
MOTOR = {"load_type": "motor"}

LEFT, RIGHT = circuit("left", critical=True), circuit("right", critical=True)


def apart(level: str) -> Table:
    return {"apart": [{"circuits": ["left", "right"], "level": level}]}


def test_of_those_that_share_a_feed_the_critical_ones_on_it_are_named():
    others = circuit("radio"), circuit("pump", critical=True, feeds=["house"])
    ((about, text),) = told("critical-share-feed", LEFT, RIGHT, *others, feeds=[feed(), feed("house")])
    assert (about, text) == (
        "battery",
        "critical circuits left, right may all stand on feed battery: its one fault would stop them together; ask for "
        "different feeds where they must survive each other",
    )


def test_only_a_bond_that_asks_for_different_feeds_keeps_critical_circuits_from_sharing_one():
    assert len(told("critical-share-feed", LEFT, RIGHT, rules=apart("row"))) == 1
    assert told("critical-share-feed", LEFT, RIGHT, rules=apart("feed")) == []
    third = circuit("third", critical=True)  # bound to neither, so that each of them shares with it
    ((_, text),) = told("critical-share-feed", LEFT, RIGHT, third, rules=apart("feed"))
    assert "circuits left, right, third may" in text


TREE = [feed(), *(feed(name, source="battery", rating="20 A", fuse_format="E") for name in ("port", "starboard"))]


def critical(name: str, *feeds: str) -> Table:
    return circuit(name, critical=True, feeds=list(feeds))


@pytest.mark.parametrize(
    ("left", "right", "about"),
    [
        (["port"], ["starboard"], ["battery"]),  # one main fuse before both
        (["port"], ["battery"], ["battery"]),
        (["port"], ["port"], ["port"]),
        (["port"], ["house"], []),
        (["port", "house"], ["starboard"], ["battery"]),
        (["port", "starboard"], ["port"], ["battery", "port"]),
    ],
)
def test_critical_circuits_on_branches_of_one_feed_share_its_main_fuse(
    left: list[str], right: list[str], about: list[str]
):
    circuits = critical("left", *left), critical("right", *right), critical("other", "house")
    found = told("critical-share-feed", *circuits[:2], feeds=[*TREE, feed("house")])
    assert [name for name, _ in found] == about
    bound = told("critical-share-feed", *circuits[:2], feeds=[*TREE, feed("house")], rules=apart("feed"))
    assert [name for name, _ in bound] == [name for name in about if name == "battery"]


@pytest.mark.parametrize(
    ("left", "right", "about"),
    [
        ("fore", "aft", "port"),  # their own fuses do not part them, and that of port stands before both
        ("fore", "starboard", "battery"),
        ("fore", "battery", "battery"),
        ("fore", "port", "port"),
    ],
)
def test_critical_circuits_on_branches_of_a_branch_share_the_last_feed_before_both(left: str, right: str, about: str):
    deep = [feed(name, source="port", rating="10 A", fuse_format="C") for name in ("fore", "aft")]
    found = told("critical-share-feed", critical("left", left), critical("right", right), feeds=[*TREE, *deep])
    assert [name for name, _ in found] == [about]


def test_those_on_branches_are_told_to_ask_for_other_sources():
    circuits = critical("left", "port"), critical("right", "starboard"), critical("third", "house")
    ((_, text),) = told("critical-share-feed", *circuits, feeds=[*TREE, feed("house")])
    assert text == (
        "critical circuits left, right may all stand on feed battery and its branches: its one fault would stop them "
        "together; ask for feeds of other sources where they must survive each other"
    )


def wants(name: str, rating: int, **fields: str):
    return circuit(name, fuse_rating=f"{rating} A", fuse_format="E" if rating > 40 else "C", **fields)


def test_a_branch_is_not_selective_above_its_feed_over_1_6():
    """80 A over 50 A is 1.6, and enough; 70 A is not."""
    assert told("branch-not-selective", wants("pump", 50), feeds=[feed(rating="80 A")]) == []
    ((about, text),) = told("branch-not-selective", wants("pump", 50), feeds=[feed(rating="70 A")])
    assert about == "battery" and "a fault on pump may open the 70 A fuse of feed battery" in text
    assert "of up to 50 A: 1.6 x the branch" in text


def test_every_feed_is_told_with_the_branches_on_it_that_are_near():
    on_house = [wants("pump", 40) | {"feeds": ["house"]}, wants("fan", 35) | {"feeds": ["house"]}]
    found = told(
        "branch-not-selective",
        wants("horn", 40),
        wants("radio", 25),
        *on_house,
        feeds=[feed(), feed("house", rating="50 A"), feed("roof", rating="30 A")],
    )
    assert [about for about, _ in found] == ["battery", "house"]
    assert "a fault on horn may" in found[0][1] and "of up to 40 A" in found[0][1]
    assert "a fault on fan, pump may open the 50 A fuse of feed house" in found[1][1]


def test_the_smallest_fuse_that_a_circuit_may_get_counts_and_of_a_branch_its_own():
    """23 A take 40 A of type C or E, or 35 A of type C; a feed of 30 A hangs on one of 45 A."""
    assert told("branch-not-selective", circuit(load="23 A"), feeds=[feed(rating="60 A")]) == []
    ((_, text),) = told("branch-not-selective", feeds=[feed(rating="45 A"), BRANCH])
    assert "a fault on branch may open the 45 A fuse" in text


def test_a_cable_is_unproven_where_the_short_circuit_opens_no_gate_of_the_fuse_before_it():
    """Type E within 5 s, by the gate of six times the rating: 360 A for 60 A, 180 A for the branch of 30 A."""
    feeds = [feed(), BRANCH]

    def names(**supply):
        tables = {"feeds": feeds, "catalogue": MAXI_MAIN, "supply": supply}
        return [about for about, _ in told("cable-withstand-unproven", circuit(feeds=["branch"]), **tables)]

    assert names(fault_current="360 A") == []
    assert names(fault_current="359 A") == ["battery"]
    assert names(fault_current="179 A") == ["battery, branch"]


def test_the_fuse_of_a_tail_may_be_the_unproven_one():
    """A tail fuse of 20 A type F opens within 5 s at twice its rating; the main fuse of 60 A needs 360 A."""
    root = feed("house", tail_fuse="20 A")
    holder = {"holders": [part("holder", fuse_format="F", limit="30 A")]}
    strip_main = part("main", fuse_format="SF51", limit="500 A", stud="M8", stack=4)
    ((about, text),) = told("cable-withstand-unproven", feeds=[feed(), root], catalogue=MAXI_MAIN | holder,
                            supply={"fault_current": "39 A"})  # fmt: skip
    assert about == "battery, house" and "fuses (type E) before" in text
    ((_, text),) = told("cable-withstand-unproven", feeds=[feed(), root], catalogue={"main_holders": [strip_main]})
    assert "(type SF51) before the cables or tails of feeds battery, house let" in text


def test_every_type_of_the_unproven_fuses_is_told():
    holders = {
        "main_holders": [*MAXI_MAIN["main_holders"], part("strong", fuse_format="SF51", limit="500 A", stud="M8")]
    }
    feeds = [feed("large", rating="100 A"), feed(main_fuse_distance="0 m")]
    ((about, text),) = told(
        "cable-withstand-unproven", feeds=feeds, catalogue=holders, supply={"fault_current": "359 A"}
    )
    assert about == "large, battery" and "fuses (type E, SF51) before" in text


def test_cautions_of_feeds_go_by_the_vehicle_s_own_figures():
    gate, curve = (
        {"fuse_gates": {"E": {"600 %": {"earliest": "0.04 s", "latest": "6 s"}}}},
        {"fuse_share": {"E": {"65 degC": "79 %"}}},
    )
    for rule, own, tables in (
        ("cable-withstand-unproven", gate, {"feeds": [feed()], "catalogue": MAXI_MAIN}),
        ("feed-fuse-hot", curve, {"feeds": [feed(), BRANCH], "panels": [panel(ambient="60 degC")]}),
    ):
        assert [len(told(rule, rules=rules, **tables)) for rules in ({}, {"figures": own})] == [0, 1]


def test_a_main_fuse_is_far_above_seven_inches_and_forty_where_it_is_sheathed():
    """33 CFR 183.455(b): 7 in are 0.1778 m, 40 in are 1.016 m."""
    placed = {"near": "0.1778 m", "far": "0.1779 m"}
    sheathed = {"near-too": "1.016 m", "far-too": "1.0161 m"}
    found = told(
        "main-fuse-far",
        feeds=[
            feed(),
            *(feed(name, main_fuse_distance=there) for name, there in placed.items()),
            *(feed(name, main_fuse_distance=there, main_fuse_sheathed=True) for name, there in sheathed.items()),
        ],
    )
    assert [about for about, _ in found] == ["far", "far-too"]
    assert "up to 0.178 m from it (33 CFR 183.455(b)(1)" in found[0][1]
    assert "up to 1.02 m from it (33 CFR 183.455(b)(2)" in found[1][1]


def test_root_feeds_without_a_place_of_their_main_fuse_are_named_and_branches_are_not():
    feeds = [feed(), feed("placed", main_fuse_distance="0 m"), feed("house"), BRANCH]
    ((about, text),) = told("main-fuse-unplaced", feeds=feeds)
    assert about == "battery, house" and text.startswith("how far the main fuses of battery, house are from the source")
    assert "within 0.178 m along the wire, 1.02 m if it is sheathed" in text
    assert text.endswith(" all the way; no lead to them is ordered")


def test_modules_that_a_feed_cannot_enter_are_named_if_a_need_of_it_could_stand_there():
    """Strips of 80 A before which no tail fuse can be, a feed of 100 A; type F is not wanted, house has only 50 A."""
    feeds = [feed(rating="100 A"), feed("house", rating="50 A")]
    on_battery, on_house = circuit(fuse_format="C"), circuit("radio", feeds=["house"])
    found = told("inlet-below-protection", on_battery, on_house, feeds=feeds, catalogue={"holders": []})
    ((about, text),) = found
    assert about == "battery" and "is kept out of row-c, single-c: it is protected at 100 A" in text


def test_every_own_fuse_that_is_too_hot_is_told():
    """Loaded to 80 %; above 65 degC a type E fuse carries 75 % and a type C fuse 66 %, below it E carries 85 %."""
    key = BRANCH | {"name": "key", "relay_class": "heavy", "control": "lamp", "home": "hot"}
    blade = BRANCH | {"name": "blade", "fuse_format": "C", "home": "hot"}
    cool = BRANCH | {"name": "cool", "home": "cabin"}
    late = feed("late", source="battery", rating="20 A", relay_class="heavy", control="lamp", home="hot")
    feeds = [feed(rating="100 A"), late, cool, key, blade]
    found = told("feed-fuse-hot", feeds=feeds, panels=[panel(), panel("hot", ambient="70 degC")])
    assert [about for about, _ in found] == ["key", "blade"]
    assert "loaded to 80% of 30 A, and a type E fuse carries 75% at 70 °C" in found[0][1]
    assert "a type C fuse carries 66% at 70 °C" in found[1][1]


def test_an_own_fuse_may_be_loaded_to_what_its_curve_allows():
    tables = {"feeds": [feed(), BRANCH], "panels": [panel(ambient="70 degC")]}
    assert told("feed-fuse-hot", rules={"feed_loading": "75 %"}, **tables) == []
    assert len(told("feed-fuse-hot", rules={"feed_loading": "75.1 %"}, **tables)) == 1


def test_every_relay_of_a_feed_that_closes_onto_lamps_or_motors_is_told_with_them():
    key = BRANCH | {"name": "key", "relay_class": "heavy", "control": "switch"}
    late = feed("late", source="battery", rating="20 A", relay_class="heavy", control="switch")
    found = told(
        "feed-relay-inrush",
        circuit("switch", **LAMP),
        circuit("fused", feeds=["branch"], **LAMP),
        circuit("heater", feeds=["key"]),
        circuit("fan", feeds=["key"], **MOTOR),
        circuit("beam", feeds=["key", "late"], **LAMP),
        feeds=[feed(rating="100 A"), BRANCH, key, late],
    )
    assert [about for about, _ in found] == ["key", "late"]
    assert "if beam, fan are switched on when it closes" in found[0][1] and "if beam are switched" in found[1][1]
    assert found[0][1].endswith("when it closes, their inrush goes through its contact")


def test_what_hangs_on_a_branch_of_a_relay_s_feed_is_closed_onto_as_well():
    """A feed behind the relay, one behind that, and one beside it."""
    relayed = feed("key", source="battery", rating="40 A", fuse_format="E", relay_class="heavy", control="switch")
    behind = [BRANCH | {"name": name, "source": source} for name, source in (("one", "key"), ("two", "one"))]
    found = told(
        "feed-relay-inrush",
        circuit("switch"),
        circuit("beam", feeds=["one"], **LAMP),
        circuit("fan", feeds=["two"], **MOTOR),
        circuit("horn", feeds=["branch"], **LAMP),
        circuit("heater", feeds=["two"]),
        feeds=[feed(rating="100 A"), relayed, *behind, BRANCH],
    )
    ((about, text),) = found
    assert about == "key" and "if beam, fan are switched on when it closes" in text


def test_contacts_are_held_against_the_fuse_next_before_them():
    """That of the way, that of the branch, or that before the feed where the branch has a relay alone."""
    small = {"relays": [relay("small", "heavy", resistive="50 A"), relay("micro", "micro", resistive="15 A")]}
    behind = circuit("pump", feeds=["key"])

    def about(load: Table, **fields: str) -> list[str]:
        branch = feed("key", source="battery", relay_class="heavy", control="switch", **fields)
        tables = {"feeds": [feed(rating="60 A"), branch], "catalogue": small}
        return [text for _, text in told("relay-below-fuse", load, behind, circuit("switch"), **tables)]

    plain = circuit("horn", fuse_rating="15 A", fuse_format="C")
    assert about(plain, rating="50 A", fuse_format="E") == []
    (text,) = about(plain, rating="40 A")
    assert "next before them: feed key (50 A behind 60 A); an overload" in text
    (text,) = about(plain | {"switching": "relay", "fuse_rating": "20 A"}, rating="60 A", fuse_format="E")
    assert "next before them: horn (15 A behind 20 A), feed key (50 A behind 60 A); an overload" in text
