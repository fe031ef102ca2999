"""Relay classes, sockets, jumpers and coil leads."""

from __future__ import annotations

import pytest

from allocator.requirements.catalogue import Relay
from allocator.sizing.relays import contact_rating_a, strict_rating_a
from allocator.sizing.suppression import two_digits
from tests.sizing.vehicles import (
    catalogue_table,
    circuit,
    faults,
    feed,
    need,
    option,
    part,
    reason,
    relay,
    sized,
    terminal,
)


def classes(**fields):
    return [item.relay_class for item in need(circuit(fuse_format="E", switching="relay", **fields)).options]


@pytest.mark.parametrize(
    ("load_type", "amps"),
    [("resistive", 40), ("heater", 40), ("filament-lamp", 23), ("led", 23), ("electronics", 23), ("motor", 24),
     ("inductive", 20)],
)  # fmt: skip
def test_contact_rating_by_kind_of_load(load_type, amps):
    assert contact_rating_a(Relay.model_validate(relay("r", "standard")), load_type) == amps


def test_a_changeover_contact_counts_with_its_weaker_side():
    changeover = Relay.model_validate(relay("r", "standard", "changeover", break_share="75 %"))
    assert contact_rating_a(changeover, "motor") == 18


def test_every_class_that_switches_the_load_is_an_option():
    assert classes(load="15 A", load_type="motor") == ["micro", "standard", "heavy"]
    assert classes(load="15.01 A", load_type="motor") == ["standard", "heavy"]
    assert classes(load="15 A", load_type="resistive", relay_class="heavy") == ["heavy"]


def test_the_same_load_needs_a_larger_class_as_a_lamp():
    assert classes(load="14.5 A", load_type="resistive") == ["micro", "standard", "heavy"]
    assert classes(load="14.5 A", load_type="filament-lamp") == ["standard", "heavy"]


def test_what_a_circuit_controls_goes_through_its_own_contact():
    key = circuit("key", load="15 A", load_type="motor", switching="relay", fuse_format="E")
    pump = circuit("pump", switching="relay", relay_class="micro", control="key")
    assert [item.relay_class for item in need(key, pump).options] == ["standard", "heavy"]


def test_no_relay_for_the_load_is_a_fault_that_says_what_would_do():
    (fault,) = faults(circuit(load="45 A", load_type="motor", switching="relay"))
    assert fault.rule == "no-relay-large-enough"
    assert "standard switches 24 A" in fault.known and "heavy switches 44 A" in fault.known


def test_the_coil_voltage_must_be_that_of_the_net():
    net = {"nominal_voltage": "24 V", "operating_voltage": "28 V", "minimum_voltage": "22 V"}
    (fault,) = faults(circuit(switching="relay"), vehicle=net)
    assert fault.rule == "no-relay-for-net" and "24 V coil" in fault.message and "24 V coil" in fault.hint


def test_the_cheapest_relay_of_a_class_that_fits_is_taken():
    weak = relay("weak", "standard", motor="10 A", price="0.50")
    offered = {"relays": [*catalogue_table()["relays"], weak]}
    wanted = {"load_type": "motor", "switching": "relay", "relay_class": "standard"}
    assert option(circuit(load="9 A", **wanted), catalogue=offered).relay == "weak"
    assert option(circuit(load="11 A", **wanted), catalogue=offered).relay == "standard"


def test_terminals_of_a_relay_option():
    found = option(circuit(load="11 A", length="0.5 m", switching="relay", relay_class="micro"))
    assert found.fuse_rating_a == 15
    # Jumper of 1 mm2 (20 A, no bundle), run of 1.5 mm2 (17.5 A in bundle), coil leads of 1.5 mm2 behind the same fuse.
    assert found.jumper_wire == "w1" and found.wire == "w1.5"
    assert found.terminal_by_designation == {
        "way": "tab-6.3-1.5",
        "30": "tab-6.3-1.5",
        "87": "tab-6.3-6",
        "85": "tab-4.8-2.5",
        "86": "tab-4.8-2.5",
    }
    assert found.cavities == 5
    assert found.parts == {"C15": 1, "micro": 1, "tab-6.3-1.5": 2, "tab-6.3-6": 1, "tab-4.8-2.5": 2}
    assert "15 A for resistive" not in reason(found, "relay") and "11 A of 25 A for resistive" in reason(found, "relay")


