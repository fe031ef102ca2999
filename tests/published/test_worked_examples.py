"""
Twenty-five worked examples of standards, handbooks and data sheets, by number, each through the sums of the tool.

The examples are numbered as our list of them is; figures that a source prints wrongly, and pages that contradict their
own formulas, stand in ``test_rejected.py``.
"""

from __future__ import annotations

import math

import pytest

from allocator.errors import InputError
from allocator.requirements.quantities import Load
from allocator.requirements.vehicle import Vehicle
from allocator.sizing.current import design_current_a
from allocator.sizing.fuses import current_of_drop_a, opening_time_s, published_allowance_a
from allocator.sizing.relays import strict_rating_a
from allocator.sizing.supply import endurance_h
from allocator.sizing.wires import (
    ampacity_a,
    conductor_temperature_c,
    drop_v,
    hot_resistance_ohm,
    least_area_mm2,
    resistance_ohm,
    resistance_ohm_per_m,
)
from allocator.sizing.withstand import least_fault_area_mm2, melting_current_a, withstand_a2s
from allocator.units import area_mm2, awg_area_mm2
from tests.published.sources import published
from tests.sizing.vehicles import circuit, option, panel, relay, sized

FOOT_M = 0.3048
CMIL_MM2 = math.pi / 4 * 0.0254**2
OHM_CMIL_PER_FOOT = 1.66243e-3
"""In ohm.mm2/m: "Lessons in Electric Circuits", vol. I, prints 1 ohm.cmil/ft = 1.66243e-9 ohm.m."""
LESSONS = "Lessons in Electric Circuits, vol. I and V"
CIRCULAR = "FAA AC 43.13-1B chapter 11"
CHARTS = "boat-wiring charts by SAE area"


@published(
    "ASTM B258, diameters in a public test file", "gauge, diameter_mm", [(24, 0.511), (0, 8.251)],
    expects="diameter_mm", example=1,
)  # fmt: skip
def test_diameter_of_a_gauge(gauge, diameter_mm):
    assert math.sqrt(awg_area_mm2(gauge) * 4 / math.pi) == pytest.approx(diameter_mm, rel=1e-3)


@published(
    "workshop reference file citing ASTM B258", "text, cmil, mm2",
    [("14 AWG", 4107, 2.081), ("4/0 AWG", 211_600, 107.2)], expects="cmil, mm2", example=2,
)  # fmt: skip
def test_area_of_a_gauge(text, cmil, mm2):
    assert area_mm2(text) == pytest.approx(mm2, rel=1e-3)
    assert area_mm2(text) / CMIL_MM2 == pytest.approx(cmil, rel=1e-3)


@published(
    LESSONS, "ohms, feet, cmil, taken, too_thin", [(0.2, 2300, 116_035, "2/0 AWG", "1/0 AWG")],
    expects="cmil, taken, too_thin", example=3,
)  # fmt: skip
def test_area_for_a_resistance(ohms, feet, cmil, taken, too_thin):
    """A loop of 2300 ft of copper of 10.09 ohm.cmil/ft within 0.2 ohm."""
    needed = least_area_mm2(10.09 * OHM_CMIL_PER_FOOT, feet * FOOT_M, ohms)
    assert needed / CMIL_MM2 == pytest.approx(cmil, rel=1e-5)
    assert area_mm2(too_thin) < needed <= area_mm2(taken)


@published(
    LESSONS, "feet, each_ohm, both_ohm, short_a", [(2300, 5.651, 11.301, 20.352)],
    expects="each_ohm, both_ohm, short_a", example=4,
)  # fmt: skip
def test_resistance_of_a_long_wire(feet, each_ohm, both_ohm, short_a):
    """14 AWG of 10.09 ohm.cmil/ft; 230 V shorted at its far end."""
    each = resistance_ohm(10.09 * OHM_CMIL_PER_FOOT, feet * FOOT_M, area_mm2("14 AWG"))
    assert each == pytest.approx(each_ohm, rel=5e-4)
    assert 2 * each == pytest.approx(both_ohm, rel=5e-4)
    assert 230 / (2 * each) == pytest.approx(short_a, rel=5e-4)


@published(
    LESSONS, "hot_c, ohms, load_v, wire_v", [(20, 15.0, 12.5, 0.75), (35, 15.909, 12.42, 0.79)],
    expects="ohms, load_v, wire_v", example=5,
)  # fmt: skip
def test_a_warm_wire_takes_from_its_load(hot_c, ohms, load_v, wire_v):
    """14 V, two wires of 15 ohm at 20 degC with 0.004041 /K, a load of 250 ohm."""
    wire = hot_resistance_ohm(15.0, hot_c, 0.004041)
    assert wire == pytest.approx(ohms, abs=0.0005)
    current = 14 / (250 + 2 * wire)
    assert drop_v(current, 1, wire) == pytest.approx(wire_v, abs=0.005)
    assert 14 - drop_v(current, 2, wire) == pytest.approx(load_v, abs=0.005)


