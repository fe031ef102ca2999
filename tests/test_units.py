"""Values with units: what a user may write, what it means, and what is said to what cannot be read."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.requirements.quantities import Load
from allocator.units import (
    BadValue,
    area_mm2,
    awg_area_mm2,
    from_model,
    gauge_of,
    limit_to_model,
    number_in,
    to_model,
)


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("12 ft", "m", "3.6576"),
        ("12ft", "m", "3.6576"),
        ("3 feet", "m", "0.9144"),
        ("10 in", "mm", "254"),
        ("320 cm", "m", "3.2"),
        ("3.2\u00a0m", "m", "3.2"),
        (" +.5 m ", "m", "0.5"),
        ("5. m", "m", "5"),
        ("1e2 mm", "mm", "100"),
        ("750 mA", "A", "0.75"),
        ("1.2 kW", "W", "1200"),
        ("55 W", "W", "55"),
        ("24 V", "V", "24"),
        ("12000 mV", "V", "12"),
        ("212 degF", "degC", "100"),
        ("-40 °F", "degC", "-40"),
        ("85 °C", "degC", "85"),
        ("300 K", "degC", "26.85"),
        ("100 Ah", "A*h", "100"),
        ("6000 A*min", "A*h", "100"),
        ("90 min", "hour", "1.5"),
        ("30 s", "hour", "0.008333333333"),
        ("3 %", "percent", "3"),
        ("3 percent", "percent", "3"),
        ("80 Ω", "ohm", "80"),
        ("8 mohm", "ohm", "0.008"),
        ("2.5 mm2", "mm**2", "2.5"),
        ("2.5 mm²", "mm**2", "2.5"),
        ("2.5 mm^2", "mm**2", "2.5"),
        ("0.01 in**2", "mm**2", "6.4516"),
        ("99999999999999999999e-10 A", "A", None),
        ("0.1234567890123456789 A", "A", "0.123456789012"),
    ],
)
def test_a_number_with_a_unit(text: str, unit: str, number: str | None) -> None:
    """Exact where the unit is defined by a decimal factor; foot and inch are (0.3048 m, 25.4 mm)."""
    if number is None:
        with pytest.raises(BadValue):
            number_in(text, unit)
    else:
        assert number_in(text, unit) == Decimal(number)


@pytest.mark.parametrize(
    ("text", "unit", "rule", "sentence"),
    [
        ("55", "W", "bare-number", 'is a bare number; a unit is needed; expected a value such as "55 W"'),
        ("", "W", "not-a-number", 'is no number with a unit; expected a value such as "55 W"'),
        ("W", "W", "not-a-number", 'is no number with a unit; expected a value such as "55 W"'),
        ("1.2.3 m", "m", "not-a-number", 'is no number with a unit; expected a value such as "3.2 m" or "12 ft"'),
        ("3,2 m", "m", "decimal-comma", 'has a decimal comma; expected a decimal point, such as "3.2 m"'),
        ("3,2", "m", "decimal-comma", 'has a decimal comma; expected a decimal point, such as "3.2"'),
        ("1,234.5 m", "m", "not-a-number", 'is no number with a unit; expected a value such as "3.2 m" or "12 ft"'),
        ("55 W", "A", "wrong-unit", 'is in "W", which measures something else; expected a value such as "12 A"'),
        ("5 flurb", "A", "unknown-unit", 'has the unknown unit "flurb"; expected a value such as "12 A"'),
        ("5 m**9**9", "A", "unknown-unit", 'has the unknown unit "m**9**9"; expected a value such as "12 A"'),
        ("5 rad", "percent", "unknown-unit", 'has the unknown unit "rad"; expected a value such as "3 %"'),
        (
            "3 m 20 cm",
            "m",
            "unknown-unit",
            'has the unknown unit "m 20 cm"; expected a value such as "3.2 m" or "12 ft"',
        ),
    ],
)
def test_what_is_said_to_what_cannot_be_read(text: str, unit: str, rule: str, sentence: str) -> None:
    with pytest.raises(BadValue) as caught:
        number_in(text, unit)
    assert (caught.value.rule, str(caught.value)) == (rule, sentence)


@given(
    st.text(max_size=30) | st.text("0123456789.,eE+-*/^ AWmVhfgtd°%²", max_size=16),
    st.sampled_from(["A", "m", "degC", "percent", "mm**2"]),
)
@settings(deadline=None)
def test_any_text_is_a_number_or_a_bad_value(text: str, unit: str) -> None:
    """No text reaches pint that it could trip over or work on for long."""
    try:
        assert number_in(text, unit).is_finite()
    except BadValue as bad:
        assert bad.problem and bad.expected


@pytest.mark.parametrize(
    ("text", "gauge"),
    [
        ("14 AWG", 14),
        ("14 ga", 14),
        ("14ga", 14),
        ("gauge 14", 14),
        ("2/0 Gauge", -1),
        ("14 gauges", None),
        ("14awg", 14),
        ("AWG 14", 14),
        ("0 AWG", 0),
        ("1/0 AWG", 0),
        ("00 AWG", -1),
        ("2/0 AWG", -1),
        ("000 AWG", -2),
        ("0000 AWG", -3),
        ("4/0 AWG", -3),
        ("5/0 AWG", None),
        ("14", None),
        ("2.5 mm2", None),
    ],
)
def test_wire_gauges(text: str, gauge: int | None) -> None:
    assert gauge_of(text) == gauge


@pytest.mark.parametrize(("gauge", "mm2"), [(14, 2.081), (16, 1.309), (10, 5.261), (2, 33.63), (0, 53.48), (-3, 107.2)])
def test_gauge_areas(gauge: int, mm2: float) -> None:
    """ASTM B258 sizes; the printed areas have four digits."""
    assert awg_area_mm2(gauge) == pytest.approx(mm2, rel=5e-4)


def test_an_area_by_gauge_is_the_area_in_square_millimetres() -> None:
    assert area_mm2("14 AWG") == area_mm2("2.080908 mm2") == pytest.approx(awg_area_mm2(14), abs=5e-7)
    with pytest.raises(BadValue, match="is no wire gauge; expected a gauge from 4/0 AWG to 40 AWG"):
        area_mm2("41 AWG")


def test_sae_gauges_are_a_table_of_their_own() -> None:
    """9343 cmil of 10 SAE against 10,380 cmil of 10 AWG; the two words do not mix, and a number alone is neither."""
    assert area_mm2("10 SAE") == area_mm2("sae 10") < area_mm2("10 AWG")
    assert area_mm2("10 SAE") == pytest.approx(9343 * 5.0671e-4, rel=1e-4)
    assert area_mm2("2/0 SAE") == area_mm2("00 SAE") == pytest.approx(125_100 * 5.0671e-4, rel=1e-4)
    assert gauge_of("10 SAE") is None
    for text in ("20 SAE", "3 SAE", "20 sae"):
        with pytest.raises(
            BadValue, match="is no SAE gauge; expected 18, 16, 14, 12, 10, 8, 6, 4, 2, 1 or 1/0 to 4/0 SAE"
        ):
            area_mm2(text)
    for text in ("AWG 10 SAE", "10"):
        with pytest.raises(BadValue, match="expected a value such as"):
            area_mm2(text)


@pytest.mark.parametrize(
    ("text", "unit", "parts", "total"),
    [
        ("55 W", "W", ((1, 55.0),), 55),
        ("2 x 21 W + 5 W", "W", ((2, 21.0), (1, 5.0)), 47),
        ("2x21W+5W", "W", ((2, 21.0), (1, 5.0)), 47),
        ("2 × 21 W", "W", ((2, 21.0),), 42),
        ("0.1 kW", "W", ((1, 100.0),), 100),
        ("12 A", "A", ((1, 12.0),), 12),
        ("3 * 500 mA", "A", ((3, 0.5),), 1.5),
    ],
)
def test_loads(text: str, unit: str, parts: tuple[tuple[int, float], ...], total: float) -> None:
    load = Load(text)
    assert (load.unit, load.parts, load.total(12)) == (unit, parts, total)
    assert load == Load(load.text)


def test_lamps_by_name() -> None:
    """Watts follow the net; another text with the same watts is another load."""
    load = Load("2 x P21W + W5W + 3 W")
    assert (load.unit, load.parts, load.lamps) == ("W", ((2, "P21W"), (1, "W5W"), (1, 3.0)), ("P21W", "W5W"))
    assert load.sizes(12) == ((2, 21.0), (1, 5.0), (1, 3.0)) and load.total(24) == 50
    assert (Load("H7").total(12), Load("H7").total(24)) == (55, 70)
    assert Load("W5W") != Load("5 W") and Load("W5W") == Load("W5W")
    with pytest.raises(BadValue, match="names lamp H11 in a net of 24 V; expected 12 V, or watts"):
        Load("H11").total(24)


@pytest.mark.parametrize(("text", "hint"), [("P22W", "P21W"), ("2 x p21w", "P21W"), ("H77 + 5 W", "H7")])
def test_lamps_that_are_unknown(text: str, hint: str) -> None:
    with pytest.raises(BadValue, match="names the unknown lamp") as caught:
        Load(text)
    assert caught.value.hint == f'did you mean "{hint}"?'


def test_equal_loads_in_other_words_are_equal() -> None:
    assert Load("2 x 21 W") == Load("2*21W") == Load("2 x 0.021 kW")
    assert hash(Load("2 x 21 W")) == hash(Load("2*21W"))
    assert Load("42 W") != Load("42 A")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("55", 'is a bare number; a unit is needed; expected a load such as "55 W", "12 A" or "2 x 21 W + 5 W"'),
        ("2 x", 'has the unknown unit "x"; expected a load such as "55 W", "12 A" or "2 x 21 W + 5 W"'),
        ("55 W +", 'is no load; expected a load such as "55 W", "12 A" or "2 x 21 W + 5 W"'),
        ("5,5 W", 'has a decimal comma; expected a decimal point, such as "5.5 W"'),
        (
            "55 m",
            'is in "m", which measures something else; expected a load such as "55 W", "12 A" or "2 x 21 W + 5 W"',
        ),
        ("55 W + 2 A", "adds watts and amperes, which cannot be added; expected one kind of unit"),
        ("0 x 5 W", "is out of range; expected a load above zero"),
        ("-5 W", "is out of range; expected a load above zero"),
        ("999 x 999 W", "is out of range; expected at most 100000 W"),
        ("1 W" + " + 1 W" * 50, "is too long; expected at most 200 characters"),
    ],
)
def test_loads_that_cannot_be_read(text: str, sentence: str) -> None:
    with pytest.raises(BadValue) as caught:
        Load(text)
    assert str(caught.value) == sentence


def test_loads_are_rounded_up_and_limits_down() -> None:
    assert (to_model(1.0001), limit_to_model(1.0009)) == (1001, 1000)
    assert (to_model(0.1 + 0.2), limit_to_model(0.3)) == (300, 300)


@given(st.integers(0, 10**8))
def test_milliamperes_come_back(current_ma: int) -> None:
    assert to_model(from_model(current_ma)) == limit_to_model(from_model(current_ma)) == current_ma