def test_the_jumper_is_no_part_of_the_wires_and_coil_leads_are():
    found = option(circuit(length="2 m", switching="relay", relay_class="micro"))
    cuts = [(cut.wire, cut.length_mm, cut.start, cut.end) for cut in found.wires]
    assert cuts == [
        ("w1", 2000, "87", "load"),
        ("w1", 0, "85", "switch to earth"),
        ("w1", 100, "86", "own fuse way"),
    ]


def test_the_coil_of_a_controlled_relay_hangs_behind_the_switch_of_its_control():
    """Not on the fuse way of the control, which is live whatever the switch does."""
    pump = circuit("pump", switching="relay", relay_class="micro", control="key")
    found = option(pump, circuit("key", load="1 A", length="1.7 m"))
    assert [(cut.length_mm, cut.start, cut.end) for cut in found.wires[1:]] == [
        (0, "85", "earth"),
        (1700, "86", "switched side of key"),
    ]


def test_a_changeover_takes_five_terminals_and_two_runs():
    found = option(circuit(switching="changeover"))
    assert set(found.terminal_by_designation) == {"way", "30", "87", "87a", "85", "86"} and found.cavities == 6
    assert [cut.start for cut in found.wires if cut.end == "load"] == ["87", "87a"]


def test_a_flasher_takes_49_49a_and_its_earth():
    found = option(circuit(switching="flasher", load_type="filament-lamp"))
    assert set(found.terminal_by_designation) == {"way", "49", "49a", "31"} and found.cavities == 4
    assert found.relay == "flasher"
    assert [(cut.start, cut.end) for cut in found.wires] == [("49a", "load"), ("31", "earth")]


def test_thick_coil_leads_give_way_to_an_in_line_fuse():
    found = option(circuit(load="30 A", switching="relay", relay_class="heavy", fuse_format="E"), fuse_format="E")
    assert found.fuse_rating_a == 50
    leads = {cut.wire for cut in found.wires if cut.start in ("85", "86")}
    assert leads == {"w1"} and found.parts["holder"] == 1 and found.parts["F2"] == 1
    assert "behind an in-line fuse of 2 A" in reason(found, "relay")


def test_without_a_holder_coil_leads_are_as_thick_as_the_fuse_asks():
    wanted = circuit(load="20 A", switching="relay", relay_class="standard")
    found = option(wanted, catalogue={"holders": [], "terminals": [*terminals(), terminal("tab", 4.8, 2.5, 6, 40)]})
    assert found.fuse_rating_a == 30
    assert {cut.wire for cut in found.wires if cut.start in ("85", "86")} == {"w4"}  # 45 x 0.7 = 31.5 A


def terminals():
    return catalogue_table()["terminals"]


def test_unprotected_coil_leads_are_a_fault_that_says_what_would_do():
    wanted = circuit(load="20 A", switching="relay", relay_class="standard", fuse_format="C")
    (fault,) = faults(wanted, catalogue={"holders": []})
    assert fault.rule == "coil-unprotected" and "name a control circuit" in fault.hint


def test_coil_leads_hang_on_the_largest_fuse_that_the_control_may_have():
    key = circuit("key", load="1 A", fuse_rating="20 A")
    pump = circuit("pump", switching="relay", relay_class="micro", control="key")
    found = option(pump, key)
    assert {cut.wire for cut in found.wires if cut.start in ("85", "86")} == {"w2.5"}  # 1.5 mm2 bears 17.5 A


def test_a_terminal_carries_the_rating_of_the_fuse():
    weak = [item for item in terminals() if item["kind"] != "tab"] + [
        terminal("tab", 2.8, 0.5, 2.5, 20),
        terminal("tab", 6.3, 0.5, 6, 14.9),
        terminal("tab", 9.5, 1, 25, 110),
    ]
    assert [item.fuse_format for item in need(circuit(load="7 A"), catalogue={"terminals": weak}).options] == [
        "C",
        "E",
        "F",
    ]
    assert [item.fuse_format for item in need(circuit(load="8 A"), catalogue={"terminals": weak}).options] == ["E", "F"]


def test_the_cheapest_terminal_that_fits_is_taken():
    cheap = terminal("tab", 6.3, 0.5, 2.5, 30) | {"id": "cheap", "price": "0.10"}
    found = option(circuit(), catalogue={"terminals": [*terminals(), cheap]})
    assert found.terminal_by_designation == {"way": "cheap"}


