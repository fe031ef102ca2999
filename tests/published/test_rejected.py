"""
What a source prints wrongly, or one page against all others: the sums must not give it.

Each test names the page's figure, and what the formula or the other sources give in its place.
"""

from __future__ import annotations

import math

import pytest

from allocator.figures import PUBLISHED
from allocator.outputs.marks import fuse_colour
from allocator.sizing.fuses import allowed_ma, opening_time_s
from allocator.sizing.wires import ambient_factor, ampacity_a, drop_v, least_area_mm2, resistance_ohm_per_m
from allocator.sizing.withstand import insulation_k, short_circuit_k
from allocator.units import area_mm2
from tests.sizing.vehicles import circuit, option, sized

FOOT_M = 0.3048
CMIL_MM2 = math.pi / 4 * 0.0254**2


def test_erratum_of_table_11_8():
    """FAA AC 43.13-1B prints 0.366 V for 19.5 ft of 10 gauge at 20 A: 19.5 ft x 20 A x 0.00126 ohm/ft is 0.491 V."""
    volts = drop_v(20, 19.5 * FOOT_M, resistance_ohm_per_m(area_mm2("10 AWG")))
    assert volts == pytest.approx(0.491, abs=0.005)
    assert volts != pytest.approx(0.366, abs=0.05)


def test_last_row_of_table_11_7():
    """It prints 3.60 V for 88 ft of 12 gauge at 20 A: 88 ft x 20 A x 0.00202 ohm/ft is 3.555 V."""
    volts = drop_v(20, 88 * FOOT_M, resistance_ohm_per_m(area_mm2("12 AWG")))
    assert volts == pytest.approx(3.555, abs=0.005)
    assert volts != pytest.approx(3.60, abs=0.02)


def test_a_list_that_shifts_the_sae_rows():
    """One chart prints 19,730 cmil beside gauge 8, the row of another size; the others print 14,810."""
    assert area_mm2("8 SAE") / CMIL_MM2 == pytest.approx(14_810)


def test_gauge_areas_do_not_stand_for_sae_areas():
    """By AWG area 12 gauge (6530 cmil) would do for the pump of the boat charts (6271 cmil); by SAE area it is 10."""
    needed = least_area_mm2(10.75 * CMIL_MM2 / FOOT_M, 21 * FOOT_M, 12 * 0.03 / 10)
    assert area_mm2("12 SAE") < needed < area_mm2("12 AWG")
    assert area_mm2("10 SAE") > needed


def test_earliest_time_at_350_percent():
    """One note prints 0.04 s; the others 0.08 s."""
    assert opening_time_s("C", 10, 35)[0] == 0.08


def test_row_of_type_e_that_is_printed_as_100_percent():
    """It is the row of 110 %: a fuse at its rating has no opening time at all."""
    assert opening_time_s("E", 40, 40) == (math.inf, math.inf)
    assert opening_time_s("E", 40, 44) == (100 * 3600, math.inf)


def test_strips_of_1_to_50_a():
    """A page gives strip fuses of 1 to 30 and 1 to 50 A; the scope of ISO 8820-5 says 30 to 500 A."""
    recalled = PUBLISHED.fuse_ratings_recalled.value
    assert min(recalled["SF30"]) == 30 and max(recalled["SF51"]) == 500


def test_type_e_of_120_a():
    """Sold, and outside of the 100 A of ISO 8820-3; ``test_fuses.py`` shows that it is told as unusual."""
    assert max(PUBLISHED.fuse_ratings.value["E"]) == 100


def test_a_grey_fuse_of_1_a():
    """One marine note says grey; both tables say black. 2 A is grey."""
    for letter in "CF":
        assert fuse_colour(letter, 1).name == "black" and fuse_colour(letter, 2).name == "grey"


def test_loading_factor_times_makers_curve():
    """A maker's table of allowed current holds its margin already: 10 A type C at 85 degC is 6.6 A, not 75 % of it."""
    assert allowed_ma("C", 10, 85, 0.75) == 6_600
    assert allowed_ma("C", 10, 25, 0.75) == 7_500


def test_engine_space_factors_of_other_tables():
    """The formula gives 0.856, the Canadian table prints 0.86; 33 CFR 183.425 says 0.85, which is the safest."""
    assert ambient_factor(105, 50) == 0.85


def test_stepped_bundles_are_not_the_default():
    """ABYC's flat 0.70 for DC holds where nothing is said: 14 gauge of 105 degC in a bundle carries 24.5 A."""
    assert PUBLISHED.ampacity_ambient.value == 30
    assert option(circuit()).wire_limit_a == pytest.approx(ampacity_a(1.0, 105, 30, 0.70))


def test_copper_of_the_handbook_is_not_that_of_the_drop():
    """10.09 ohm.cmil/ft (element copper) and ABYC's K of 10.75 stay within their own examples: IEC 60228 is larger."""
    handbook, abyc = (k * CMIL_MM2 / FOOT_M / 2.5 for k in (10.09, 10.75))
    assert resistance_ohm_per_m(2.5) > abyc > handbook


def test_hot_resistance_by_230():
    """One table divides by 230 and prints 0.833 at 70 degC; IEC 60028 gives 0.836."""
    ratio = resistance_ohm_per_m(2.5, 20) / resistance_ohm_per_m(2.5, 70)
    assert ratio == pytest.approx(0.836, abs=0.0005)


def test_one_k_of_143_for_two_insulations():
    """Cross-linked insulation from 90 degC and separate PVC from 30 degC share it: k goes by temperatures."""
    assert insulation_k(90) < 115 < short_circuit_k(90, 250)
    assert short_circuit_k(90, 250) == pytest.approx(short_circuit_k(30, 160), abs=0.5)


def test_half_of_the_loop():
    """A worked set prints half of what its formula gives (0.46 for 0.92): the way back counts where it is a wire."""
    there_and_back, there = (
        option(circuit(length="5 m", load="10 A"), vehicle={"return_path": path}).wires for path in ("wire", "chassis")
    )
    assert [cut.length_mm for cut in there_and_back] == [5000, 5000] and [cut.length_mm for cut in there] == [5000]


def test_150_percent_is_never_taken_unasked():
    """33 CFR 183.455 allows a fuse of 150 %, AC 43.13-1B wants the wire above the fuse: that holds unless asked."""
    for need in sized(*(circuit(f"c{amps}", load=f"{amps} A") for amps in (2, 5, 9, 14, 20))).needs:
        assert all(item.fuse_rating_a <= item.wire_limit_a for item in need.options)