def sizes_by_chart(amps, loop_feet, percent, cmil, taken, too_thin):
    """ABYC E-11: CM = K x I x L / E with K = 10.75, the whole loop in feet and 12 V; SAE areas."""
    needed = least_area_mm2(10.75 * CMIL_MM2 / FOOT_M, loop_feet * FOOT_M, 12 * percent / 100 / amps)
    assert needed / CMIL_MM2 == pytest.approx(cmil, rel=2e-4)
    sizes = [f"{gauge} SAE" for gauge in (18, 16, 14, 12, 10, 8, 6, 4, 2)]
    enough = [size for size in sizes if area_mm2(size) >= needed]
    assert (taken, too_thin) == (enough[0], sizes[sizes.index(enough[0]) - 1])


@published(
    CHARTS, "amps, loop_feet, percent, cmil, taken, too_thin",
    [(10, 21, 3, 6271, "10 SAE", "12 SAE"), (10, 21, 10, 1881, "16 SAE", "18 SAE")],
    expects="cmil, taken, too_thin", example=6,
)  # fmt: skip
def test_pump_by_the_boat_charts(amps, loop_feet, percent, cmil, taken, too_thin):
    """11 ft out and 10 ft back."""
    sizes_by_chart(amps, loop_feet, percent, cmil, taken, too_thin)


@published(
    CHARTS, "amps, loop_feet, percent, cmil, taken, too_thin",
    [
        (10, 20, 3, 5972, "10 SAE", "12 SAE"), (20, 20, 3, 11_944, "8 SAE", "10 SAE"),
        (10, 60, 3, 17_917, "6 SAE", "8 SAE"), (50, 40, 3, 59_722, "2 SAE", "4 SAE"),
    ],
    expects="cmil, taken, too_thin", example=7,
)  # fmt: skip
def test_sizes_of_the_boat_charts(amps, loop_feet, percent, cmil, taken, too_thin):
    sizes_by_chart(amps, loop_feet, percent, cmil, taken, too_thin)


# Table 11-7: 20 A along a gauge and a length in feet; the last, printed as 3.60 V, is 88 ft x 20 A x 0.00202 ohm/ft.
@published(
    CIRCULAR, "gauge, feet, volts",
    [("6 AWG", 107, 0.942), ("4 AWG", 90, 0.504), ("14 AWG", 100, 6.12), ("12 AWG", 88, 3.555)],
    expects="volts", example=8,
)  # fmt: skip
def test_drops_of_table_11_7(gauge, feet, volts):
    assert drop_v(20, feet * FOOT_M, resistance_ohm_per_m(area_mm2(gauge))) == pytest.approx(volts, abs=0.005)


@published(
    CIRCULAR, "feet, volts", [(39, 0.98), (156, 3.93), (273, 6.88), (19.5, 0.491)], expects="volts", example=9,
)  # fmt: skip
def test_drops_of_table_11_8(feet, volts):
    """20 A through 10 gauge; 19.5 ft is 0.491 V, whatever the table prints (``test_rejected.py``)."""
    assert drop_v(20, feet * FOOT_M, resistance_ohm_per_m(area_mm2("10 AWG"))) == pytest.approx(volts, abs=0.005)


# Par. 11-69: 47 A in free air, 0.91 for the altitude and 0.6 for eight wires. The product is that of a table value and
# its factors: 10 gauge of 90 degC carries 55 A, so the shares here are 47 / 55 x 0.91 (x 0.6).
@published(
    CIRCULAR, "share, amps", [(47 / 55 * 0.91, 42.77), (47 / 55 * 0.91 * 0.6, 25.7)], expects="amps", example=10,
)  # fmt: skip
def test_bundle_of_the_advisory_circular(share, amps):
    assert ampacity_a(area_mm2("10 AWG"), 90, 30, share) == pytest.approx(amps, abs=0.05)


@published(CIRCULAR, "hot_c, cold_feet", [(181.6, 9.48)], expects="hot_c, cold_feet", example=11)
def test_hot_run_of_the_advisory_circular(hot_c, cold_feet):
    """Par. 11-69: 50 degC around, insulation of 200 degC, 20 A of 26 A; 15.5 ft run hot equal 9.48 ft at 20 degC."""
    found_c = conductor_temperature_c(50, 200, 20, 26)
    assert found_c == pytest.approx(hot_c, rel=0.01)
    feet = 15.5 * resistance_ohm_per_m(4.0, 20) / resistance_ohm_per_m(4.0, found_c)
    assert feet == pytest.approx(cold_feet, rel=0.01)


