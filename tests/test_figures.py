"""Published figures, typed here from their sources, against what the public calls say."""

from __future__ import annotations

import math

import pytest

from allocator import figures
from allocator.errors import SizingError
from allocator.requirements.quantities import Load
from allocator.requirements.scenario import Vehicle
from allocator.sizing.current import design_current_a
from allocator.sizing.fuses import allowed_ma, ambient_share, opening_time_s, published_allowance_a, system_maximum_v
from allocator.sizing.supply import charger_share, endurance_h
from allocator.sizing.wires import (
    ambient_factor,
    ambient_ratio,
    ampacity_a,
    conductor_temperature_c,
    drop_v,
    resistance_ohm_per_m,
)
from allocator.units import area_mm2, awg_area_mm2

FOOT_M = 0.3048
CMIL_MM2 = math.pi / 4 * 0.0254**2


# ASTM B258, as in a public test file: diameters of AWG 24 and AWG 0.
@pytest.mark.parametrize(("gauge", "diameter_mm"), [(24, 0.511), (0, 8.251)])
def test_gauge_diameter(gauge, diameter_mm):
    assert math.sqrt(awg_area_mm2(gauge) * 4 / math.pi) == pytest.approx(diameter_mm, rel=1e-3)


# "Lessons in Electric Circuits", vol. V, wire table: circular mils; mm2 of AWG 14 and 4/0 from a workshop reference.
@pytest.mark.parametrize(
    ("text", "cmil"),
    [("14 AWG", 4107), ("4/0 AWG", 211_600), ("1/0 AWG", 105_500), ("2/0 AWG", 133_100), ("10 AWG", 10_380)],
)
def test_gauge_area_in_circular_mils(text, cmil):
    assert area_mm2(text) / CMIL_MM2 == pytest.approx(cmil, rel=1e-3)


@pytest.mark.parametrize(("text", "mm2"), [("14 AWG", 2.081), ("4/0 AWG", 107.2)])
def test_gauge_area(text, mm2):
    assert area_mm2(text) == pytest.approx(mm2, rel=1e-3)


# 33 CFR 183.425 Table 5 (law): allowable amperage at 30 degC by gauge and insulation temperature.
@pytest.mark.parametrize(
    ("gauge", "insulation_c", "amps"),
    [
        ("18 AWG", 60, 10), ("18 AWG", 80, 15), ("18 AWG", 105, 20), ("16 AWG", 105, 25), ("16 AWG", 125, 30),
        ("14 AWG", 60, 20), ("14 AWG", 80, 25), ("14 AWG", 90, 30), ("14 AWG", 105, 35), ("14 AWG", 200, 45),
        ("12 AWG", 105, 45), ("10 AWG", 75, 40), ("10 AWG", 105, 60), ("8 AWG", 105, 80), ("6 AWG", 90, 100),
        ("6 AWG", 105, 120), ("4 AWG", 105, 160), ("2 AWG", 80, 175), ("1/0 AWG", 105, 285), ("4/0 AWG", 60, 300),
        ("4/0 AWG", 105, 445),
    ],
)  # fmt: skip
def test_table_5_of_33_cfr(gauge, insulation_c, amps):
    assert ampacity_a(area_mm2(gauge), insulation_c, 30) == amps


# The same table read at metric sizes: the next smaller gauge, never the next larger.
@pytest.mark.parametrize(("mm2", "amps"), [(1, 20), (1.5, 25), (2.5, 35), (4, 45), (6, 60), (10, 80), (16, 120)])
def test_table_5_at_metric_sizes(mm2, amps):
    assert ampacity_a(mm2, 105, 30) == amps


def test_table_5_has_no_row_below_18_gauge_and_no_column_below_60_degrees():
    assert ampacity_a(0.75, 105, 30) == 0
    assert ampacity_a(2.5, 59, 30) == 0


# 33 CFR 183.425 note 1: in engine spaces (50 degC) insulation of 105 degC has a factor of 0.85.
def test_engine_space_factor():
    assert ambient_factor(105, 50) == 0.85


# The same 14 AWG wire in an engine space, then in a bundle by ABYC E-11 (0.70): 29.75 A, 20.8 A.
def test_wire_in_engine_space_and_bundle():
    assert ampacity_a(area_mm2("14 AWG"), 105, 50) == pytest.approx(29.75, abs=0.005)
    assert ampacity_a(area_mm2("14 AWG"), 105, 50, 0.70) == pytest.approx(20.8, abs=0.05)


# Trade-journal answer on NEC 310.15: 10 gauge THHN, 40 A in the table, four conductors at 0.80: 32 A. Table 5 gives the
# same 40 A for insulation of 75 degC.
def test_bundle_share_multiplies():
    assert ampacity_a(area_mm2("10 AWG"), 75, 30, 0.80) == pytest.approx(32)


