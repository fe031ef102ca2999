"""Why a circuit gets its fuse and its relay, and what happens at its start and in a short circuit, compared whole."""

from __future__ import annotations

from typing import Any

import pytest

from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, fuse, option, panel, reason

LAMP, MOTOR = {"load_type": "filament-lamp"}, {"load_type": "motor"}
STANDARD = {"switching": "relay", "relay_class": "standard"}
STRICT = {"rules": {"strict_contacts": True}}


def at(ambient_c: int, **rules: str) -> dict[str, Any]:
    return {"panels": [panel(ambient=f"{ambient_c} degC")], "rules": rules}


# 75 % of the rating, or what type C carries at the next higher column: 92 % at 20, 76 % at 65, 66 % at 85 degC. A data
# sheet allows 10 A of type C 10 A at 20, 8 A at 65 and 7 A at 85 degC.
FUSES = [
    (circuit(), {}, "7.5 A type C carries 5.625 A (75% by loading factor at 30 °C) for 5 A; the smallest on offer that "
     "does: 5 A would carry 3.75 A"),
    (circuit(load="0.5 A"), {}, "1 A type C carries 0.75 A (75% by loading factor at 30 °C) for 0.5 A; the smallest on "
     "offer"),
    (circuit(fuse_rating="10 A"), {}, "10 A type C carries 7.5 A (75% by loading factor at 30 °C) for 5 A; wanted; a "
     "data sheet allows 8 A"),
    (circuit(load="6.6 A"), at(85), "10 A type C carries 6.6 A (66% by ambient curve of type C at 85 °C) for 6.6 A; "
     "the smallest on offer that does: 7.5 A would carry 4.95 A; a data sheet allows 7 A"),
    (circuit(load="7 A"), at(65, loading_factor="76 %"), "10 A type C carries 7.6 A (76% by ambient curve of type C at "
     "65 °C) for 7 A; the smallest on offer that does: 7.5 A would carry 5.7 A; a data sheet allows 8 A"),
    (circuit(load="7 A"), at(20, loading_factor="92 %"), "10 A type C carries 9.2 A (92% by ambient curve of type C at "
     "20 °C) for 7 A; the smallest on offer that does: 7.5 A would carry 6.9 A; a data sheet allows 10 A"),
    (circuit(**STANDARD), {}, "7.5 A type C carries 5.625 A (75% by loading factor at 30 °C) for 5.175 A; the smallest "
     "on offer that does: 5 A would carry 3.75 A"),
]  # fmt: skip


@pytest.mark.parametrize(("item", "tables", "text"), FUSES)
def test_what_is_said_of_a_fuse(item: Table, tables: dict[str, Any], text: str) -> None:
    assert reason(option(item, **tables), "fuse") == text


def test_the_next_smaller_fuse_is_one_of_a_smaller_rating():
    """Not another of the same."""
    other = fuse("C", 7.5) | {"id": "other", "price": "2.00"}
    found = option(circuit(), catalogue={"fuses": [*catalogue_table()["fuses"], other]})
    assert found.fuse == "C7.5" and "does: 5 A would carry 3.75 A" in reason(found, "fuse")


# Lamps start with 10 x for 5 ms, motors with 6 x for half a second, and held fast draw 5 x. Type C opens at 160 % not
# before 0.25 s, at 350 % not before 0.08 s, at 600 % within 0.15 s and no sooner than its 520 A2s of 20 A allow.
STARTS = [
    (circuit(fuse_rating="20 A", **LAMP), "50 A (10 x, by its kind) for about 0.005 s: the fuse stays whole, it opens "
     "later at that current"),
    (circuit(**LAMP), "50 A (10 x, by its kind) for about 0.005 s: no published figure shows that the fuse stays "
     "whole"),
    (circuit(load="12.5 A", fuse_rating="20 A", **LAMP), "125 A (10 x, by its kind) for about 0.005 s: the fuse stays "
     "whole, 78 A²s of 520 A²s that melt it"),
    (circuit(**MOTOR), "30 A (6 x, by its kind) for about 0.5 s: the fuse opens within 0.5 s if the start "
     "is so: take a larger one; held fast at 25 A it opens within 5 s"),
    (circuit(stall="13 A", fuse_rating="10 A", **MOTOR), "13 A (2.6 x, as stated) for about 0.5 s: the fuse stays "
     "whole, it opens later at that current; held fast at 13 A it opens within no published time"),
    (circuit(load="D1S", load_type="electronics"), "20 A (5.22 x, by its kind) for about 1 s: no published figure "
     "shows that the fuse stays whole"),  # 35 W / 0.83 / 11 V = 3.833 A
    (circuit(), ""),
]  # fmt: skip


@pytest.mark.parametrize(("item", "text"), STARTS)
def test_what_is_said_of_a_start(item: Table, text: str) -> None:
    assert reason(option(item), "start") == text


RELAYS = [
    (circuit(load="8 A", **MOTOR, **STANDARD), {}, "standard: its contact switches 8 A of 24 A for motor (33%); the "
     "cheapest of its class that does"),
    (circuit(load="8 A", **MOTOR, switching="changeover"), {}, "change: either contact switches 8 A of 18 A for motor "
     "(44%); make 87 carries 24 A, break 87a 18 A; the cheapest of its class that does"),
    (circuit(load="4 A", **LAMP, **STANDARD), STRICT, "standard: its contact switches 4 A of 23 A for filament-lamp "
     "(17%); by FAA AC 43.13-1B it needs 20 A of its 40 A for resistive loads; the cheapest of its class that does"),
    (circuit(load="4 A", **LAMP, switching="changeover"), STRICT, "change: either contact switches 4 A of 17.25 A for "
     "filament-lamp (23%); make 87 carries 23 A, break 87a 17.25 A; by FAA AC 43.13-1B it needs 20 A of its 30 A for "
     "resistive loads; the cheapest of its class that does"),
]  # fmt: skip


