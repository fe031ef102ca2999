"""Fuses: gates, allowed currents, ratings, voltages; figures typed from their sources against the public calls."""

from __future__ import annotations

import pytest

from allocator.errors import SizingError
from allocator.outputs.marks import fuse_colour
from allocator.requirements import load_catalogue
from allocator.sizing.fuses import (
    allowed_ma,
    ambient_share,
    current_of_drop_a,
    melting_a2s,
    opening_time_s,
    published_allowance_a,
    system_maximum_v,
)
from allocator.sizing.offer import Offer
from tests.published.sources import published
from tests.sizing.vehicles import catalogue_table, circuit, fuse, requirements, sized, terminal


@published(
    "ISO 8820-3 gates as quoted in data sheets",
    "letter, rating_a, current_a, gate",
    [
        ("F", 10, 13.5, (0.75, 600)), ("F", 10, 16, (0.25, 50)), ("F", 10, 20, (0.15, 5)), ("F", 10, 35, (0.08, 0.5)),
        ("F", 10, 60, (0.03, 0.1)), ("C", 40, 240, (None, 0.15)),
    ],
    expects="gate",
)  # fmt: skip
def test_gates(letter, rating_a, current_a, gate):
    """Of type C no note gives an earliest time at 600 %: it may open at once."""
    earliest, latest = gate
    assert opening_time_s(letter, rating_a, current_a) == (earliest or 0.0, latest)


# Between gates nothing is interpolated: 250 % is not before the 350 % gate's earliest, not after the 200 % gate's
# latest.
def test_between_gates_only_the_neighbours_hold():
    assert opening_time_s("C", 10, 25) == (0.08, 5)


# The same data sheets through the sizing rule with a loading factor of 100 %: 20 A on 25 A passes at 18, fails at 60
# degC.
def test_allowance_of_the_25_a_fuse():
    assert allowed_ma("C", 25, 18, 1.0) == 23_000
    assert allowed_ma("C", 25, 60, 1.0) == 19_000


# Type E, 40 A, data sheet: 40 A at 20, 34 at 65, 30 at 85, 25 at 110, 22 at 125 degC.
@published(
    "data sheet of a type E 40 A fuse, allowed current",
    "ambient_c, amps",
    [(20, 40), (65, 34), (85, 30), (110, 25), (125, 22)],
    expects="amps",
)
def test_allowance_of_the_40_a_maxi_fuse(ambient_c, amps):
    """The curve of the type is rounded down, so that it never allows more."""
    assert published_allowance_a("E", 40, ambient_c) == amps
    assert 990 * amps <= allowed_ma("E", 40, ambient_c, 1.0) <= 1000 * amps


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
@published(
    "ISO 16750-2 supply codes and SAE J2576",
    "nominal_v, maximum_v",
    [(12, 16), (24, 32), (42, 58), (48, 58)],
    expects="maximum_v",
)
def test_system_maximum(nominal_v, maximum_v):
    assert system_maximum_v(nominal_v) == maximum_v


@published(
    "trade tables of blade ratings citing ISO 8820-3",
    "letter, ratings",
    [
        ("C", (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)),
        ("E", (20, 25, 30, 35, 40, 50, 60, 70, 80, 100)),
    ],
    expects="ratings",
)
def test_usual_ratings(letter, ratings):
    """Of every rating up to 130 A just these are no odd ones; 120 A of type E is sold outside of ISO 8820-3."""
    tried = [1, 2, 3, 4, 5, 6, 7.5, 8, 10, 12, 15, 17.5, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 120]
    parts = catalogue_table()
    fuses = {item["id"]: item for item in [*parts["fuses"], *(fuse(letter, rating_a) for rating_a in tried)]}
    terminals = [*parts["terminals"], *(terminal("tab", mm, 0.5, 50, 300) for mm in (6.3, 9.5))]
    wanted = [
        circuit(f"c{number}", load="0.5 A", length="0.1 m", fuse_format=letter, fuse_rating=f"{rating_a} A")
        for number, rating_a in enumerate(tried)
    ]
    table = sized(*wanted, catalogue={"fuses": [*fuses.values()], "terminals": terminals})
    odd = {item.about for item in table.cautions if item.rule == "rating-unusual"}
    assert tuple(rating_a for rating_a in tried if f"{letter}{rating_a:g}" not in odd) == ratings


@published(
    "data sheets of type F blades, allowed current",
    "rating_a, ambient_c, amps",
    [
        (2, 20, 1.9),
        (2, 40, 1.7),
        (5, 40, 4.0),
        (7.5, 40, 6.0),
        (7.5, 60, 5.5),
        (7.5, 80, 5.1),
        (15, 20, 13),
        (15, 100, 9),
    ],
    expects="amps",
)
def test_allowances_of_mini_blades(rating_a, ambient_c, amps):
    """And the curve of the type never allows more than the sheet of any rating."""
    assert published_allowance_a("F", rating_a, ambient_c) == amps
    assert allowed_ma("F", rating_a, ambient_c, 1.0) <= 1000 * amps