# Correction factors of shipboard tables (reference 45 degC), as reproduced by cable-engineering pages, to 0.01.
@pytest.mark.parametrize(
    ("insulation_c", "ambient_c", "factor"),
    [
        (70, 35, 1.18), (70, 40, 1.10), (70, 50, 0.89), (70, 55, 0.77), (70, 60, 0.63),
        (85, 50, 0.94), (85, 60, 0.79), (85, 75, 0.50), (90, 60, 0.82), (90, 75, 0.58), (90, 80, 0.47),
    ],
)  # fmt: skip
def test_ambient_ratio_reproduces_published_factors(insulation_c, ambient_c, factor):
    assert ambient_ratio(insulation_c, ambient_c, 45) == pytest.approx(factor, abs=0.0101)


# IEC 60228 class 5, plain copper, 20 degC, mohm/m, as on four cable-engineering pages.
@pytest.mark.parametrize(
    ("mm2", "milliohm"),
    [(0.5, 39.0), (0.75, 26.0), (1, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30), (10, 1.91), (16, 1.21),
     (25, 0.780), (35, 0.554), (50, 0.386)],
)  # fmt: skip
def test_metric_resistance(mm2, milliohm):
    assert resistance_ohm_per_m(mm2) * 1000 == pytest.approx(milliohm)


# Resistance at temperature: R(T) = R20 (234.5 + T) / 254.5, FAA AC 43.13-1B par. 11-69; alpha 0.00393 of IEC 60028.
def test_resistance_grows_with_temperature():
    ratio = resistance_ohm_per_m(2.5, 70) / resistance_ohm_per_m(2.5, 20)
    assert ratio == pytest.approx((234.5 + 70) / 254.5, rel=1e-3)


# 2.5 mm2 class 5, 5 m one way, 10 A, out and back: 0.798 V at 20 degC, 0.955 V at 70 degC (computed from IEC figures).
@pytest.mark.parametrize(("temperature_c", "volts"), [(20, 0.798), (70, 0.955)])
def test_drop_of_a_metric_wire(temperature_c, volts):
    assert drop_v(10, 2 * 5, resistance_ohm_per_m(2.5, temperature_c)) == pytest.approx(volts, abs=0.001)


# FAA AC 43.13-1B Tables 11-7 and 11-8: 20 A along a gauge and a length in feet. The last printed 3.60 V of Table 11-7
# is 88 ft x 20 A x 0.00202 ohm/ft = 3.555 V.
@pytest.mark.parametrize(
    ("gauge", "feet", "volts"),
    [("6 AWG", 107, 0.942), ("4 AWG", 90, 0.504), ("14 AWG", 100, 6.12), ("12 AWG", 88, 3.555),
     ("10 AWG", 39, 0.98), ("10 AWG", 156, 3.93), ("10 AWG", 273, 6.88)],
)  # fmt: skip
def test_drop_examples_of_the_advisory_circular(gauge, feet, volts):
    assert drop_v(20, feet * FOOT_M, resistance_ohm_per_m(area_mm2(gauge))) == pytest.approx(volts, abs=0.005)


# Table 11-8 prints 0.366 V for 19.5 ft of 10 gauge at 20 A: an erratum, since 19.5 ft x 20 A x 0.00126 ohm/ft = 0.491
# V.
def test_erratum_of_the_advisory_circular_is_not_used():
    volts = drop_v(20, 19.5 * FOOT_M, resistance_ohm_per_m(area_mm2("10 AWG")))
    assert volts == pytest.approx(0.491, abs=0.005)
    assert volts != pytest.approx(0.366, abs=0.05)


# FAA AC 43.13-1B par. 11-69: T1 50 degC, TR 200 degC, 20 A of 26 A; the hot run 15.5 ft equals 9.48 ft at 20 degC.
def test_hot_run_of_the_advisory_circular():
    hot_c = conductor_temperature_c(50, 200, 20, 26)
    assert hot_c == pytest.approx(181.6, rel=0.01)
    cold_feet = 15.5 * resistance_ohm_per_m(4.0, 20) / resistance_ohm_per_m(4.0, hot_c)
    assert cold_feet == pytest.approx(9.48, rel=0.01)


# ISO 8820-3 operating-time gates as quoted by four or more data-sheet notes (type C) and one (type E, 40 A row).
@pytest.mark.parametrize(
    ("letter", "rating_a", "current_a", "gate"),
    [
        ("C", 10, 13.5, (0.75, 600)), ("C", 10, 16, (0.25, 50)), ("C", 10, 20, (0.15, 5)), ("C", 10, 35, (0.08, 0.5)),
        ("F", 10, 60, (0.03, 0.1)),
        ("E", 40, 54, (60, 1800)), ("E", 40, 80, (2, 50)), ("E", 40, 140, (0.2, 7)), ("E", 40, 240, (0.04, 1)),
    ],
)  # fmt: skip
def test_gates(letter, rating_a, current_a, gate):
    assert opening_time_s(letter, rating_a, current_a) == gate


# At 110 % no opening within 100 h, and no latest time: the same notes.
def test_no_opening_at_110_percent():
    assert opening_time_s("C", 10, 11) == (100 * 3600, math.inf)


