"""Fuses: gates, allowed currents, ratings, voltages; figures typed from their sources against the public calls."""

from __future__ import annotations

import math

import pytest

from allocator.errors import SizingError
from allocator.figures import PUBLISHED
from allocator.sizing.fuses import allowed_ma, ambient_share, opening_time_s, published_allowance_a, system_maximum_v
from tests.published.sources import published


# ISO 8820-3 operating-time gates as quoted by four or more data-sheet notes (type C) and one (type E, 40 A row).
@published(
    "ISO 8820-3 gates as quoted in data sheets",
    "letter, rating_a, current_a, gate",
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
@published(
    "data sheets of type C blades, allowed current",
    "rating_a, ambient_c, amps",
    [(10, 56, 8.0), (10, 66, 7.0), (10, 130, None), (25, 18, 23), (25, 60, 19)],
)
def test_published_allowances(rating_a, ambient_c, amps):
    assert published_allowance_a("C", rating_a, ambient_c) == amps


# The same data sheets through the sizing rule with a loading factor of 100 %: 20 A on 25 A passes at 18, fails at 60
# degC.
def test_allowance_of_the_25_a_fuse():
    assert allowed_ma("C", 25, 18, 1.0) == 23_000
    assert allowed_ma("C", 25, 60, 1.0) == 19_000


# Type E, 40 A, data sheet: 40 A at 20, 34 at 65, 30 at 85, 25 at 110, 22 at 125 degC.
@published(
    "data sheet of a type E 40 A fuse, allowed current",
    "ambient_c, amps",
    [(20, 40), (65, 34), (85, 30), (110, 24.8), (125, 22)],
)
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
@published("ISO 16750-2 supply codes and SAE J2576", "nominal_v, maximum_v", [(12, 16), (24, 32), (42, 58), (48, 58)])
def test_system_maximum(nominal_v, maximum_v):
    assert system_maximum_v(nominal_v) == maximum_v


# ISO 8820-5 scope: strips from 30 to 500 A; a page that gives 1 to 50 A is rejected. ISO 8820-3 scope: blades up to
# 100 A, although 120 A is sold as type E.
def test_rejected_ratings_are_not_used():
    recalled = PUBLISHED.fuse_ratings_recalled.value
    assert min(recalled["SF30"]) == 30 and max(recalled["SF51"]) == 500
    assert max(PUBLISHED.fuse_ratings.value["E"]) == 100


@published(
    "trade tables of blade ratings citing ISO 8820-3",
    "letter, ratings",
    [
        ("C", (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)),
        ("E", (20, 25, 30, 35, 40, 50, 60, 70, 80, 100)),
    ],
)
def test_usual_ratings(letter, ratings):
    assert PUBLISHED.fuse_ratings.value[letter] == ratings
