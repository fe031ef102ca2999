"""What the catalogue offers to a vehicle: which fuses, wires and terminals may be taken, and in which order."""

from __future__ import annotations

import pytest

from allocator.sizing.offer import Offer
from tests.sizing.vehicles import (
    Table,
    catalogue_table,
    circuit,
    faults,
    fuse,
    option,
    part,
    requirements,
    row,
    terminal,
)

NET_24 = {"nominal_voltage": "24 V", "minimum_voltage": "22 V"}
METRIC, TERMINALS = catalogue_table()["wires"], catalogue_table()["terminals"]


def offer(**tables: Table) -> Offer:
    return Offer(requirements(circuit(), **tables))


@pytest.mark.parametrize(
    ("operating", "maximum_v", "suits"), [("28 V", 32, True), ("32 V", 32, True), ("33 V", 33, False)]
)
def test_a_fuse_suits_the_class_of_the_net_and_what_it_is_operated_at(
    operating: str, maximum_v: float, suits: bool
) -> None:
    """ISO 16750-2: up to 32 V in a net of 24 V; where more is stated, that."""
    net = NET_24 | {"operating_voltage": operating}
    assert offer(vehicle=net).maximum_v == maximum_v
    assert (faults(circuit(), vehicle=net) == ()) == suits


def test_a_fuse_breaks_just_what_flows():
    assert faults(circuit(), supply={"fault_current": "1000 A"}) == ()
    (fault,) = faults(circuit(), supply={"fault_current": "1000.1 A"})
    assert fault.rule == "no-fuse-for-net"


def test_formats_come_by_their_letters_and_classes_by_size():
    """Whatever the order of the modules; a format or a class that no module takes is none."""
    found = offer(catalogue={"modules": list(reversed(catalogue_table()["modules"]))})
    assert (found.formats, found.socket_classes) == (("C", "E", "F"), ("micro", "standard", "heavy"))
    some = [part("f", rows=[row("F", tab=2.8)]), part("s", sockets=[{"relay_class": "heavy", "count": 1}])]
    found = offer(catalogue={"modules": some})
    assert (found.formats, found.socket_classes, found.tab_by_format) == (("F",), ("heavy",), {"F": 2.8})
    assert (found.has_fuses("F"), found.has_fuses("A")) == (True, False)


def test_fuses_come_by_rating_then_price_then_id():
    more = [
        fuse("C", 7.5) | {"id": "z-cheap", "price": "0.10"},
        fuse("C", 7.5) | {"id": "a-cheap", "price": "0.10"},
        fuse("C", 2.5),
    ]
    found = [item.id for item in offer(catalogue={"fuses": catalogue_table()["fuses"] + more}).fuses("C")]
    assert found[:9] == ["C1", "C2", "C2.5", "C3", "C4", "C5", "a-cheap", "z-cheap", "C7.5"]


def test_of_wires_of_one_area_the_cheapest_is_taken_and_then_the_first_by_id():
    def taken(*more: Table) -> str:
        return str(option(circuit(), catalogue={"wires": [*METRIC, *more]}).wire)

    assert taken() == "w1"
    assert taken(part("z", area="1 mm2") | {"price": "0.50"}) == "z"
    assert taken(part("a", area="1 mm2")) == "a"


def test_only_wires_of_the_wanted_system_are_offered():
    wires = {"wires": [*METRIC, part("g16", area="16 AWG"), part("g14", area="14 AWG")]}

    def ids(system: str) -> list[str]:
        return [item.part.id for item in offer(catalogue=wires, rules={"wire_system": system}).wires(30, bundled=True)]

    assert ids("awg") == ["g16", "g14"] and ids("metric") == [item["id"] for item in METRIC]
    assert ids("any")[1:6] == ["w1", "g16", "w1.5", "g14", "w2.5"]


