"""Cautions about relays, charger, battery and modules: whom each names among several, and from where on it is given."""

from __future__ import annotations

from typing import Any

from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, panel, part, relay, row, told

MOTOR = {"load_type": "motor", "switching": "relay"}


def test_a_contact_is_near_its_limit_above_nine_tenths_and_told_once_for_a_relay():
    """15 A of the micro relay for motors: 13.5 A are nine tenths; 24 A of the standard one: 21.6 A."""
    loads = {"a": "13.6 A", "b": "13.5 A", "c": "22 A"}
    switched = [circuit(name, load=load, **MOTOR) for name, load in loads.items()]
    unswitched = circuit("d", load="13.9 A", load_type="motor")
    found = told("relay-near-limit", unswitched, *switched)
    assert [about for about, _ in found] == ["a", "c"]
    assert "micro of a switches 13.6 A of its 15 A for motor" in found[0][1]
    assert "standard of c switches 22 A of its 24 A for motor" in found[1][1]


def test_every_relay_without_suppression_is_told_with_all_that_it_may_serve():
    """The heavy one is suppressed, a flasher needs nothing; of the standard one a feed has none."""
    relays = [
        relay("bare", "micro", suppressed=False),
        relay("also", "standard", suppressed=False),
        relay("heavy", "heavy"),
        relay("flasher", "standard", "flasher", suppressed=False),
        relay("unused", "micro", suppressed=False, price="9.00"),
    ]
    key = feed("key", source="battery", rating="20 A", fuse_format="E", relay_class="micro", control="switch")
    found = told(
        "coil-unsuppressed",
        circuit("switch"),
        circuit("horn", switching="relay"),
        circuit("turn", switching="flasher"),
        circuit("fan", switching="relay", relay_class="heavy"),
        feeds=[feed(rating="100 A"), key],
        catalogue={"relays": relays},
    )
    assert [about for about, _ in found] == ["also", "bare"]
    assert "(it may serve horn)" in found[0][1] and "(it may serve horn, feed key)" in found[1][1]


def test_coils_that_one_control_switches_are_named_with_it():
    """By control; a relay that a fuse of its own supplies is on none, and neither is a flasher."""
    horn, fan = (circuit(name, switching="relay", control="lock") for name in ("horn", "fan"))
    others = circuit("lamp", switching="relay"), circuit("turn", switching="flasher"), circuit("lock")
    alone = circuit("pump", switching="relay", control="other"), circuit("other")
    key = feed("key", source="battery", rating="50 A", fuse_format="E", relay_class="heavy", control="lock")
    found = told("control-shared", horn, fan, *others, *alone, feeds=[feed(rating="100 A"), key])
    assert found == [
        (
            "lock",
            "the relays of fan, horn, feed key are all switched by lock: on one contact all of them close together, so "
            "give each coil lead a contact or output of its own there, save those that are meant to",
        )
    ]


def drop_out(minimum: str, *circuits: Table) -> list[Any]:
    return told("relay-may-drop-out", *circuits, vehicle={"minimum_voltage": minimum})


def test_that_a_relay_may_not_close_is_told_where_there_is_one():
    """Relay data sheets: closes at 70 % of 12 V, which are 8.4 V."""
    plain, switched = circuit("radio"), circuit("horn", switching="relay")
    ((about, text),) = drop_out("8.3 V", plain, switched)
    assert about == "relays" and text.startswith("at 8.3 V, 69% of nominal") and "from 70%" in text
    assert drop_out("8.4 V", plain, switched) == [] and drop_out("8.3 V", plain) == []


def test_a_relay_may_just_close():
    """14 V of 20 V are 0.7 to the last bit."""
    net = {"nominal_voltage": "20 V", "operating_voltage": "24 V", "minimum_voltage": "14 V"}
    tables = {"vehicle": net, "catalogue": {"relays": [relay("only", "micro", voltage="20 V")]}}
    assert told("relay-may-drop-out", circuit(switching="relay"), **tables) == []


