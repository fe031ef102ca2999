"""Wires: areas, resistance, ampacity, drop; figures typed from their sources against what the public calls say."""

from __future__ import annotations

import math

import pytest

from allocator.sizing.offer import Offer
from allocator.sizing.wires import (
    ambient_factor,
    ambient_ratio,
    ampacity_a,
    conductor_temperature_c,
    drop_v,
    hot_resistance_ohm,
    least_area_mm2,
    resistance_ohm,
    resistance_ohm_per_m,
)
from allocator.units import area_mm2, awg_area_mm2
from tests.published.sources import published
from tests.sizing.vehicles import circuit, requirements

FOOT_M = 0.3048
CMIL_MM2 = math.pi / 4 * 0.0254**2
OHM_CMIL_PER_FOOT = 1.66243e-3
"""In ohm.mm2/m: "Lessons in Electric Circuits", vol. I, prints 1 ohm.cmil/ft = 1.66243e-9 ohm.m."""
LESSONS = "Lessons in Electric Circuits, vol. I and V"
CIRCULAR = "FAA AC 43.13-1B chapter 11"
CHARTS = "boat-wiring charts by SAE area"


@published("ASTM B258, diameters in a public test file", "gauge, diameter_mm", [(24, 0.511), (0, 8.251)])
def test_gauge_diameter(gauge, diameter_mm):
    assert math.sqrt(awg_area_mm2(gauge) * 4 / math.pi) == pytest.approx(diameter_mm, rel=1e-3)


@published(
    LESSONS,
    "text, cmil",
    [
        ("20 AWG", 1022), ("18 AWG", 1624), ("16 AWG", 2583), ("14 AWG", 4107), ("12 AWG", 6530), ("10 AWG", 10_380),
        ("8 AWG", 16_510), ("6 AWG", 26_250), ("4 AWG", 41_740), ("2 AWG", 66_370), ("1 AWG", 83_690),
        ("1/0 AWG", 105_500), ("2/0 AWG", 133_100), ("3/0 AWG", 167_800), ("4/0 AWG", 211_600),
    ],
)  # fmt: skip
def test_gauge_area_in_circular_mils(text, cmil):
    assert area_mm2(text) / CMIL_MM2 == pytest.approx(cmil, rel=1e-3)


@published("workshop reference file citing ASTM B258", "text, mm2", [("14 AWG", 2.081), ("4/0 AWG", 107.2)])
def test_gauge_area(text, mm2):
    assert area_mm2(text) == pytest.approx(mm2, rel=1e-3)


@published(
    CHARTS,
    "text, cmil",
    [
        ("18 SAE", 1537), ("16 SAE", 2336), ("14 SAE", 3702), ("12 SAE", 5833), ("10 SAE", 9343), ("8 SAE", 14_810),
        ("6 SAE", 24_538), ("4 SAE", 37_360), ("2 SAE", 62_450), ("1 SAE", 77_790), ("1/0 SAE", 98_980),
        ("2/0 SAE", 125_100), ("3/0 SAE", 158_600), ("4/0 SAE", 205_500),
    ],
)  # fmt: skip
def test_sae_area_in_circular_mils(text, cmil):
    assert area_mm2(text) / CMIL_MM2 == pytest.approx(cmil, rel=1e-6)


def test_a_list_that_shifts_the_sae_rows_is_not_used():
    """One chart prints 19,730 cmil beside gauge 8, the row of another size: rejected."""
    assert area_mm2("8 SAE") / CMIL_MM2 < 15_000


@published(LESSONS, "ohms, feet, cmil, taken, too_thin", [(0.2, 2300, 116_035, "2/0 AWG", "1/0 AWG")])
def test_area_for_a_resistance(ohms, feet, cmil, taken, too_thin):
    """A loop of 2300 ft of copper of 10.09 ohm.cmil/ft within 0.2 ohm."""
    needed = least_area_mm2(10.09 * OHM_CMIL_PER_FOOT, feet * FOOT_M, ohms)
    assert needed / CMIL_MM2 == pytest.approx(cmil, rel=1e-5)
    assert area_mm2(too_thin) < needed <= area_mm2(taken)