def test_a_wire_carries_less_in_a_bundle_and_where_it_is_hot():
    """33 CFR 183.425: 16 AWG at 105 degC, which 1.5 mm2 is read as, 25 A; x sqrt(45 / 75) rounded down, x 70 %."""
    found = offer()

    def carries(ambient_c: float, bundled: bool) -> int:
        return next(item.limit_ma for item in found.wires(ambient_c, bundled=bundled) if item.part.id == "w1.5")

    assert [carries(30, False), carries(30, True), carries(60, False), carries(60, True)] == [
        25_000,
        17_500,
        19_250,
        13_475,
    ]


@pytest.mark.parametrize(("area", "takes"), [(0.49, False), (0.5, True), (1.5, True), (1.51, False)])
def test_a_terminal_takes_its_range_of_wires_ends_included(area: float, takes: bool) -> None:
    one = [terminal("tab", 6.3, 0.5, 1.5, 20)]
    found = offer(catalogue={"terminals": one, "wires": [part("w", area=f"{area} mm2")]})
    (wire,) = found.catalogue.wires
    assert bool(found.terminals("tab", 6.3, wire)) == takes
    assert found.terminals("tab", 4.8, wire) == found.terminals("inlet", 6.3, wire) == []


def test_of_terminals_that_carry_enough_the_cheapest_and_of_those_the_strongest_is_taken():
    def taken(current_ma: int, *more: Table) -> str | None:
        found = offer(catalogue={"terminals": [terminal("tab", 6.3, 0.5, 2.5, 20) | {"id": "plain"}, *more]})
        wire = next(item for item in found.catalogue.wires if item.id == "w1")
        best = found.terminal("tab", 6.3, wire, current_ma)
        return None if best is None else best.id

    cheap = terminal("tab", 6.3, 0.5, 2.5, 10) | {"id": "cheap", "price": "0.50"}
    strong = terminal("tab", 6.3, 0.5, 2.5, 30) | {"id": "strong"}
    assert (taken(10_000, cheap), taken(10_001, cheap)) == ("cheap", "plain")
    assert (taken(20_000), taken(20_001), taken(20_000, strong)) == ("plain", None, "strong")
    assert taken(20_000, strong, strong | {"id": "also"}) == "also"


def test_a_ring_is_chosen_by_its_stud():
    rings = [terminal("ring", "M6", 1, 50, 250), terminal("ring", "M8", 1, 50, 250), terminal("tab", 6.3, 0.5, 6, 40)]
    found = offer(catalogue={"terminals": rings})
    wire = next(item for item in found.catalogue.wires if item.id == "w6")
    assert [item.id for item in found.terminals("ring", "M6", wire)] == ["ring-M6-50"]


def test_insulation_of_which_nothing_is_known_outlives_no_short_circuit():
    """The least class with an end temperature by BS 7671 is that of 60 degC."""
    found = offer(catalogue={"wires": [part(f"w{c}", area="50 mm2", insulation=f"{c} degC") for c in (55, 60)]})
    small = next(item for item in found.fuses("C") if item.rating == 1)
    assert [found.outlives(wire, small) for wire in found.catalogue.wires] == [False, True]


def test_what_a_fuse_lets_by_is_that_of_the_short_circuit_given_else_of_one_at_the_panel():
    """Type E of 20 A: 120 A open it within 1 s, 14,400 A2s; at less than six times nothing within 5 s is known."""
    found = offer(supply={"fault_current": "119 A", "source_fault_current": "120 A"})
    maxi = next(item for item in found.fuses("E") if item.rating == 20)
    assert (found.let_through_a2s(maxi), found.let_through_a2s(maxi, found.source_fault_a)) == (0, 14_400)
    wire = next(item for item in found.catalogue.wires if item.id == "w1")
    assert (found.outlives(wire, maxi), found.outlives(wire, maxi, 120)) == (True, False)
    assert found.fault_area_mm2(maxi, 105) == 0
    assert offer(supply={"fault_current": "119 A"}).source_fault_a == 119
