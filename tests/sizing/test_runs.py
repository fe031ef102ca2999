"""What is said of the wire of a run, compared whole for each test that may decide; and its lengths, drop and edges."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.sizing.sized import Option
from tests.sizing.vehicles import AREAS, Table, catalogue_table, circuit, option, part, reason, wire

SMALL_CRAFT = {"rules": {"fuse_over_wire": "small-craft-150"}}
WIDE_TABS = [item for item in catalogue_table()["terminals"] if item["id"] != "tab-6.3-1.5"]
SHORT = "0.5 m"

# By hand: k of copper from 105 to 160 degC is 87.57, and a wire stands the square of k times its area. Type C opens
# at twice its rating within 5 s, which lets more by than six times for 0.15 s; type E at six times within 1 s. A load
# of I warms a wire by 75 K x sqrt(I / what it may carry).
CASES: dict[str, tuple[Table, dict[str, Any], str]] = {
    "out and back": (
        circuit(load="7 A", length="3 m", return_length="1 m"),
        {},
        "w1 carries 14 A in bundle (70%) at 30 °C for a fuse of 10 A, and loses 0.681 V of 1.2 V over 4 m; in a short "
        "circuit it stands 7669 A²s of the 2000 A²s that the fuse lets by; ampacity decides: w0.75 is below the "
        "ampacity table",
    ),
    "wanted": (
        circuit(wire="2.5 mm2"),
        {},
        "w2.5 carries 24.5 A in bundle (70%) at 30 °C for a fuse of 7.5 A, and loses 0.14 V of 1.2 V over 3 m; in a "
        "short circuit it stands 47930 A²s of the 1125 A²s that the fuse lets by; wanted",
    ),
    "ampacity": (
        circuit(load="11 A", length=SHORT),
        {},
        "w1.5 carries 17.5 A in bundle (70%) at 30 °C for a fuse of 15 A, and loses 0.0931 V of 1.2 V over 0.5 m; in a "
        "short circuit it stands 17255 A²s of the 4500 A²s that the fuse lets by; ampacity decides: w1 carries 14 A",
    ),
    "thinnest": (
        circuit(load="7 A"),
        {"catalogue": {"wires": [wire(area) for area in AREAS if area >= 1]}},
        "w1 carries 14 A in bundle (70%) at 30 °C for a fuse of 10 A, and loses 0.511 V of 1.2 V over 3 m; in a short "
        "circuit it stands 7669 A²s of the 2000 A²s that the fuse lets by; the thinnest on offer",
    ),
    "withstand": (
        circuit(load="11 A", fuse_format="E", length=SHORT),
        {"rules": {"bundle_factor": "100 %"}},
        "w1.5 carries 25 A in bundle (100%) at 30 °C for a fuse of 20 A, and loses 0.0903 V of 1.2 V over 0.5 m; in a "
        "short circuit it stands 17255 A²s of the 14400 A²s that the fuse lets by; short circuit decides: w1 is "
        "thinner than 1.37 mm2",
    ),
    "drop": (
        circuit(critical=True, length="6 m"),
        {},
        "w2.5 carries 24.5 A in bundle (70%) at 30 °C for a fuse of 7.5 A, and loses 0.281 V of 0.36 V over 6 m; in a "
        "short circuit it stands 47930 A²s of the 1125 A²s that the fuse lets by; drop decides: w1.5 loses 0.478 V",
    ),
    "small craft": (
        circuit(load="11 A", length=SHORT),
        SMALL_CRAFT,
        "w1 carries 14 A in bundle (70%) at 30 °C for a fuse of 15 A, and loses 0.139 V of 1.2 V over 0.5 m; the fuse "
        "stands above its wire by the small-craft rule; in a short circuit it stands 7669 A²s of the 4500 A²s that the "
        "fuse lets by; ampacity decides: w0.75 is below the ampacity table",
    ),
    "terminals": (
        circuit(),
        {"catalogue": {"terminals": WIDE_TABS}},
        "w1.5 carries 17.5 A in bundle (70%) at 30 °C for a fuse of 7.5 A, and loses 0.239 V of 1.2 V over 3 m; in a "
        "short circuit it stands 17255 A²s of the 1125 A²s that the fuse lets by; terminals decide: none on offer "
        "takes w1",
    ),
    "nothing known of the fuse": (
        circuit(),
        {"supply": {"fault_current": "14 A"}},
        "w1 carries 14 A in bundle (70%) at 30 °C for a fuse of 7.5 A, and loses 0.356 V of 1.2 V over 3 m; ampacity "
        "decides: w0.75 is below the ampacity table",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_is_said_of_a_wire(name: str) -> None:
    item, tables, text = CASES[name]
    assert reason(option(item, fuse_format=item.get("fuse_format", "C"), **tables), "wire") == text


def test_a_fuse_of_just_what_its_wire_carries_is_not_called_above_it():
    """In a bundle of four 60 % are left: of 1.5 mm2 15 A, of 1 mm2 12 A."""
    exact = option(circuit(load="11 A", length=SHORT, bundle=4), **SMALL_CRAFT)
    assert exact.fuse_rating_a == 15 and "small-craft" in reason(exact, "wire") and exact.wire == "w1"
    plain = option(circuit(load="11 A", length=SHORT, bundle=4))
    assert (plain.wire, plain.wire_limit_a) == ("w1.5", 15) and "small-craft" not in reason(plain, "wire")


def test_by_the_small_craft_rule_a_wire_still_carries_its_whole_load():
    """1 mm2 in a bundle 14 A: for 14 A it does, for 1 mA more not, though 150 % are 21 A behind 20 A."""
    weak = {"supply": {"fault_current": "39 A"}}  # which proves no wire too thin
    for load, taken in (("14 A", "w1"), ("14.001 A", "w1.5")):
        found = option(circuit(load=load, length=SHORT), **SMALL_CRAFT, **weak)
        assert (found.fuse_rating_a, found.wire) == (20, taken)


def far_end(found: Option) -> str:
    return reason(found, "fault").partition("at the far end about ")[2].partition(" A,")[0]


def test_a_short_circuit_at_the_far_end_goes_out_and_comes_back():
    """12 V / (12 V / 1000 A + 4 m x 19.5 mohm/m x 1.334) = 103 A; over 3 m alone 133 A."""
    assert far_end(option(circuit(length="3 m", return_length="1 m"))) == "103"
    assert far_end(option(circuit(length="3 m"))) == "133"
    twice = {"figures": {"metric_resistance": {"1 mm2": "39 mohm/m"}}}  # 71.4 A
    assert far_end(option(circuit(length="3 m"), rules=twice)) == "71.4"


def test_a_drop_goes_by_the_vehicle_s_own_copper():
    """1.5 m of 1 mm2 at 5 A lose 0.178 V, of copper with twice that resistance 0.356 V."""
    twice = {"figures": {"metric_resistance": {"1 mm2": "39 mohm/m"}}}
    said = [reason(option(circuit(length="1.5 m"), rules=rules), "wire") for rules in ({}, twice)]
    assert ["loses 0.178 V of" in said[0], "loses 0.356 V of" in said[1]] == [True, True]


def test_what_is_kept_for_the_feed_lowers_the_limit_of_the_run():
    found = option(circuit(length=SHORT), rules={"upstream_drop": "30 %"})
    assert "V of 0.84 V over" in reason(found, "wire")  # 10 % of 12 V, of which 70 % are left


@pytest.mark.parametrize(
    ("wanted", "area", "taken"), [("1.5 mm2", "1.5009 mm2", True), ("1.5 mm2", "1.502 mm2", False)]
)
def test_a_wanted_area_is_that_of_a_wire_to_a_thousandth(wanted: str, area: str, taken: bool) -> None:
    wires = {"wires": [wire(50), part("near", area=area)]}
    given = {"catalogue": wires}
    found = circuit(load="7 A", wire=wanted, fuse_format="C")
    if taken:
        assert option(found, **given).wire == "near"
    else:
        with pytest.raises(Exception, match="wanted-wire-not-offered"):
            option(found, **given)


def test_a_wanted_wire_that_is_on_offer_twice_is_the_first_that_does():
    """Of 1.5 mm2 one for 60 degC, too weak in the bundle, and a dearer one for 105 degC."""
    two = {"wires": [part("cool", area="1.5 mm2", insulation="60 degC"), wire(1.5) | {"price": "2.00"}, wire(50)]}
    found = option(circuit(load="11 A", wire="1.5 mm2", length=SHORT), catalogue=two)
    assert found.wire == "w1.5" and "ampacity decides: cool carries 10.5 A" in reason(found, "wire")