@published(LESSONS, "feet, each_ohm, both_ohm, short_a", [(2300, 5.651, 11.301, 20.352)])
def test_resistance_of_a_long_wire(feet, each_ohm, both_ohm, short_a):
    """14 AWG of 10.09 ohm.cmil/ft; 230 V shorted at its far end."""
    each = resistance_ohm(10.09 * OHM_CMIL_PER_FOOT, feet * FOOT_M, area_mm2("14 AWG"))
    assert each == pytest.approx(each_ohm, rel=5e-4)
    assert 2 * each == pytest.approx(both_ohm, rel=5e-4)
    assert 230 / (2 * each) == pytest.approx(short_a, rel=5e-4)


@published(LESSONS, "hot_c, ohms, load_v, wire_v", [(20, 15.0, 12.5, 0.75), (35, 15.909, 12.42, 0.79)])
def test_a_warm_wire_takes_from_its_load(hot_c, ohms, load_v, wire_v):
    """14 V, two wires of 15 ohm at 20 degC with 0.004041 /K, a load of 250 ohm."""
    wire = hot_resistance_ohm(15.0, hot_c, 0.004041)
    assert wire == pytest.approx(ohms, abs=0.0005)
    current = 14 / (250 + 2 * wire)
    assert drop_v(current, 1, wire) == pytest.approx(wire_v, abs=0.005)
    assert 14 - drop_v(current, 2, wire) == pytest.approx(load_v, abs=0.005)


# ABYC E-11, CM = K x I x L / E with K = 10.75 and the length of the whole loop, ft; sizes as the charts print them, by
# SAE area: by AWG area 12 gauge would pass for the pump (6530 cmil), and must not.
@published(
    CHARTS,
    "amps, loop_feet, percent, cmil, taken, too_thin",
    [
        (10, 21, 3, 6271, "10 SAE", "12 SAE"), (10, 21, 10, 1881, "16 SAE", "18 SAE"),
        (10, 20, 3, 5972, "10 SAE", "12 SAE"), (20, 20, 3, 11_944, "8 SAE", "10 SAE"),
        (10, 60, 3, 17_917, "6 SAE", "8 SAE"), (50, 40, 3, 59_722, "2 SAE", "4 SAE"),
    ],
)  # fmt: skip
def test_sizes_of_the_boat_charts(amps, loop_feet, percent, cmil, taken, too_thin):
    needed = least_area_mm2(10.75 * CMIL_MM2 / FOOT_M, loop_feet * FOOT_M, 12 * percent / 100 / amps)
    assert needed / CMIL_MM2 == pytest.approx(cmil, rel=2e-4)
    assert area_mm2(too_thin) < needed <= area_mm2(taken)


@published(
    "33 CFR 183.425 Table 5",
    "gauge, insulation_c, amps",
    [
        ("18 AWG", 60, 10), ("18 AWG", 80, 15), ("18 AWG", 90, 20), ("18 AWG", 105, 20), ("18 AWG", 125, 25),
        ("16 AWG", 75, 15), ("16 AWG", 105, 25), ("16 AWG", 125, 30), ("16 AWG", 200, 35), ("14 AWG", 60, 20),
        ("14 AWG", 80, 25), ("14 AWG", 90, 30), ("14 AWG", 105, 35), ("14 AWG", 200, 45), ("12 AWG", 80, 35),
        ("12 AWG", 105, 45), ("10 AWG", 75, 40), ("10 AWG", 105, 60), ("8 AWG", 75, 65), ("8 AWG", 105, 80),
        ("6 AWG", 90, 100), ("6 AWG", 105, 120), ("4 AWG", 105, 160), ("3 AWG", 105, 180), ("2 AWG", 80, 175),
        ("1 AWG", 105, 245), ("1/0 AWG", 105, 285), ("2/0 AWG", 105, 330), ("3/0 AWG", 105, 385),
        ("4/0 AWG", 60, 300), ("4/0 AWG", 105, 445), ("4/0 AWG", 200, 510),
    ],
)  # fmt: skip
def test_table_5_of_33_cfr(gauge, insulation_c, amps):
    assert ampacity_a(area_mm2(gauge), insulation_c, 30) == amps


