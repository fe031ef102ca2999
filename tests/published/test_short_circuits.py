"""Short circuits: k, the area that withstands, melting; figures typed from their sources against the public calls."""

from __future__ import annotations

import math

import pytest

from allocator.sizing.withstand import (
    insulation_k,
    least_fault_area_mm2,
    let_through_a2s,
    melting_current_a,
    short_circuit_k,
    withstand_a2s,
)
from tests.published.sources import published

CMIL_MM2 = math.pi / 4 * 0.0254**2


@published(
    "BS 7671 54.2 to 54.4, k values",
    "initial_c, final_c, k",
    [(70, 160, 115), (90, 250, 143), (30, 160, 143), (30, 250, 176)],
)
def test_k_of_copper(initial_c, final_c, k):
    assert short_circuit_k(initial_c, final_c) == pytest.approx(k, abs=0.5)


# The same formula for automotive insulation that is as hot as it may be (computed, no table prints it).
@pytest.mark.parametrize(("insulation_c", "k"), [(105, 87.6), (125, 123.5)])
def test_k_of_insulation_run_hot(insulation_c, k):
    assert insulation_k(insulation_c) == pytest.approx(k, abs=0.05)


def test_equal_k_of_other_insulation_is_not_mixed_up():
    """143 stands for cross-linked insulation from 90 degC and for separate PVC from 30 degC: k goes by temperatures."""
    assert insulation_k(90) < 115 < short_circuit_k(90, 250)


def test_insulation_outside_of_the_table_stands_nothing():
    assert insulation_k(59) == insulation_k(250) == 0


@published("adiabatic calculator page", "k, amps, seconds, mm2", [(115, 3000, 0.4, 16.5)])
def test_area_of_the_calculator_page(k, amps, seconds, mm2):
    assert least_fault_area_mm2(amps**2 * seconds, k) == pytest.approx(mm2, abs=0.1)
    assert math.sqrt(amps**2 * seconds) == pytest.approx(1897.4, abs=0.2)


# Metric sizes as the pages choose them: the next larger one; 25 mm2 fails the third.
@published(
    "adiabatic example pages",
    "k, amps, seconds, mm2, taken, too_thin",
    [(143, 12_000, 0.02, 11.87, 16, 10), (115, 10_000, 0.1, 27.5, 35, 25)],
)
def test_area_of_the_example_pages(k, amps, seconds, mm2, taken, too_thin):
    assert least_fault_area_mm2(amps**2 * seconds, k) == pytest.approx(mm2, abs=0.1)
    assert withstand_a2s(too_thin, k) < amps**2 * seconds <= withstand_a2s(taken, k)


@published("software documentation of Onderdonk's equation", "cmil, seconds, amps", [(1000, 1, 146.3)])
def test_melting_current(cmil, seconds, amps):
    assert melting_current_a(cmil * CMIL_MM2, seconds, 25) == pytest.approx(amps, rel=0.01)


# ISO 8820-3 gates as quoted in data sheets: type C at 200, 350, 600 %: 5, 0.5, 0.15 s; type E at 350, 600 %: 7, 1 s.
@pytest.mark.parametrize(
    ("letter", "rating_a", "prospective_a", "integral"),
    [
        ("C", 10, 1000, 2000),  # (20 A)2 x 5 s is more than (35 A)2 x 0.5 s and (60 A)2 x 0.15 s
        ("C", 10, 20, 2000),
        ("C", 10, 19.9, None),
        ("E", 40, 1000, 57_600),  # (240 A)2 x 1 s; 7 s at 350 % is too long to count as adiabatic
        ("E", 40, 239, None),
        ("SF30", 40, 1000, None),
    ],
)
def test_what_a_fuse_lets_by(letter, rating_a, prospective_a, integral):
    assert let_through_a2s(letter, rating_a, prospective_a) == (None if integral is None else pytest.approx(integral))
