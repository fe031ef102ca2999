"""What charger and battery bear: load case by load case, and with everything switched off."""

from __future__ import annotations

import pytest

from allocator.sizing.supply import Quiescent, quiescent, supply_cases
from tests.sizing.vehicles import circuit, feed, sized

CASES = (
    {"name": "drive", "engine_running": True, "hours": "2 h"},
    {"name": "camp", "engine_running": False, "hours": "10 h"},
)


def test_charge_and_drain_use_duty_and_the_engine():
    lamp = circuit("lamp", load="6 A", duty="50 %")
    fan = circuit("fan", load="2 A", load_cases=["camp"])
    drive, camp = supply_cases(sized(lamp, fan, cases=CASES))
    assert (drive.mean_a, drive.peak_a, drive.charger_share) == (3, 6, pytest.approx(0.03))
    assert (drive.drained_ah, drive.endurance_h) == (0, None)
    assert (camp.mean_a, camp.peak_a, camp.charger_share, camp.drained_ah) == (5, 8, 0, 50)
    assert camp.endurance_h == pytest.approx(8)  # 40 % of 100 Ah at 5 A


def test_spare_ways_draw_nothing_and_the_coil_of_a_feed_draws_all_the_time():
    """12 V / 60 ohm at 14 V: 233.3 mA of the heavy relay, rounded up; half a lamp of 6 A is 3 A."""
    key = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="heavy")
    rules = {"spares": [{"fuse_format": "C", "count": 1, "reserve": "5 A"}]}
    drive, camp = supply_cases(sized(circuit(load="6 A", duty="50 %"), feeds=[feed(), key], cases=CASES, rules=rules))
    assert (drive.mean_a, drive.peak_a) == (pytest.approx(3.234), pytest.approx(6.234))
    assert camp.drained_ah == pytest.approx(32.34)


def test_the_cases_keep_their_order_name_and_hours():
    found = [(case.name, case.engine_running, case.hours) for case in supply_cases(sized(cases=CASES))]
    assert found == [("drive", True, 2), ("camp", False, 10)]


def test_nothing_is_drawn_off_a_feed_that_is_not_always_live():
    """At 30 mA, 40 % of 100 A h last 1333 h."""
    key = feed("key", source="battery", rating="20 A", fuse_format="E", relay_class="micro", control="clock")
    feeds = [feed(rating="100 A"), key, feed("ignition", kind="ignition")]
    drawing = [circuit(name, quiescent="15 mA") for name in ("clock", "alarm")]
    switched = [circuit(name, quiescent="15 mA", feeds=[name]) for name in ("key", "ignition")]
    switched[0]["id"] = "radio"
    found = quiescent(sized(*drawing, *switched[:1], circuit("horn", quiescent="0 A"), feeds=feeds))
    assert (found.drain_a, found.circuits) == (0.03, ("clock", "alarm"))
    assert found.days == pytest.approx(40 / 0.03 / 24)
    assert quiescent(sized(*switched, circuit("clock"), feeds=feeds)) == Quiescent(0, None, ())


def test_nothing_is_drawn_off_a_permanent_branch_of_a_feed_that_is_not_always_live():
    """Behind the relay or the key; a branch that has a fuse alone is as live as the battery."""
    fuse = {"rating": "20 A", "fuse_format": "E"}
    feeds = [
        feed(rating="100 A"),
        feed("key", source="battery", relay_class="micro", control="clock", **fuse),
        feed("ignition", kind="ignition"),
        *(feed(f"behind-{name}", source=name, **fuse) for name in ("battery", "key", "ignition")),
        feed("behind-both", source="behind-key", **fuse),
    ]
    off = [circuit(f"on-{name}", quiescent="15 mA", feeds=[f"behind-{name}"]) for name in ("key", "ignition", "both")]
    on = circuit("alarm", quiescent="15 mA", feeds=["behind-battery"])
    found = quiescent(sized(circuit("clock"), on, *off, feeds=feeds))
    assert (found.drain_a, found.circuits) == (0.015, ("alarm",))


def test_little_drawn_lasts_long():
    """40 A h at 50 mA; of half a battery twice as much is left as of a quarter."""
    _, camp = supply_cases(sized(circuit(load="50 mA"), cases=CASES))
    assert camp.endurance_h == pytest.approx(800)
    own = {"figures": {"battery_share": 0.5}}
    _, camp = supply_cases(sized(circuit(load="50 mA"), cases=CASES, rules=own))
    assert camp.endurance_h == pytest.approx(1000)


def test_nothing_drawn_lasts_for_ever():
    _, camp = supply_cases(sized(circuit(load_cases=["drive"]), cases=CASES))
    assert (camp.mean_a, camp.endurance_h) == (0, None)