@pytest.mark.parametrize(("mm2", "amps"), [(1, 20), (1.5, 25), (2.5, 35), (4, 45), (6, 60), (10, 80), (16, 120)])
def test_table_5_at_metric_sizes(mm2, amps):
    """The next smaller gauge, never the next larger."""
    assert ampacity_a(mm2, 105, 30) == amps


def test_table_5_has_no_row_below_18_gauge_and_no_column_below_60_degrees():
    assert ampacity_a(0.75, 105, 30) == 0
    assert ampacity_a(2.5, 59, 30) == 0


@published("33 CFR 183.425 note 1, engine spaces", "insulation_c, ambient_c, factor", [(105, 50, 0.85)])
def test_engine_space_factor(insulation_c, ambient_c, factor):
    assert ambient_factor(insulation_c, ambient_c) == factor


@published("ABYC E-11 DC bundles, flat 0.70", "bundle, amps", [(1, 29.75), (0.70, 20.8)])
def test_wire_in_engine_space_and_bundle(bundle, amps):
    assert ampacity_a(area_mm2("14 AWG"), 105, 50, bundle) == pytest.approx(amps, abs=0.05)


# 10 gauge THHN, 40 A in the table, four conductors at 0.80. Table 5 gives the same 40 A for insulation of 75 degC.
@published("trade-journal answer on NEC 310.15", "bundle, amps", [(0.80, 32)])
def test_bundle_share_multiplies(bundle, amps):
    assert ampacity_a(area_mm2("10 AWG"), 75, 30, bundle) == pytest.approx(amps)


@published(
    "shipboard ambient-factor table, reference 45 degC",
    "insulation_c, ambient_c, factor",
    [
        (70, 35, 1.18), (70, 40, 1.10), (70, 50, 0.89), (70, 55, 0.77), (70, 60, 0.63),
        (85, 50, 0.94), (85, 60, 0.79), (85, 75, 0.50), (90, 60, 0.82), (90, 75, 0.58), (90, 80, 0.47),
    ],
)  # fmt: skip
def test_ambient_ratio_reproduces_published_factors(insulation_c, ambient_c, factor):
    assert ambient_ratio(insulation_c, ambient_c, 45) == pytest.approx(factor, abs=0.0101)


@published(
    "IEC 60228 class 5, plain copper, 20 degC",
    "mm2, milliohm",
    [(0.5, 39.0), (0.75, 26.0), (1, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30), (10, 1.91), (16, 1.21),
     (25, 0.780), (35, 0.554), (50, 0.386)],
)  # fmt: skip
def test_metric_resistance(mm2, milliohm):
    assert resistance_ohm_per_m(mm2) * 1000 == pytest.approx(milliohm)


@published(
    CIRCULAR,
    "gauge, ohm_per_1000_ft",
    [("22 AWG", 16.20), ("20 AWG", 9.88), ("18 AWG", 6.23), ("16 AWG", 4.81), ("14 AWG", 3.06), ("12 AWG", 2.02),
     ("10 AWG", 1.26), ("8 AWG", 0.70), ("6 AWG", 0.44), ("4 AWG", 0.28), ("2 AWG", 0.18), ("1 AWG", 0.15),
     ("1/0 AWG", 0.12), ("2/0 AWG", 0.09), ("3/0 AWG", 0.07), ("4/0 AWG", 0.06)],
)  # fmt: skip
def test_gauge_resistance(gauge, ohm_per_1000_ft):
    assert resistance_ohm_per_m(area_mm2(gauge)) * 1000 * FOOT_M == pytest.approx(ohm_per_1000_ft)


@published(CIRCULAR, "hot_c, ratio", [(70, (234.5 + 70) / 254.5), (105, (234.5 + 105) / 254.5)])
def test_resistance_grows_with_temperature(hot_c, ratio):
    assert resistance_ohm_per_m(2.5, hot_c) / resistance_ohm_per_m(2.5, 20) == pytest.approx(ratio, rel=1e-3)


