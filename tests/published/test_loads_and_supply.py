"""Loads, charger, battery: figures typed from their sources against the public calls."""

from __future__ import annotations

import pytest

from allocator.figures import PUBLISHED
from allocator.requirements.quantities import Load
from allocator.requirements.scenario import Vehicle
from allocator.sizing.current import design_current_a
from allocator.sizing.fuses import current_of_drop_a
from allocator.sizing.relays import strict_rating_a
from allocator.sizing.supply import charger_share, endurance_h
from tests.published.sources import published


# UN R37 names: H7 55 W at its test voltage of 13.2 V draws 4.17 A; H1 55 W at 12 V draws 4.58 A.
@published("UN R37 lamp categories, encyclopedia list", "volts, amps", [("13.2 V", 4.17), ("12 V", 4.58)])
def test_lamp_current_at_its_own_voltage(volts, amps):
    vehicle = Vehicle.model_validate(
        {"name": "bench", "nominal_voltage": volts, "operating_voltage": volts, "minimum_voltage": volts}
    )
    assert design_current_a(Load("55 W"), "filament-lamp", vehicle) == pytest.approx(amps, abs=0.01)


# 25 Ah usable at 50 mA: 500 h = 20.8 days (battery FAQ: hours are charge over drain).
def test_quiescent_endurance():
    assert endurance_h(25, 0.050) == pytest.approx(500)
    assert endurance_h(25, 0.050) / 24 == pytest.approx(20.8, abs=0.05)


# FAA AC 43.13-1B par. 11-35: up to 80 %. 52 A on 80 A is 65 %; on 60 A 86.7 %, which an alternator-sizing page prints
# as 87 %.
def test_charger_share():
    assert charger_share(52, 80) == pytest.approx(0.65) and charger_share(52, 80) <= PUBLISHED.charger_share.value
    assert (
        charger_share(52, 60) == pytest.approx(0.867, abs=0.005)
        and charger_share(52, 60) > PUBLISHED.charger_share.value
    )


LAMPS = "UN R37 lamp categories, encyclopedia list"


@published(
    LAMPS,
    "name, nominal_v, watts",
    [
        ("H1", 12, 55), ("H1", 24, 70), ("H3", 12, 55), ("H3", 24, 70), ("H7", 12, 55), ("H8", 12, 35), ("H11", 12, 55),
        ("P21W", 12, 21), ("P21W", 24, 21), ("PY21W", 12, 21), ("R10W", 24, 10), ("R5W", 12, 5), ("W5W", 12, 5),
        ("C5W", 24, 5), ("T4W", 12, 4), ("W3W", 12, 3), ("W16W", 12, 16), ("P21/5W", 12, 21), ("P21/4W", 12, 21),
        ("P21/5W major", 12, 21), ("P21/5W minor", 12, 5), ("P21/4W minor", 24, 4),
    ],
)  # fmt: skip
def test_lamp_watts(name, nominal_v, watts):
    assert Load(name).total(nominal_v) == watts


# Table 11-4: a contact that switches 10 A of each kind.
@published(
    "FAA AC 43.13-1B chapter 11",
    "load_type, nominal_v, rating_a",
    [
        ("filament-lamp", 12, 50), ("filament-lamp", 28, 80), ("inductive", 12, 20), ("inductive", 28, 40),
        ("motor", 12, 20), ("motor", 28, 30), ("resistive", 12, 10), ("resistive", 28, 20),
    ],
)  # fmt: skip
def test_contact_by_the_strict_rule(load_type, nominal_v, rating_a):
    assert strict_rating_a(10, load_type, nominal_v) == rating_a


# 2.4 mV over a 10 A blade of 7.70 mohm: 312 mA.
@published(
    "workshop-training notes on fuse resistance", "letter, rating_a, millivolts, milliamps", [("C", 10, 2.4, 312)]
)
def test_current_told_by_a_fuse(letter, rating_a, millivolts, milliamps):
    assert current_of_drop_a(letter, rating_a, millivolts / 1000) == pytest.approx(milliamps / 1000, abs=0.001)


def test_a_fuse_without_published_resistance_tells_nothing():
    assert current_of_drop_a("C", 15, 0.001) is None