@pytest.mark.parametrize(("item", "tables", "text"), RELAYS)
def test_what_is_said_of_a_relay(item: Table, tables: dict[str, Any], text: str) -> None:
    assert reason(option(item, **tables), "relay").startswith(f"{text}; coil leads of ")


def test_the_strict_rule_is_told_with_the_vehicle_s_own_factors():
    own = {"strict_contacts": True, "figures": {"contact_factors": {"lamp": {"12 V": 8}}}}
    assert "it needs 32 A of its 40 A" in reason(option(circuit(load="4 A", **LAMP, **STANDARD), rules=own), "relay")


def test_what_is_said_of_a_short_circuit():
    """12 V / (12 V / 9 A + 3 m x 19.5 mohm/m x 1.334) = 8.5 A: at less than 135 % no time is published."""
    assert reason(option(circuit()), "fault") == (
        "a short circuit draws 1000 A at the panel, of 1000 A that the fuse breaks; at the far end about 133 A, 17.8 x "
        "its rating: it opens within 0.15 s"
    )
    assert reason(option(circuit(), supply={"fault_current": "9 A"}), "fault") == (
        "a short circuit draws 9 A at the panel, of 1000 A that the fuse breaks; at the far end about 8.5 A, 1.13 x "
        "its rating: it opens within no published time"
    )


def test_times_are_told_by_the_vehicle_s_own_gates():
    own = {"figures": {"fuse_gates": {"C": {"600 %": {"latest": "0.12 s"}, "200 %": {"latest": "4 s"}}}}}
    assert "it opens within 0.12 s" in reason(option(circuit(), rules=own), "fault")
    assert "held fast at 25 A it opens within 4 s" in reason(option(circuit(**MOTOR), rules=own), "start")


def test_a_start_is_told_by_the_vehicle_s_own_figures():
    lamp = circuit(fuse_rating="15 A", **LAMP)  # 50 A for 5 ms, at 350 % of which type C opens not before 80 ms
    assert "50 A (10 x, by its kind) for about 0.005 s: the fuse stays whole" in reason(option(lamp), "start")
    own = {"figures": {"lamp_inrush": 8, "lamp_inrush_time": "6 ms"}}
    assert "40 A (8 x, by its kind) for about 0.006 s: the fuse stays whole" in reason(option(lamp, rules=own), "start")
    early = {"figures": {"fuse_gates": {"C": {"350 %": {"earliest": "0.004 s", "latest": "0.5 s"}}}}}
    assert "no published figure shows" in reason(option(lamp, rules=early), "start")
    late = {"figures": {"fuse_gates": {"C": {"350 %": {"latest": "0.6 s"}}}}}
    fan = circuit(**MOTOR)  # 30 A are 400 % of 7.5 A
    found = [reason(option(fan, rules=rules), "start").partition(": ")[2][:15] for rules in ({}, late)]
    assert found == ["the fuse opens ", "no published fi"]


def test_a_melting_integral_of_the_vehicle_s_own_is_told():
    own = {"figures": {"fuse_melting": {"C": {"20 A": "600 A2s"}}}}
    lamp = circuit(load="12.5 A", fuse_rating="20 A", **LAMP)
    assert "78 A²s of 600 A²s that melt it" in reason(option(lamp, rules=own), "start")


def test_what_is_said_of_current_and_terminals():
    found = option(circuit(**STANDARD))
    assert reason(found, "current") == "5 A as given (5 A), with coils of its own relay up to 5.175 A"
    assert reason(found, "terminal") == (
        "way tab-6.3-1.5, 30 tab-6.3-1.5, 87 tab-6.3-1.5, 85 tab-4.8-2.5, 86 tab-4.8-2.5: the cheapest that take tab "
        "and wire and carry 7.5 A"
    )
    assert reason(option(circuit()), "current") == "5 A as given (5 A)"


def test_what_is_said_of_a_surge():
    found = option(circuit(load="4 A", load_type="inductive", **STANDARD))
    assert reason(found, "surge") == (
        "coil: suppressed inside the relay; 86 is positive; load: a diode for 4 A and 120 V across it, cathode to its "
        "supply; where it must let go quickly, with a zener diode in series"
    )
    assert reason(option(circuit(load="4 A", load_type="heater", **STANDARD)), "surge") == (
        "coil: suppressed inside the relay; 86 is positive"
    )


def test_the_coils_that_a_circuit_carries_for_others_are_named():
    """A micro relay draws 14 V / 100 ohm, the heavy one of a feed 14 V / 60 ohm: 374 mA with what is rounded up."""
    key = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="heavy", control="switch")
    horn = circuit("horn", switching="relay", relay_class="micro", control="switch")
    others = circuit("bell", switching="relay"), circuit("radio", control="switch")  # of its own, and without a relay
    late = feed("late", source="battery", rating="20 A", relay_class="heavy", control="bell")
    found = option(circuit("switch"), horn, *others, name="switch", feeds=[feed(), key, late])
    assert reason(found, "current") == "5 A as given (5 A), with coils of horn, feed key up to 5.374 A"