# 2.5 mm2 class 5, 5 m one way, 10 A, out and back.
@published("IEC 60228 with IEC 60028, worked", "temperature_c, volts", [(20, 0.798), (70, 0.955)])
def test_drop_of_a_metric_wire(temperature_c, volts):
    assert drop_v(10, 2 * 5, resistance_ohm_per_m(2.5, temperature_c)) == pytest.approx(volts, abs=0.001)


# Tables 11-7 and 11-8: 20 A along a gauge and a length in feet. The last printed 3.60 V of Table 11-7 is
# 88 ft x 20 A x 0.00202 ohm/ft = 3.555 V.
@published(
    CIRCULAR,
    "gauge, feet, volts",
    [("6 AWG", 107, 0.942), ("4 AWG", 90, 0.504), ("14 AWG", 100, 6.12), ("12 AWG", 88, 3.555),
     ("10 AWG", 39, 0.98), ("10 AWG", 156, 3.93), ("10 AWG", 273, 6.88)],
)  # fmt: skip
def test_drop_examples_of_the_advisory_circular(gauge, feet, volts):
    assert drop_v(20, feet * FOOT_M, resistance_ohm_per_m(area_mm2(gauge))) == pytest.approx(volts, abs=0.005)


def test_erratum_of_the_advisory_circular_is_not_used():
    """Table 11-8 prints 0.366 V for 19.5 ft of 10 gauge at 20 A: 19.5 ft x 20 A x 0.00126 ohm/ft is 0.491 V."""
    volts = drop_v(20, 19.5 * FOOT_M, resistance_ohm_per_m(area_mm2("10 AWG")))
    assert volts == pytest.approx(0.491, abs=0.005)
    assert volts != pytest.approx(0.366, abs=0.05)


# Par. 11-69: T1 50 degC, TR 200 degC, 20 A of 26 A; the hot run 15.5 ft equals 9.48 ft at 20 degC.
@published(CIRCULAR, "hot_c, cold_feet", [(181.6, 9.48)])
def test_hot_run_of_the_advisory_circular(hot_c, cold_feet):
    found_c = conductor_temperature_c(50, 200, 20, 26)
    assert found_c == pytest.approx(hot_c, rel=0.01)
    feet = 15.5 * resistance_ohm_per_m(4.0, 20) / resistance_ohm_per_m(4.0, found_c)
    assert feet == pytest.approx(cold_feet, rel=0.01)


# Par. 11-69: 47 A in free air, 0.91 for the altitude and 0.6 for eight wires: 26 A. The product is that of a table
# value and its factors: 10 gauge of 90 degC carries 55 A, so the shares here are 47 / 55 x 0.91 x 0.6.
@published(CIRCULAR, "share, amps", [(47 / 55 * 0.91, 42.77), (47 / 55 * 0.91 * 0.6, 25.7)])
def test_bundle_of_the_advisory_circular(share, amps):
    assert ampacity_a(area_mm2("10 AWG"), 90, 30, share) == pytest.approx(amps, abs=0.05)


def left_in_bundle(count, table):
    vehicle = requirements(circuit(bundle=count), rules={"bundle_table": table})
    return Offer(vehicle).run_share(vehicle.circuits[0])


@published(
    "BS 7671 Table 4C1, bunched",
    "count, share",
    [
        (1, 1.00), (2, 0.80), (3, 0.70), (4, 0.65), (5, 0.60), (6, 0.57), (7, 0.54), (8, 0.52), (9, 0.50), (12, 0.45),
        (16, 0.41), (20, 0.38),
    ],
)  # fmt: skip
def test_bunched_circuits(count, share):
    assert left_in_bundle(count, "bunched") == share


@published(
    "ABYC E-11 AC bundles, 33 CFR 183.425 note 2, in steps",
    "count, share",
    [(2, 0.70), (3, 0.70), (4, 0.60), (6, 0.60), (7, 0.50), (24, 0.50), (25, 0.40)],
)
def test_bundles_in_steps(count, share):
    assert left_in_bundle(count, "steps") == share