def test_a_class_without_sockets_or_tabs_is_no_option():
    only_micro = {
        "modules": [*catalogue_table()["modules"][:-1], part("m", sockets=[{"relay_class": "micro", "count": 1}])]
    }
    assert [
        item.relay_class for item in need(circuit(fuse_format="C", switching="relay"), catalogue=only_micro).options
    ] == ["micro"]
    (fault,) = faults(circuit(switching="relay"), catalogue={"relay_tabs": []})
    assert fault.rule == "no-relay-for-net" and "listed tabs" in fault.known


def test_a_refusal_says_which_side_or_which_rule_is_too_weak():
    """A break contact of 75 %, and a strict rule that asks for five times the current of lamps."""
    (fault,) = faults(circuit(load="20 A", load_type="motor", switching="changeover"))
    assert "standard switches 18 A (its break contact 87a, 75 % of the 24 A of 87)" in fault.known
    lamps = circuit(load="15 A", load_type="filament-lamp", switching="relay", relay_class="heavy")
    (fault,) = faults(lamps, rules={"strict_contacts": True})
    assert "heavy switches 42 A, and by strict_contacts it needs 75 A of its 70 A for resistive" in fault.known
    assert fault.hint.startswith("drop strict_contacts, or ")


# FAA AC 43.13-1B Table 11-4: lamps 5 at 12 V and 8 at 24 to 28 V, motors 2 and 3, solenoids 2 and 4, heaters 1 and 2.
@pytest.mark.parametrize(
    ("load_type", "at_12_v", "at_24_v"),
    [
        ("filament-lamp", 5, 8),
        ("led", 5, 8),
        ("electronics", 5, 8),
        ("motor", 2, 3),
        ("inductive", 2, 4),
        ("heater", 1, 2),
        ("resistive", 1, 2),
    ],
)
def test_the_strict_rating_by_kind_of_load_and_net(load_type, at_12_v, at_24_v):
    """LED drivers and electronics rush in like lamps; above 28 V the last column holds."""
    volts = (6, 12, 24, 48)
    assert [strict_rating_a(3, load_type, v) for v in volts] == [3 * f for f in (at_12_v, at_12_v, at_24_v, at_24_v)]


def test_the_strict_rule_takes_the_vehicle_s_own_factors():
    lamp = circuit(load="4 A", load_type="filament-lamp", switching="relay", fuse_format="C")
    rules = {"strict_contacts": True, "figures": {"contact_factors": {"lamp": {"12 V": 8}}}}
    assert [item.relay_class for item in need(lamp, rules=rules).options] == ["standard", "heavy"]
    (fault,) = faults(lamp | {"load": "9 A"}, rules=rules)
    assert "heavy switches 42 A, and by strict_contacts it needs 72 A of its 70 A for resistive" in fault.known


def test_the_largest_of_several_relays_of_a_class_is_told():
    """The cheaper one stands first; the make contact of either is whole, whatever it says of a break side."""
    two = [
        relay("small", "standard", motor="10 A", price="0.50"),
        relay("large", "standard", motor="26 A", break_share="75 %"),
    ]
    wanted = circuit(load="27 A", load_type="motor", switching="relay", relay_class="standard")
    (fault,) = faults(wanted, catalogue={"relays": two})
    assert fault.known.endswith("standard switches 26 A")
    assert fault.message == 'circuit "lamp": no standard make relay on offer switches 27 A of kind motor'
    assert fault.hint == ("offer a relay with a 12 V coil that switches 27 A of kind motor, or split the load")
    found = option(wanted | {"load": "26 A", "fuse_format": "C"}, catalogue={"relays": two})
    assert found.relay == "large"


def test_a_class_that_would_switch_the_load_is_named():
    """A micro relay switches a motor of 15 A, a standard one of 24 A and a heavy one of 44 A."""
    wanted = circuit(load_type="motor", switching="relay", relay_class="micro")
    for load, text in (("20 A", "accept class standard or heavy, which has one, "), ("30 A", "accept class heavy, w")):
        (fault,) = faults(wanted | {"load": load})
        assert f"switches {load} of kind motor, {text}" in str(fault.hint)


def test_a_changeover_whose_sides_are_alike_has_no_weaker_one():
    alike = [relay("alike", "standard", "changeover", break_share="100 %")]
    (fault,) = faults(circuit(load="25 A", load_type="motor", switching="changeover"), catalogue={"relays": alike})
    assert "standard switches 24 A" in fault.known and "87a" not in fault.known