# One note prints 0.04 s as the earliest time at 350 %; the others, and the recommendation, say 0.08 s.
def test_rejected_gate_is_not_used():
    assert opening_time_s("C", 10, 35)[0] != 0.04


# The printed "100 %" of the type E row is its 110 % row: a fuse at its rating has no opening time at all.
def test_type_e_row_printed_as_100_percent_is_read_as_110():
    assert opening_time_s("E", 40, 40) == (math.inf, math.inf)
    assert opening_time_s("E", 40, 44) == (100 * 3600, math.inf)


# Between gates nothing is interpolated: 250 % is not before the 350 % gate's earliest, not after the 200 % gate's
# latest.
def test_between_gates_only_the_neighbours_hold():
    assert opening_time_s("C", 10, 25) == (0.08, 5)


# Data sheets of type C blades: 10 A fuse at 56, 66 and 130 degC, 25 A fuse at 18 and 60 degC.
@pytest.mark.parametrize(
    ("rating_a", "ambient_c", "amps"), [(10, 56, 8.0), (10, 66, 7.0), (10, 130, None), (25, 18, 23), (25, 60, 19)]
)
def test_published_allowances(rating_a, ambient_c, amps):
    assert published_allowance_a("C", rating_a, ambient_c) == amps


# The same data sheets through the sizing rule with a loading factor of 100 %: 20 A on 25 A passes at 18, fails at 60
# degC.
def test_allowance_of_the_25_a_fuse():
    assert allowed_ma("C", 25, 18, 1.0) == 23_000
    assert allowed_ma("C", 25, 60, 1.0) == 19_000


# Type E, 40 A, data sheet: 40 A at 20, 34 at 65, 30 at 85, 25 at 110, 22 at 125 degC.
@pytest.mark.parametrize(("ambient_c", "amps"), [(20, 40), (65, 34), (85, 30), (110, 24.8), (125, 22)])
def test_allowance_of_the_40_a_maxi_fuse(ambient_c, amps):
    assert allowed_ma("E", 40, ambient_c, 1.0) == round(amps * 1000)


# General fuse guidance: at most 75 % of the rating at 25 degC (fuse glossary); a maker's curve is not multiplied with
# it.
def test_loading_factor_and_curve_are_not_multiplied():
    assert allowed_ma("C", 10, 25, 0.75) == 7_500
    assert allowed_ma("C", 10, 85, 0.75) == 6_600


def test_past_the_last_column_is_refused():
    for letter, ambient_c in (("C", 86), ("F", 101), ("E", 126), ("SF30", 86)):
        with pytest.raises(SizingError, match="no data sheet"):
            ambient_share(letter, ambient_c)


def test_a_type_without_curve_gets_the_least():
    assert ambient_share("SF30", 40) == 0.76
    assert ambient_share("N", 65) == 0.68


# ISO 16750-2 supply codes: 16 V and 32 V; SAE J2576: 58 V blades for 42/48 V nets, 32 V fuses must not be used there.
@pytest.mark.parametrize(("nominal_v", "maximum_v"), [(12, 16), (24, 32), (42, 58), (48, 58)])
def test_system_maximum(nominal_v, maximum_v):
    assert system_maximum_v(nominal_v) == maximum_v


# UN R37 names: H7 55 W at its test voltage of 13.2 V draws 4.17 A; H1 55 W at 12 V draws 4.58 A.
@pytest.mark.parametrize(("volts", "amps"), [("13.2 V", 4.17), ("12 V", 4.58)])
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
    assert charger_share(52, 80) == pytest.approx(0.65) and charger_share(52, 80) <= figures.CHARGER_SHARE.value
    assert (
        charger_share(52, 60) == pytest.approx(0.867, abs=0.005) and charger_share(52, 60) > figures.CHARGER_SHARE.value
    )


# ISO 8820-5 scope: strips from 30 to 500 A; a page that gives 1 to 50 A is rejected. ISO 8820-3 scope: blades up to
# 100 A, although 120 A is sold as type E.
def test_rejected_ratings_are_not_used():
    recalled = figures.FUSE_RATINGS_RECALLED.value
    assert min(recalled["SF30"]) == 30 and max(recalled["SF51"]) == 500
    assert max(figures.FUSE_RATINGS.value["E"]) == 100


def test_every_figure_has_unit_source_and_mark():
    assert len(figures.ALL) >= 25
    for name, figure in figures.ALL.items():
        assert figure.unit and len(figure.source) > 10, name
        assert figure.confidence in ("C", "C2", "X", "M", "P"), name


def test_smallest_share_of_each_published_row_bounds_its_curve():
    """The curves claim to be the smallest published share, rounded down: no published row may lie below its curve."""
    for (letter, rating_a), steps in figures.FUSE_PUBLISHED.value.items():
        for ambient_c, amps in steps:
            assert ambient_share(letter, ambient_c) * rating_a <= amps + 1e-9, (letter, rating_a, ambient_c)