@published(
    "33 CFR 183.425 in engine spaces with ABYC E-11's flat 0.70 for DC bundles", "bundle, amps",
    [(1, 29.75), (0.70, 20.8)], expects="amps", example=12,
)  # fmt: skip
def test_wire_in_engine_space_and_bundle(bundle, amps):
    """14 gauge of 105 degC at 50 degC."""
    assert ampacity_a(area_mm2("14 AWG"), 105, 50, bundle) == pytest.approx(amps, abs=0.05)


@published("trade-journal answer on NEC 310.15", "bundle, amps", [(0.80, 32)], expects="amps", example=13)
def test_bundle_share_multiplies(bundle, amps):
    """10 gauge, 40 A in the table, four conductors; Table 5 gives the same 40 A for insulation of 75 degC."""
    assert ampacity_a(area_mm2("10 AWG"), 75, 30, bundle) == pytest.approx(amps)


@published(
    "adiabatic calculator page", "k, amps, seconds, root, mm2", [(115, 3000, 0.4, 1897.5, 16.5)], expects="root, mm2",
    example=14,
)  # fmt: skip
def test_area_of_the_calculator_page(k, amps, seconds, root, mm2):
    assert least_fault_area_mm2(amps**2 * seconds, k) == pytest.approx(mm2, abs=0.1)
    assert least_fault_area_mm2(amps**2 * seconds, 1) == pytest.approx(root, abs=0.2)


def area_of_example_page(k, amps, seconds, mm2, taken, too_thin):
    assert least_fault_area_mm2(amps**2 * seconds, k) == pytest.approx(mm2, abs=0.1)
    sizes = [1.5, 2.5, 4, 6, 10, 16, 25, 35, 50]
    stands = [size for size in sizes if withstand_a2s(size, k) >= amps**2 * seconds]
    assert (taken, too_thin) == (stands[0], sizes[sizes.index(stands[0]) - 1])


@published(
    "adiabatic example pages", "k, amps, seconds, mm2, taken", [(143, 12_000, 0.02, 11.87, 16)],
    expects="mm2, taken", example=15,
)  # fmt: skip
def test_area_of_the_first_example_page(k, amps, seconds, mm2, taken):
    area_of_example_page(k, amps, seconds, mm2, taken, 10)


@published(
    "adiabatic example pages", "k, amps, seconds, mm2, taken, too_thin", [(115, 10_000, 0.1, 27.5, 35, 25)],
    expects="mm2, taken, too_thin", example=16,
)  # fmt: skip
def test_area_of_the_second_example_page(k, amps, seconds, mm2, taken, too_thin):
    area_of_example_page(k, amps, seconds, mm2, taken, too_thin)


@published(
    "software documentation of Onderdonk's equation", "cmil, seconds, amps", [(1000, 1, 146.3)], expects="amps",
    example=17,
)  # fmt: skip
def test_melting_current(cmil, seconds, amps):
    assert melting_current_a(cmil * CMIL_MM2, seconds, 25) == pytest.approx(amps, rel=0.01)
    assert melting_current_a(cmil * CMIL_MM2, 4 * seconds, 25) == pytest.approx(amps / 2, rel=0.01), "I2 t is constant"


@published(
    "ISO 8820-3 gates as quoted in data sheets", "letter, rating_a, current_a, gate",
    [
        ("C", 10, 13.5, (0.75, 600)), ("C", 10, 16, (0.25, 50)), ("C", 10, 20, (0.15, 5)), ("C", 10, 35, (0.08, 0.5)),
        ("C", 10, 11, (360_000, None)),
        ("E", 40, 54, (60, 1800)), ("E", 40, 80, (2, 50)), ("E", 40, 140, (0.2, 7)), ("E", 40, 240, (0.04, 1)),
    ],
    expects="gate", example=18,
)  # fmt: skip
def test_gates(letter, rating_a, current_a, gate):
    """At 11 A no opening within 100 h, and no latest time."""
    earliest, latest = gate
    assert opening_time_s(letter, rating_a, current_a) == (earliest, math.inf if latest is None else latest)