@published(
    "data sheets of blade fuses, cold resistance",
    "letter, rating_a, milliohm",
    [
        ("C", 1, 123), ("C", 2, 53.5), ("C", 4, 22.8), ("C", 20, 3.38), ("C", 40, 1.44), ("F", 7.5, 10.85),
        ("F", 15, 4.58), ("E", 30, 1.9), ("E", 35, 1.7), ("E", 40, 1.4),
    ],
    expects="milliohm",
)  # fmt: skip
def test_cold_resistance(letter, rating_a, milliohm):
    assert current_of_drop_a(letter, rating_a, milliohm / 1000) == pytest.approx(1.0)


@published(
    "data sheets of blade fuses, melting integral",
    "letter, rating_a, a2s",
    [
        ("C", 20, 520),
        ("C", 40, 3300),
        ("F", 15, 308),
        ("F", 20, 380),
        ("E", 30, 4100),
        ("E", 35, 6000),
        ("E", 40, 8500),
    ],
    expects="a2s",
)
def test_melting_integral(letter, rating_a, a2s):
    assert melting_a2s(letter, rating_a) == a2s


# Colours of the body by rating; both tables agree. 1 A is black (one marine note says grey).
@published(
    "two trade tables of fuse colours citing DIN 72581, ISO 8820-3 and SAE J1284",
    "letter, rating_a, colour",
    [
        ("C", 1, "black"), ("C", 2, "grey"), ("C", 3, "violet"), ("C", 4, "pink"), ("C", 5, "tan"), ("C", 7.5, "brown"),
        ("C", 10, "red"), ("C", 15, "blue"), ("C", 20, "yellow"), ("F", 25, "natural"), ("F", 30, "green"),
        ("C", 35, "blue-green"), ("C", 40, "orange"), ("E", 20, "yellow"), ("E", 30, "green"), ("E", 40, "orange"),
        ("E", 50, "red"), ("E", 60, "blue"), ("E", 80, "natural"),
    ],
    expects="colour",
)  # fmt: skip
def test_colours(letter, rating_a, colour):
    found = fuse_colour(letter, rating_a)
    assert found is not None and found.name == colour


# Scope texts: blades and cartridges break 1000 A, strips 2000 A; 32 V blades are not for nets of 42 or 48 V.
@published(
    "scope texts of ISO 8820-3, -5", "letter, breaks_a", [("C", 1000), ("E", 1000), ("F", 1000), ("SF30", 2000)],
    expects="breaks_a",
)  # fmt: skip
def test_breaking_capacity(letter, breaks_a):
    """Of the catalogue that ships: offered up to just that fault current."""
    shipped = load_catalogue()
    for fault_a, offered in ((breaks_a, True), (breaks_a + 1, False)):
        net = requirements(supply={"fault_current": f"{fault_a} A"}).model_copy(update={"catalogue": shipped})
        assert _offers(Offer(net), letter) == offered


@published(
    "scope text of ISO 8820-3 and SAE J2576 for 42 V nets", "nominal_v, least_fuse_v",
    [(12, 32), (24, 32), (42, 58), (48, 58)], expects="least_fuse_v",
)  # fmt: skip
def test_voltage_of_fuses(nominal_v, least_fuse_v):
    """Of fuses for 32 V and for 58 V the smallest that is good enough is offered, never one for less."""
    volts = dict.fromkeys(("nominal_voltage", "operating_voltage", "minimum_voltage"), f"{nominal_v} V")
    both = [fuse("C", 10, 32), fuse("C", 10, 58)]
    offered = Offer(requirements(vehicle=volts, catalogue={"fuses": both})).fuses("C")
    assert min(item.voltage for item in offered) == least_fuse_v


def _offers(offer, letter):
    try:
        return bool(offer.fuses(letter))
    except SizingError:
        return False


def test_of_a_type_without_a_data_sheet_nothing_is_told():
    assert published_allowance_a("SF51", 40, 25) is None
    assert published_allowance_a("C", 7.25, 25) is None
    assert melting_a2s("SF51", 40) is None
    assert current_of_drop_a("SF51", 40, 0.01) is None


def test_a_fuse_just_below_a_gate_is_not_yet_at_it():
    """ISO 8820-3: up to 100 % never, at 110 % not within 100 h; 135 % is the first gate that makes it open."""
    assert opening_time_s("C", 10, 10) == (float("inf"), float("inf"))
    assert opening_time_s("C", 10, 10.05) == (360_000, float("inf"))
    assert opening_time_s("F", 10, 13.46) == (0.75, float("inf"))
    assert opening_time_s("F", 10, 13.5) == (0.75, 600)