def test_that_no_spare_way_is_asked_for_is_told():
    ((about, text),) = told("no-spare-way")
    assert about == "spare ways" and "10 to 20 % of the ways" in text
    assert told("no-spare-way", rules={"spares": [{"fuse_format": "C", "count": 1}]}) == []


DRIVE, NIGHT = ({"name": name, "engine_running": True, "hours": "1 h"} for name in ("drive", "night"))
CAMP, STOP = (
    {"name": name, "engine_running": False, "hours": hours} for name, hours in (("camp", "8 h"), ("stop", "9 h"))
)


def test_every_running_case_above_four_fifths_of_the_charger_is_told():
    """FAA AC 43.13-1B par. 11-35: 80 % of 20 A are 16 A; engine off, nothing is charged. Half of the time is half."""
    loads = [circuit("a", load="9 A"), circuit("b", load="7 A", load_cases=["day", "night"])]
    wiper = circuit("c", load="1 A", load_cases=["night", "camp"], duty="50 %")
    cases = [DRIVE, DRIVE | {"name": "day"}, NIGHT, CAMP]
    ((about, text),) = told("charger-margin", *loads, wiper, supply={"charger_rating": "20 A"}, cases=cases)
    assert about == "night" and "draw 16.5 A on average, 82% of the charger's 20 A; up to 80%" in text


def test_every_case_that_outlasts_the_battery_is_told():
    """40 % of 100 A h at 5 A last 8 h."""
    ((about, text),) = told("battery-endurance", circuit(load="5 A"), cases=[DRIVE | {"hours": "99 h"}, CAMP, STOP])
    assert about == "stop" and "lasts 9 h and drains 45 A h; after 8.0 h 40% of the battery" in text


def test_of_what_is_drawn_with_everything_off_the_most_is_told():
    """Type C of 10 A has 7.70 mohm: 1 mV is 0.13 A. What hangs on a relay or the key draws nothing then."""
    key = feed("key", source="battery", rating="20 A", fuse_format="E", relay_class="micro", control="clock")
    fuse = {"load": "5 A", "fuse_rating": "10 A", "fuse_format": "C"}
    found = told(
        "quiescent-drain",
        circuit("clock", quiescent="10 mA", **fuse),
        circuit("alarm", quiescent="20 mA", **fuse),
        circuit("radio", quiescent="50 mA", **fuse),
        circuit("switched", quiescent="900 mA", feeds=["key"]),
        circuit("ignition", quiescent="900 mA", feeds=["ignition"]),
        circuit("either", quiescent="5 mA", feeds=["ignition", "battery"], **fuse),
        circuit("lamp"),
        feeds=[feed(rating="100 A"), key, feed("ignition", kind="ignition")],
    )
    ((about, text),) = found
    assert about == "supply" and text.startswith("with everything off 85 mA are drawn, more than the usual 50 mA")
    # 100 A h x 40 % / 85 mA = 470.6 h
    assert (
        "after 19.6 days 40% of" in text
        and "the most, 50 mA, by radio; 1 mV across its 10 A type C fuse is 0.13 A" in text
    )


def test_without_a_published_resistance_no_current_is_told_for_a_millivolt():
    ((_, text),) = told("quiescent-drain", circuit(quiescent="60 mA", fuse_format="C", fuse_rating="15 A"))
    assert text.endswith("the most, 60 mA, by lamp")


def test_modules_that_may_carry_nothing_are_told_by_panel_be_it_the_module_or_one_row():
    """Both are stated at 40 degC, without a table."""
    whole = part("whole", rows=[row("C")], limit="90 A")
    one_row = part("one-row", rows=[row("C"), row("F", tab=2.8, limit="20 A")])
    cool = part("cool", rows=[row("C", limit="50 A")], limit="90 A", stated_ambient="60 degC")
    modules = {"modules": [*catalogue_table()["modules"], whole, one_row, cool]}
    found = told("module-too-hot", panels=[panel(), panel("engine", ambient="41 degC")], catalogue=modules)
    assert [about for about, _ in found] == ["engine, whole", "engine, one-row"]
    assert "carries nothing at panel engine: 41 °C is above its stated 40 °C" in found[0][1]
