"""What a feed that branches from another takes in the panel, compared whole: fuse, relay, terminals, wires, reasons."""

from __future__ import annotations

from typing import Any

from allocator.sizing.sized import Cut, InlineFuse, Need, Option, Reason
from tests.sizing.vehicles import AREAS, catalogue_table, circuit, feed, panel, relay, sized, terminal, wire

BLADE = circuit(fuse_format="C")
ROOT = feed(rating="40 A")
FUSED = {"source": "battery", "rating": "30 A", "fuse_format": "E"}
LATE = {"source": "battery", "rating": "20 A", "relay_class": "heavy", "control": "lamp"}
HEAVY_TABS = {"30": "tab-9.5-6", "87": "tab-9.5-6"}
COIL_TABS = {"85": "tab-6.3-1.5", "86": "tab-6.3-1.5"}


def branch(*circuits: Any, root: Any = ROOT, **fields: Any) -> Need:
    tables = {name: fields.pop(name) for name in ("panels", "catalogue", "rules") if name in fields}
    return sized(*circuits or (BLADE,), feeds=[root, feed("key", **fields)], **tables).need_by_id["key"]


def only(found: Need) -> Option:
    (option,) = found.options
    return option


def test_a_branch_with_a_fuse():
    """33 CFR 183.425 at 105 degC: 14 AWG, as which 2.5 mm2 is read, carries 35 A."""
    found = branch(**FUSED, label="Key")
    assert (found.kind, found.label, found.feeds, found.supplies) == ("feed", "Key", ("battery",), "key")
    assert (found.load_ma_by_case, found.takes_way, found.takes_socket) == ((0,), True, False)
    assert only(found) == Option(
        "cabin", "E", None, "E30", 30.0, None, "w2.5", 35.0, None, 1, {"E30": 1, "tab-9.5-6": 1}, (),
        {"way": "tab-9.5-6"},
        (
            Reason("current", "feed of 30 A, loaded up to 24 A"),
            Reason("fuse", "E30: the rating of the feed"),
            Reason("wire", "w2.5 carries 35 A on its own behind 30 A"),
            Reason("terminal", "way tab-9.5-6"),
        ),
    )  # fmt: skip


def test_a_branch_with_a_fuse_and_a_relay_whose_coil_hangs_on_that_fuse():
    """30 A are too much for a lead of 2.5 mm2 in a bundle, so it has a fuse of its own; 14 V / 60 ohm are 234 mA."""
    found = branch(**FUSED, relay_class="heavy")
    assert (found.label, found.load_ma_by_case, found.takes_way, found.takes_socket) == ("key", (234,), True, True)
    assert only(found) == Option(
        "cabin", "E", "heavy", "E30", 30.0, "heavy", "w2.5", 35.0, "w2.5", 5,
        {"E30": 1, "F2": 1, "heavy": 1, "holder": 1, "tab-6.3-1.5": 2, "tab-9.5-6": 3},
        (Cut("w1", 0, "85", "switch to earth"), Cut("w1", 100, "86", "own fuse way")),
        {"way": "tab-9.5-6"} | HEAVY_TABS | COIL_TABS,
        (
            Reason("current", "feed of 30 A, loaded up to 24 A"),
            Reason("fuse", "E30: the rating of the feed"),
            Reason("relay", "heavy: its contact carries 70 A for a load up to 24 A"),
            Reason("surge", "coil: suppressed inside the relay; 86 is positive"),
            Reason("wire", "w2.5 carries 35 A on its own behind 30 A"),
            Reason("terminal", "way tab-9.5-6, 30 tab-9.5-6, 87 tab-9.5-6, 85 tab-6.3-1.5, 86 tab-6.3-1.5"),
        ),
        InlineFuse("F2", "holder"),
    )  # fmt: skip


def test_a_branch_with_a_relay_alone():
    """Its cable bears the 40 A before it; its coil hangs on the 7.5 A of the circuit that controls it."""
    found = branch(**LATE)
    assert (found.load_ma_by_case, found.takes_way, found.takes_socket) == ((0,), False, True)
    wide = "tab-9.5-25"
    assert only(found) == Option(
        "cabin", None, "heavy", None, 0.0, "heavy", "w4", 45.0, None, 4,
        {"heavy": 1, "tab-6.3-1.5": 2, wide: 2},
        (Cut("w1", 0, "85", "earth"), Cut("w1", 3000, "86", "switched side of lamp")),
        {"30": wide, "87": wide} | COIL_TABS,
        (
            Reason("current", "feed of 20 A, loaded up to 16 A"),
            Reason("relay", "heavy: its contact carries 70 A for a load up to 16 A"),
            Reason("surge", "coil: suppressed inside the relay; 86 is positive"),
            Reason("wire", "w4 carries 45 A on its own behind 40 A"),
            Reason("terminal", f"30 {wide}, 87 {wide}, 85 tab-6.3-1.5, 86 tab-6.3-1.5"),
        ),
    )  # fmt: skip


