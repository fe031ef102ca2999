"""Short circuits: k, the area that withstands, melting; figures typed from their sources against the public calls."""

from __future__ import annotations

import math

import pytest

from allocator.sizing.withstand import (
    insulation_k,
    let_through_a2s,
    short_circuit_k,
)
from tests.published.sources import published

CMIL_MM2 = math.pi / 4 * 0.0254**2


@published(
    "BS 7671 54.2 to 54.4, k values",
    "initial_c, final_c, k",
    [(70, 160, 115), (90, 250, 143), (30, 160, 143), (30, 250, 176)],
    expects="k",
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