@published(
    "data sheets of type C blades, allowed current", "rating_a, ambient_c, amps",
    [(10, 56, 8.0), (10, 66, 7.0), (10, 130, None), (25, 18, 23), (25, 60, 19)], expects="amps", example=19,
)  # fmt: skip
def test_published_allowances(rating_a, ambient_c, amps):
    assert published_allowance_a("C", rating_a, ambient_c) == amps
    if rating_a == 25:  # 20 A on it pass at 18 degC and fail at 60 degC, by the whole sum as well
        wanted = circuit(load="20 A", fuse_rating="25 A", fuse_format="C")
        there = {"panels": [panel(ambient=f"{ambient_c} degC")], "rules": {"loading_factor": "100 %"}}
        assert (amps >= 20) == _can_be(wanted, **there)


def _can_be(*circuits, **tables) -> bool:
    try:
        return bool(sized(*circuits, **tables))
    except InputError:
        return False


@published(
    "workshop-training notes on fuse resistance", "letter, rating_a, millivolts, milliamps", [("C", 10, 2.4, 312)],
    expects="milliamps", example=20,
)  # fmt: skip
def test_current_told_by_a_fuse(letter, rating_a, millivolts, milliamps):
    assert current_of_drop_a(letter, rating_a, millivolts / 1000) == pytest.approx(milliamps / 1000, abs=0.001)


@published(
    "IEC 60228 with IEC 60028, worked", "temperature_c, volts", [(20, 0.798), (70, 0.955)], expects="volts", example=21,
)  # fmt: skip
def test_drop_of_a_metric_wire(temperature_c, volts):
    """2.5 mm2 class 5, 5 m one way, 10 A, out and back."""
    assert drop_v(10, 2 * 5, resistance_ohm_per_m(2.5, temperature_c)) == pytest.approx(volts, abs=0.001)


@published(
    "UN R37 lamp categories, encyclopedia list", "name, volts, amps", [("H7", "13.2 V", 4.17), ("H1", "12 V", 4.58)],
    expects="amps", example=22,
)  # fmt: skip
def test_lamp_current_at_its_own_voltage(name, volts, amps):
    """55 W of either: H7 at its test voltage of 13.2 V, H1 at 12 V."""
    bench = {"name": "bench", "nominal_voltage": volts, "operating_voltage": volts, "minimum_voltage": volts}
    assert Load(name).total(12) == 55
    assert design_current_a(Load("55 W"), "filament-lamp", Vehicle.model_validate(bench)) == pytest.approx(
        amps, abs=0.01
    )


@published(
    "battery FAQ on parasitic drain", "usable_ah, drain_ma, hours, days", [(25, 50, 500, 20.8)], expects="hours, days",
    example=23,
)  # fmt: skip
def test_how_long_a_drain_may_last(usable_ah, drain_ma, hours, days):
    found_h = endurance_h(usable_ah, drain_ma / 1000)
    assert found_h == pytest.approx(hours)
    assert found_h / 24 == pytest.approx(days, abs=0.05)


@published(
    "alternator-sizing page with AC 43.13-1B par. 11-35", "charger_a, percent", [(60, 87), (80, None)],
    expects="percent", example=24,
)  # fmt: skip
def test_charger_margin(charger_a, percent):
    """52 A without a break: 65 % of 80 A is sound, 86.7 % of 60 A, which the page prints as 87 %, is not."""
    loads = [circuit(f"load-{number}", load="13 A") for number in range(4)]
    told = [item.text for item in sized(*loads, supply={"charger_rating": f"{charger_a} A"}).cautions
            if item.rule == "charger-margin"]  # fmt: skip
    assert len(told) == (percent is not None)
    assert all(f" {percent:g}% of the charger's {charger_a} A" in text for text in told)


@published(CIRCULAR, "nominal_v, rating_a", [(12, 50), (28, 80)], expects="rating_a", example=25)
def test_lamps_of_10_a_on_a_contact(nominal_v, rating_a):
    """By the strict rule; and a relay of just that rating is taken, one of an ampere less is not."""
    assert strict_rating_a(10, "filament-lamp", nominal_v) == rating_a
    net_v = 24 if nominal_v == 28 else nominal_v  # 28 V is what a net of 24 V runs at
    volts = {"nominal_voltage": f"{net_v} V", "operating_voltage": f"{nominal_v} V", "minimum_voltage": f"{net_v} V"}
    lamps = circuit(load="10 A", load_type="filament-lamp", switching="relay", fuse_format="C")
    for offered_a in (rating_a - 1, rating_a):
        part = relay("only", "standard", voltage=f"{net_v} V", resistive=f"{offered_a} A", lamp="30 A", coil="320 ohm")
        offer = {"catalogue": {"relays": [part]}, "vehicle": volts, "rules": {"strict_contacts": True}}
        assert _can_be(lamps, **offer) == (offered_a == rating_a)
    assert option(lamps, **offer).relay == "only"
