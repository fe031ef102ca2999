"""Wires: areas, resistance, ampacity, drop; figures typed from their sources against what the public calls say."""

from __future__ import annotations

import math

import pytest

from allocator.sizing.offer import Offer
from allocator.sizing.wires import (
    ambient_factor,
    ambient_ratio,
    ampacity_a,
    resistance_ohm_per_m,
)
from allocator.units import area_mm2
from tests.published.sources import published
from tests.sizing.vehicles import (
    catalogue_table,
    circuit,
    faults,
    option,
    part,
    reason,
    requirements,
    sized,
    terminal,
)

FOOT_M = 0.3048
CMIL_MM2 = math.pi / 4 * 0.0254**2
LESSONS = "Lessons in Electric Circuits, vol. I and V"
CIRCULAR = "FAA AC 43.13-1B chapter 11"
CHARTS = "boat-wiring charts by SAE area"


@published(
    LESSONS,
    "text, cmil",
    [
        ("20 AWG", 1022), ("18 AWG", 1624), ("16 AWG", 2583), ("12 AWG", 6530), ("10 AWG", 10_380),
        ("8 AWG", 16_510), ("6 AWG", 26_250), ("4 AWG", 41_740), ("2 AWG", 66_370), ("1 AWG", 83_690),
        ("1/0 AWG", 105_500), ("2/0 AWG", 133_100), ("3/0 AWG", 167_800),
    ],
    expects="cmil",
)  # fmt: skip
def test_gauge_area_in_circular_mils(text, cmil):
    assert area_mm2(text) / CMIL_MM2 == pytest.approx(cmil, rel=1e-3)


@published(
    CHARTS,
    "text, cmil",
    [
        ("18 SAE", 1537), ("16 SAE", 2336), ("14 SAE", 3702), ("12 SAE", 5833), ("10 SAE", 9343), ("8 SAE", 14_810),
        ("6 SAE", 24_538), ("4 SAE", 37_360), ("2 SAE", 62_450), ("1 SAE", 77_790), ("1/0 SAE", 98_980),
        ("2/0 SAE", 125_100), ("3/0 SAE", 158_600), ("4/0 SAE", 205_500),
    ],
    expects="cmil",
)  # fmt: skip
def test_sae_area_in_circular_mils(text, cmil):
    assert area_mm2(text) / CMIL_MM2 == pytest.approx(cmil, rel=1e-6)


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
    expects="amps",
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


@published(
    "33 CFR 183.425 note 1, engine spaces",
    "insulation_c, ambient_c, factor",
    [(105, 50, 0.85)],
    expects="factor",
)
def test_engine_space_factor(insulation_c, ambient_c, factor):
    assert ambient_factor(insulation_c, ambient_c) == factor


@published(
    "shipboard ambient-factor table, reference 45 degC",
    "insulation_c, ambient_c, factor",
    [
        (70, 35, 1.18), (70, 40, 1.10), (70, 50, 0.89), (70, 55, 0.77), (70, 60, 0.63),
        (85, 50, 0.94), (85, 60, 0.79), (85, 75, 0.50), (90, 60, 0.82), (90, 75, 0.58), (90, 80, 0.47),
    ],
    expects="factor",
)  # fmt: skip
def test_ambient_ratio_reproduces_published_factors(insulation_c, ambient_c, factor):
    assert ambient_ratio(insulation_c, ambient_c, 45) == pytest.approx(factor, abs=0.0101)


@published(
    "IEC 60228 class 5, plain copper, 20 degC",
    "mm2, milliohm",
    [(0.5, 39.0), (0.75, 26.0), (1, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30), (10, 1.91), (16, 1.21),
     (25, 0.780), (35, 0.554), (50, 0.386)],
    expects="milliohm",
)  # fmt: skip
def test_metric_resistance(mm2, milliohm):
    assert resistance_ohm_per_m(mm2) * 1000 == pytest.approx(milliohm)


@published(
    CIRCULAR,
    "gauge, ohm_per_1000_ft",
    [("22 AWG", 16.20), ("20 AWG", 9.88), ("18 AWG", 6.23), ("16 AWG", 4.81), ("14 AWG", 3.06), ("12 AWG", 2.02),
     ("10 AWG", 1.26), ("8 AWG", 0.70), ("6 AWG", 0.44), ("4 AWG", 0.28), ("2 AWG", 0.18), ("1 AWG", 0.15),
     ("1/0 AWG", 0.12), ("2/0 AWG", 0.09), ("3/0 AWG", 0.07), ("4/0 AWG", 0.06)],
    expects="ohm_per_1000_ft",
)  # fmt: skip
def test_gauge_resistance(gauge, ohm_per_1000_ft):
    assert resistance_ohm_per_m(area_mm2(gauge)) * 1000 * FOOT_M == pytest.approx(ohm_per_1000_ft)


