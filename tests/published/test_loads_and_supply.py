"""Loads, relays, charger, battery: figures typed from their sources against the public calls."""

from __future__ import annotations

import pytest

from allocator.requirements.catalogue import Relay
from allocator.requirements.quantities import Load
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Vehicle
from allocator.sizing.current import coil_current_a
from allocator.sizing.fuses import current_of_drop_a
from allocator.sizing.inrush import inrush_of
from allocator.sizing.relays import strict_rating_a
from tests.published.sources import published
from tests.sizing.vehicles import circuit, relay, sized

SHEETS = "relay data sheets of several makers"


@published(
    "UN R37 lamp categories, encyclopedia list",
    "name, nominal_v, watts",
    [
        ("H1", 12, 55), ("H1", 24, 70), ("H3", 12, 55), ("H3", 24, 70), ("H7", 12, 55), ("H8", 12, 35), ("H11", 12, 55),
        ("P21W", 12, 21), ("P21W", 24, 21), ("PY21W", 12, 21), ("R10W", 24, 10), ("R5W", 12, 5), ("W5W", 12, 5),
        ("C5W", 24, 5), ("T4W", 12, 4), ("W3W", 12, 3), ("W16W", 12, 16), ("P21/5W", 12, 21), ("P21/4W", 12, 21),
        ("P21/5W major", 12, 21), ("P21/5W minor", 12, 5), ("P21/4W minor", 24, 4),
    ],
    expects="watts",
)  # fmt: skip
def test_lamp_watts(name, nominal_v, watts):
    assert Load(name).total(nominal_v) == watts


# Table 11-4: a contact that switches 10 A of each kind; lamps are worked example 25.
@published(
    "FAA AC 43.13-1B chapter 11",
    "load_type, nominal_v, rating_a",
    [
        ("inductive", 12, 20), ("inductive", 28, 40), ("motor", 12, 20), ("motor", 28, 30), ("resistive", 12, 10),
        ("resistive", 28, 20),
    ],
    expects="rating_a",
)  # fmt: skip
def test_contact_by_the_strict_rule(load_type, nominal_v, rating_a):
    assert strict_rating_a(10, load_type, nominal_v) == rating_a


def test_a_fuse_without_published_resistance_tells_nothing():
    assert current_of_drop_a("C", 15, 0.001) is None


@published(SHEETS, "coil_ohm, volts, milliamps", [(80, 12, 150), (320, 24, 75), (80, 14, 175)], expects="milliamps")
def test_coil_current(coil_ohm, volts, milliamps):
    part = Relay.model_validate(relay("r", "standard", coil=f"{coil_ohm} ohm"))
    at = dict.fromkeys(("nominal_voltage", "operating_voltage", "minimum_voltage"), f"{volts} V")
    assert coil_current_a(part, Vehicle.model_validate({"name": "bench"} | at)) == pytest.approx(milliamps / 1000)


# A relay closes at 70 % of its voltage at the latest: 8.4 V of 12, 16.8 V of 24.
@published(SHEETS, "nominal_v, closes_v", [(12, 8.4), (24, 16.8)], expects="closes_v")
def test_voltage_at_which_a_relay_closes(nominal_v, closes_v):
    part = relay("only", "standard", voltage=f"{nominal_v} V")

    def told(minimum_v):
        at = {"nominal_voltage": f"{nominal_v} V", "operating_voltage": f"{nominal_v * 1.1:.1f} V",
              "minimum_voltage": f"{minimum_v:.2f} V"}  # fmt: skip
        lamp = circuit(load="2 A", switching="relay")
        table = sized(lamp, vehicle=at, catalogue={"relays": [part]})
        return any(item.rule == "relay-may-drop-out" for item in table.cautions)

    assert told(closes_v - 0.01) and not told(closes_v)


# The cold resistance of a filament is one tenth of the hot one; a DC motor starts with six times its running current.
@published(
    "component maker's rule on inrush, lamp and headlamp articles", "load_type, ratio",
    [("filament-lamp", 10), ("motor", 6)], expects="ratio",
)  # fmt: skip
def test_start_over_running_current(load_type, ratio):
    start = inrush_of(Circuit.model_validate(circuit(load_type=load_type)), 2.5)
    assert start is not None and start.peak_a == pytest.approx(2.5 * ratio)


# Drain with everything off: 50 mA is a usual limit, 40 % of the charge gone the point of no start.
@published(
    "service bulletin on parasitic drain and battery FAQ", "limit_ma, gone_percent", [(50, 40)],
    expects="limit_ma, gone_percent",
)  # fmt: skip
def test_drain_with_everything_off(limit_ma, gone_percent):
    def told(drain_ma):
        cautions = sized(circuit(quiescent=f"{drain_ma} mA"), supply={"battery_capacity": "100 Ah"}).cautions
        return [item.text for item in cautions if item.rule == "quiescent-drain"]

    texts = told(limit_ma + 1)
    assert told(limit_ma) == [] and len(texts) == 1
    assert f"after {gone_percent * 1000 / (limit_ma + 1) / 24:.3g} days {gone_percent}%" in texts[0]
