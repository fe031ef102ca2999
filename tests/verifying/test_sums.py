"""The checker's own sums on wires, fuses, loads and derating, against figures worked by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from allocator.figures import PUBLISHED
from allocator.requirements.catalogue import DeratingStep, Fuse, FuseFormat, LoadType, Relay, Wire
from allocator.requirements.own_figures import OwnFigures
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle import Vehicle
from allocator.verifying.design_current import design_current_ma
from allocator.verifying.drop import wire_ohm_per_m, wire_temperature_c
from allocator.verifying.exact import amperes, exact, number
from allocator.verifying.fuse_current import fuse_limit_ma, fuse_share
from allocator.verifying.limits import derated_ma
from allocator.verifying.relays import contact_ma
from allocator.verifying.wire_current import wire_limit_ma
from allocator.verifying.withstand import fault_heat_a2s, wire_heat_a2s


def _wire(area: str, insulation: str) -> Wire:
    return Wire.model_validate({"id": "w", "label": "w", "price": "1", "area": area, "insulation": insulation})


@pytest.mark.parametrize(
    ("area", "insulation", "ambient_c", "bundle", "expected_a"),
    [
        ("14 AWG", "105 degC", 30.0, 100, "35"),  # the table's own row, column and ambient
        ("14 AWG", "105 degC", 50.0, 100, "29.75"),  # engine space: .85
        ("14 AWG", "105 degC", 50.0, 70, "20.825"),  # and bundled: .70
        ("2.5 mm2", "105 degC", 30.0, 100, "35"),  # between 14 and 12 AWG: read at 14
        ("2.5 mm2", "104 degC", 30.0, 100, "30"),  # between two columns: read at 90
        ("2.5 mm2", "104 degC", 60.0, 100, "21"),  # sqrt(30 / 60) = 0.707 of the 90 degC column
        ("2.5 mm2", "105 degC", -10.0, 100, "35"),  # no bonus for a cold place
        ("2.5 mm2", "105 degC", 105.0, 100, "0"),  # as hot as the insulation may be
        ("0.75 mm2", "105 degC", 30.0, 100, "0"),  # thinner than the table
        ("2.5 mm2", "55 degC", 30.0, 100, "0"),  # cooler than the table
        ("120 mm2", "60 degC", 30.0, 100, "300"),  # past the last row: read at 4/0
    ],
)  # fmt: skip
def test_wire_current(area: str, insulation: str, ambient_c: float, bundle: float, expected_a: str) -> None:
    assert wire_limit_ma(_wire(area, insulation), ambient_c, bundle) == Fraction(expected_a) * 1000


def test_a_wire_by_the_vehicle_s_own_row_and_in_no_bundle() -> None:
    """A row of just its area is its own row; without a bundle nothing is taken off."""
    own = OwnFigures.model_validate({"ampacity": {"2.5 mm2": {"105 degC": "32 A"}}}).over(PUBLISHED)
    wire = _wire("2.5 mm2", "105 degC")
    assert (wire_limit_ma(wire, 30.0), wire_limit_ma(wire, 30.0, figures=own)) == (35_000, 32_000)


@pytest.mark.parametrize(
    ("area", "insulation", "k"),
    [
        ("1 mm2", "70 degC", 115),  # PVC
        ("2.5 mm2", "105 degC", 87.6),
        ("4 mm2", "125 degC", 123.5),  # cross-linked
        ("4 mm2", "60 degC", 122.2),  # the coolest that is listed
        ("4 mm2", "59 degC", 0),  # cooler than the table
        ("4 mm2", "250 degC", 0),  # as hot as a short circuit may make it
    ],
)
def test_heat_that_a_wire_stands(area: str, insulation: str, k: float) -> None:
    assert wire_heat_a2s(_wire(area, insulation)) == pytest.approx((k * float(area.split()[0])) ** 2, rel=2e-3)


@pytest.mark.parametrize(
    ("letter", "rating", "prospective_a", "heat"),
    [("C", 10, 1000, 2000), ("C", 10, 19, 0), ("F", 5, 500, 500), ("E", 40, 240, 57_600), ("E", 40, 239, 0)],
)
def test_heat_that_a_fuse_lets_by(letter: str, rating: float, prospective_a: float, heat: float) -> None:
    table = {"id": "f", "label": "f", "price": "1", "fuse_format": letter, "rating": f"{rating} A"}
    fuse = Fuse.model_validate(table | {"voltage": "32 V", "breaking_capacity": "1000 A"})
    assert fault_heat_a2s(fuse, prospective_a) == pytest.approx(heat)


def test_a_fuse_by_the_vehicle_s_own_share() -> None:
    """A maker who allows half of the rating at 85 degC, where published sheets allow 66 %."""
    fuse = Fuse.model_validate(
        {"id": "f", "label": "f", "price": "1", "fuse_format": "C", "rating": "10 A"}
        | {"voltage": "32 V", "breaking_capacity": "1000 A"}
    )
    own = OwnFigures.model_validate({"fuse_share": {"C": {"85 degC": "50 %"}}}).over(PUBLISHED)
    assert fuse_limit_ma(fuse, 85, 75) == 6600
    assert fuse_limit_ma(fuse, 85, 75, own) == 5000
    assert fuse_limit_ma(fuse, 20, 75, own) == 7500


# IEC 60228 class 5 and FAA AC 43.13-1B, 20 degC; hot ones by 0.00393 /K of IEC 60028.
@pytest.mark.parametrize(
    ("area_mm2", "hot_c", "milliohm"),
    [
        (2.5, 20, 7.98),
        (2.5, 70, 7.98 * 1.1965),
        (2.0809, 20, 3.06 / 0.3048),  # 14 gauge, 3.06 ohm per 1000 ft
        (53.4751, 20, 0.12 / 0.3048),  # 1/0 gauge
        (3.0, 20, 19.95 / 3),  # in neither table
    ],
)
def test_resistance_of_a_wire(area_mm2: float, hot_c: float, milliohm: float) -> None:
    assert wire_ohm_per_m(area_mm2, hot_c) * 1000 == pytest.approx(milliohm, rel=1e-4)


# FAA AC 43.13-1B par. 11-69: 50 degC, insulation of 200 degC, 20 A of 26 A.
@pytest.mark.parametrize(("share", "hot_c"), [(20 / 26, 181.6), (1, 200), (1.5, 200), (0, 50)])
def test_temperature_of_a_wire(share: float, hot_c: float) -> None:
    assert wire_temperature_c(_wire("4 mm2", "200 degC"), 50, share) == pytest.approx(hot_c, rel=1e-3)


_VEHICLE = Vehicle.model_validate(
    {"name": "v", "nominal_voltage": "12 V", "operating_voltage": "14.4 V", "minimum_voltage": "10.5 V"}
)


@pytest.mark.parametrize(
    ("load", "load_type", "expected_ma"),
    [
        ("100 W", "resistive", 10_000),  # 100 x 14.4 / 144
        ("2 x 21 W + 5 W", "filament-lamp", 4_700),
        ("2 x P21W + W5W", "filament-lamp", 4_700),
        ("1 W", "heater", 100),
        ("21 W", "electronics", 2_000),  # 21 / 10.5
        ("21 W", "led", 2_000),
        ("21 W", "motor", 2_000),
        ("1 W", "inductive", Fraction(2000, 21)),
        ("0.1 A + 2 x 0.2 A", "motor", 500),
        ("3 A", "filament-lamp", 3_000),
    ],
)
def test_design_current(load: str, load_type: str, expected_ma: Fraction) -> None:
    table = {"id": "c", "label": "c", "load": load, "load_type": load_type, "feeds": ["f"], "length": {"": "1 m"}}
    assert design_current_ma(Circuit.model_validate(table), _VEHICLE) == expected_ma


@pytest.mark.parametrize(
    ("letter", "ambient_c", "expected"),
    [
        ("C", 20.0, "0.92"),
        ("C", 20.5, "0.76"),
        ("E", 66.0, "0.75"),
        ("F", 101.0, "0"),  # past the last column
        ("SF30", 20.0, "0.86"),  # no curve of its own: the least of all
        ("SF30", 90.0, "0"),  # and C has no column there
    ],
)
def test_fuse_share(letter: FuseFormat, ambient_c: float, expected: str) -> None:
    assert fuse_share(letter, ambient_c) == Fraction(expected)


_STEPS = [
    DeratingStep.model_validate({"ambient": a, "factor": f}) for a, f in (("70 degC", "50 %"), ("55 degC", "90 %"))
]


@pytest.mark.parametrize(
    ("ambient_c", "expected_ma"),
    [(20.0, 30_000), (40.0, 30_000), (40.1, 27_000), (55.0, 27_000), (56.0, 15_000), (70.1, 0)],
)
def test_derating(ambient_c: float, expected_ma: int) -> None:
    """The steps are read upwards whatever their order in the file."""
    assert derated_ma(30.0, 40.0, _STEPS, ambient_c) == expected_ma


def test_no_limit_stays_none() -> None:
    assert derated_ma(None, 40.0, _STEPS, 90.0) is None


@pytest.mark.parametrize(
    ("function", "load_type", "expected_ma"),
    [
        ("make", "resistive", 40_000),
        ("make", "heater", 40_000),
        ("make", "filament-lamp", 23_000),
        ("make", "led", 23_000),
        ("make", "electronics", 23_000),
        ("make", "motor", 24_000),
        ("make", "inductive", 20_000),
        ("changeover", "inductive", 15_000),
        ("flasher", "filament-lamp", 23_000),
    ],
)
def test_contact_current(function: str, load_type: LoadType, expected_ma: int) -> None:
    contacts = {"resistive": "40 A", "lamp": "23 A", "motor": "24 A", "inductive": "20 A", "break_share": "75 %"}
    table = {"id": "r", "label": "r", "price": "1", "relay_class": "standard", "function": function}
    relay = Relay.model_validate(table | contacts | {"voltage": "12 V", "coil": "80 ohm"})
    assert contact_ma(relay, load_type) == expected_ma


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(1, 3), "0.333"),
        (Fraction(-5, 2), "-2.5"),
        (7, "7"),
        (100, "100"),
        (Fraction(1, 10**9), "0"),
        (10**15 - 1, "999999999999999"),
        (10**15, "more than 10^15"),
        pytest.param(10**5000, "more than 10^15", id="5001 digits"),
        pytest.param(-(10**5000), "less than -10^15", id="minus 5001 digits"),
    ],
)
def test_number_is_short(value: Fraction | int, text: str) -> None:
    assert number(value) == text


def test_amperes_and_exact() -> None:
    """A decimal in a file is that decimal, not the binary number nearest to it."""
    assert amperes(Fraction(12_345)) == "12.345 A"
    assert exact(0.1) + exact(0.2) == Fraction(3, 10)