@published(
    CIRCULAR, "hot_c, ratio", [(70, (234.5 + 70) / 254.5), (105, (234.5 + 105) / 254.5)], expects="ratio",
)  # fmt: skip
def test_resistance_grows_with_temperature(hot_c, ratio):
    assert resistance_ohm_per_m(2.5, hot_c) / resistance_ohm_per_m(2.5, 20) == pytest.approx(ratio, rel=1e-3)


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
    expects="share",
)  # fmt: skip
def test_bunched_circuits(count, share):
    assert left_in_bundle(count, "bunched") == share


@published(
    "ABYC E-11 AC bundles, 33 CFR 183.425 note 2, in steps",
    "count, share",
    [(2, 0.70), (3, 0.70), (4, 0.60), (6, 0.60), (7, 0.50), (24, 0.50), (25, 0.40)],
    expects="share",
)
def test_bundles_in_steps(count, share):
    assert left_in_bundle(count, "steps") == share


@published(
    "Canadian code Table 5A, ambient factors at 50 degC, reference 30 degC",
    "insulation_c, factor",
    [(60, 0.58), (75, 0.75), (90, 0.82), (105, 0.86), (125, 0.89)],
    expects="factor",
)
def test_ambient_ratio_reproduces_the_canadian_table(insulation_c, factor):
    assert ambient_ratio(insulation_c, 50, 30) == pytest.approx(factor, abs=0.0101)


# Panel mains, bilge blowers, electronics, navigation lights 3 %, other circuits 10 %: the limits of a plain scenario.
@published(
    "ABYC E-11 drop limits on chart pages, ISO 10133:2012 clause 4.7", "critical, percent", [(True, 3), (False, 10)],
    expects="percent",
)  # fmt: skip
def test_drop_limits(critical, percent):
    told = reason(option(circuit(critical=critical)), "wire")
    assert f" V of {percent / 100 * 12:.3g} V over " in told


# Below 50 V a fuse up to 150 % of what its wire may carry: 14 gauge of 105 degC (35 A in Table 5) up to 52.5 A.
@published(
    "33 CFR 183.455(c) and 46 CFR 183.380(d)", "wire, largest_fuse_a", [("14 AWG", 50), ("12 AWG", 60)],
    expects="largest_fuse_a",
)  # fmt: skip
def test_small_craft_rule(wire, largest_fuse_a):
    """Of the ratings sold, 50 A is the largest up to 52.5 A, and 60 A the largest up to 67.5 A."""
    sold = [40, 50, 60, 70]
    parts = catalogue_table()
    offer = {"wires": [part("gauge", area=wire), *parts["wires"]],
             "terminals": [*parts["terminals"], terminal("tab", 9.5, 0.5, 6, 100)]}  # fmt: skip
    allowed = []
    for rating_a in sold:
        wanted = circuit(load="10 A", fuse_format="E", fuse_rating=f"{rating_a} A", wire=wire)
        rules = {"fuse_over_wire": "small-craft-150", "bundle_factor": "100 %"}
        if not faults(wanted, rules=rules, catalogue=offer, supply={"fault_current": "100 A"}):
            allowed.append(rating_a)
    assert allowed == [rating_a for rating_a in sold if rating_a <= largest_fuse_a]
    assert largest_fuse_a in sold


# A separate conductor that is longer than 200 mm: 1 mm2 at the least.
@published("ISO 10133:2012, smallest conductors", "least_mm2", [1], expects="least_mm2")
def test_smallest_separate_conductor(least_mm2):
    def told(area):
        offer = {"wires": [part("w", area=f"{area:.2f} mm2"), *catalogue_table()["wires"]]}
        wanted = circuit(load="1 A", length="0.21 m", wire=f"{area:.2f} mm2")
        return any(item.rule == "wire-below-usual" for item in sized(wanted, catalogue=offer).cautions)

    assert next(area for area in (0.83, 0.9, 0.99, 1, 1.25, 1.5) if not told(area)) == least_mm2