def test_the_tail_of_its_source_ends_at_the_relay_and_its_own_cable_begins_there():
    """Behind a tail fuse of 20 A a branch is of 1.5 mm2, which a tab of 9.5 mm takes up to 60 A."""
    found = only(branch(**LATE, root=feed(rating="100 A", tail_fuse="20 A")))
    assert (found.wire, found.wire_limit_a) == ("w1.5", 25)
    assert {found.terminal_by_designation[place] for place in ("30", "87")} == {"tab-9.5-6"}
    assert found.reasons[3].text == "w1.5 carries 25 A on its own behind 20 A"


def test_the_jumper_bears_the_fuse_where_the_relay_is_and_the_cable_where_it_is_hottest():
    """sqrt(45 / 75) at 60 degC, rounded down to 0.77: 2.5 mm2 carry 26.95 A, 4 mm2 34.65 A."""
    two = [panel(), panel("hot", ambient="60 degC")]
    fields = FUSED | {"relay_class": "heavy", "control": "lamp"}
    found = [only(branch(**fields, home=home, panels=two)) for home in ("cabin", "hot")]
    assert [(item.panel, item.jumper_wire, item.wire, item.wire_limit_a) for item in found] == [
        ("cabin", "w2.5", "w4", 34.65),
        ("hot", "w4", "w4", 34.65),
    ]


def test_the_jumper_outlives_a_short_circuit_and_fits_way_and_socket():
    """20 A of type E let 14,400 A2s by, too much for 1 mm2 of 20 A; where no tab takes 1.5 mm2 it is of 2.5 mm2."""
    fields = FUSED | {"rating": "20 A", "relay_class": "heavy", "control": "lamp"}
    assert only(branch(**fields)).jumper_wire == "w1.5"
    tabs = [item for item in catalogue_table()["terminals"] if item["id"] != "tab-9.5-6"]
    wide = {"terminals": [*tabs, terminal("tab", 9.5, 2.5, 6, 60)]}
    assert only(branch(**fields, catalogue=wide)).jumper_wire == "w2.5"


def test_a_terminal_carries_the_protection_of_the_branch():
    """60 A and no more at the cheaper terminal of 9.5 mm."""
    tabs = [item | ({"price": "0.50"} if item["id"] == "tab-9.5-6" else {}) for item in catalogue_table()["terminals"]]
    found = [
        only(branch(**FUSED | {"rating": f"{amps} A"}, root=feed(rating="200 A"), catalogue={"terminals": tabs}))
        for amps in (60, 70)
    ]
    assert [item.terminal_by_designation["way"] for item in found] == ["tab-9.5-6", "tab-9.5-25"]


def test_the_relay_is_the_cheapest_that_carries_what_may_be_on_the_branch():
    """80 % of 30 A are 24 A; what is behind it is mixed, so that its rating for resistive loads counts."""
    weak = relay("weak", "heavy", resistive="23.9 A", price="0.50")
    fair = relay("fair", "heavy", resistive="24 A", lamp="1 A", motor="1 A", inductive="1 A", price="0.60")
    offered = {"relays": [*catalogue_table()["relays"], weak, fair]}
    fields = FUSED | {"relay_class": "heavy", "control": "lamp"}
    assert only(branch(**fields, catalogue=offered)).relay == "fair"
    assert only(branch(**fields, catalogue=offered, rules={"feed_loading": "81 %"})).relay == "heavy"


def test_a_branch_is_of_wire_that_its_own_relay_takes_at_87():
    """Nothing thinner than 10 mm2 is on offer, which a tab of 9.5 mm takes and one of 6.3 mm does not."""
    thick = {"wires": [wire(1), *(wire(area) for area in AREAS if area >= 10)]}
    assert only(branch(**LATE, catalogue=thick)).wire == "w10"