def test_a_contact_that_just_carries_its_load_may_still_be_too_weak_by_the_strict_rule():
    wanted = circuit(load="24 A", load_type="motor", switching="relay", relay_class="standard")
    (fault,) = faults(wanted, rules={"strict_contacts": True})
    assert "standard switches 24 A, and by strict_contacts it needs 48 A of its 40 A for resistive" in fault.known


def test_without_any_relay_the_strict_rule_is_no_way_out():
    wanted = circuit(load="5 A", switching="relay")
    (fault,) = faults(wanted, catalogue={"relay_tabs": []}, rules={"strict_contacts": True})
    assert fault.message == 'circuit "lamp": no make relay on offer has a 12 V coil, a socket and listed tabs'
    assert fault.hint.startswith("offer a relay with a 12 V coil that switches 5 A of kind resistive")


def test_strict_contacts_ask_for_the_larger_relay():
    # A lamp of 8 A: by its own lamp rating a micro relay does; by Table 11-4 it takes 5 x 8 A = 40 A.
    lamp = circuit(load="8 A", load_type="filament-lamp", switching="relay", fuse_format="C")
    strict = {"rules": {"strict_contacts": True}}
    assert [item.relay_class for item in need(lamp).options] == ["micro", "standard", "heavy"]
    assert [item.relay_class for item in need(lamp, **strict).options] == ["standard", "heavy"]
    (fault,) = faults(lamp | {"load": "15 A"}, **strict)
    assert fault.rule == "no-relay-large-enough" and fault.hint.startswith("drop strict_contacts")


def test_strict_contacts_of_a_changeover_relay_are_those_of_its_break_side():
    lamp = circuit(load="6 A", load_type="filament-lamp", switching="changeover", fuse_format="C")
    strict = {"rules": {"strict_contacts": True}}
    assert need(lamp, **strict).options  # 40 A x 75 % = 30 A
    (fault,) = faults(lamp | {"load": "6.1 A"}, **strict)
    assert fault.rule == "no-relay-large-enough"


def bare(**fields):
    return {"relays": [relay("bare", "micro", coil="85 ohm", suppressed=False, **fields)]}


def test_what_to_fit_across_coil_and_load_goes_by_what_is_switched():
    """85 ohm x 8 = 680 ohm; a slow contact may weld on a lamp, a motor or a solenoid."""

    def advice(kind, **tables):
        return reason(option(circuit(load="4 A", load_type=kind, switching="relay"), **tables), "surge")

    heater, horn, pump = (advice(kind, catalogue=bare()) for kind in ("heater", "inductive", "motor"))
    assert "a resistor of about 680 ohm across 85 and 86, or a diode with its cathode at 86" in heater
    assert "load:" not in heater and "may weld" not in heater
    assert "a diode and a zener diode in series" in horn and "contacts on a load of kind inductive may weld" in horn
    assert "load: a diode for 4 A and 120 V across it" in horn and "let go quickly" in horn
    assert "if it turns one way and is not braked; else a varistor" in pump
    suppressed = option(circuit(load="4 A", switching="relay", relay_class="micro"))
    assert reason(suppressed, "surge") == "coil: suppressed inside the relay; 86 is positive"


@pytest.mark.parametrize(("ohm", "told"), [(45.6, "46"), (632, "630"), (728, "730"), (2749, "2700"), (10_400, "10000")])
def test_a_resistor_is_told_with_two_digits(ohm, told):
    assert two_digits(ohm) == told


def test_a_flasher_needs_nothing_across_its_coil():
    found = option(circuit(load="4 A", load_type="filament-lamp", switching="flasher", fuse_format="C"))
    assert reason(found, "surge") == "coil: none to suppress, a flasher has no coil side to be switched"


def test_the_relay_of_a_feed_gets_its_advice_too():
    branch = feed("key", source="battery", rating="20 A", fuse_format="E", relay_class="micro", control="lamp")
    table = sized(feeds=[feed(rating="100 A"), branch], catalogue=bare())
    assert "contacts on what it feeds may weld" in reason(table.need_by_id["key"].options[0], "surge")
    (told,) = [item for item in table.cautions if item.rule == "coil-unsuppressed"]
    assert "it may serve feed key" in told.text and "1000 V" in told.text
