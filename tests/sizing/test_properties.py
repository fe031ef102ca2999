"""What must hold for every circuit, tried on many: monotone sums, one answer in every unit, no fuse above its wire."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.errors import InputError
from allocator.sizing import Sized, size
from allocator.sizing.fuses import allowed_ma, opening_time_s
from allocator.sizing.sized import Option
from allocator.sizing.wires import ampacity_a, resistance_ohm_per_m
from tests.sizing.vehicles import catalogue_table, circuit, feed, panel, part, requirements, row

FEW = settings(max_examples=40, deadline=None)
MANY = settings(max_examples=250, deadline=None)

amps = st.decimals(min_value="0.05", max_value=60, places=2)
metres = st.decimals(min_value=0, max_value=25, places=1)
ambients = st.integers(min_value=-20, max_value=80)
areas = st.floats(min_value=0.3, max_value=120)
insulations = st.sampled_from([50, 60, 70, 75, 80, 85, 90, 100, 105, 120, 125, 150, 200])

# 33 CFR 183.425 Table 5, columns 105 degC by gauge area rounded down, mm2: typed again.
TABLE_5_105 = [
    (0.823, 20), (1.308, 25), (2.080, 35), (3.308, 45), (5.261, 60), (8.365, 80), (13.301, 120), (21.150, 160),
    (26.670, 180), (33.630, 210), (42.407, 245), (53.475, 285),
]  # fmt: skip


@st.composite
def wanted_circuits(draw: st.DrawFn) -> dict[str, Any]:
    return circuit(
        load=f"{draw(amps)} {draw(st.sampled_from(['A', 'W']))}",
        load_type=draw(st.sampled_from(["resistive", "filament-lamp", "led", "motor", "inductive", "heater"])),
        length=f"{draw(metres)} m",
        critical=draw(st.booleans()),
        switching=draw(st.sampled_from(["none", "relay", "changeover", "flasher"])),
        return_length=draw(st.sampled_from([None, "2 m", "9 m"])),
    )


def sized_or_none(*circuits: Any, **tables: Any) -> Sized | None:
    try:
        return size(requirements(*circuits, **tables))
    except InputError as error:
        assert error.faults and all(fault.message and fault.where for fault in error.faults)
        return None


def by_kind(table: Sized | None) -> dict[tuple[str | None, ...], Option]:
    options = () if table is None else table.need_by_id["lamp"].options
    return {(item.panel, item.fuse_format, item.relay_class): item for item in options}


def two_panels(ambient: int, other: int = 35) -> dict[str, Any]:
    """Two panels, two root feeds with and without a tail fuse, and a branch with fuse and relay."""
    branch = feed("key", source="battery", rating="40 A", fuse_format="E", relay_class="heavy", home="cabin")
    return {
        "panels": [panel(ambient=f"{ambient} degC"), panel("engine", ambient=f"{other} degC", supply_distance="5 m")],
        "feeds": [feed(rating="60 A", tail_fuse="30 A"), feed("house"), branch],
    }


def area_mm2(option: Option) -> float:
    return float(str(option.wire)[1:])


@pytest.mark.parametrize("ambient", [-20, 30, 70])
def test_the_vehicle_of_these_properties_can_be_built(ambient):
    """Else they would hold for nothing; relays and both panels are in its table."""
    kinds = by_kind(sized_or_none(circuit(switching="relay"), **two_panels(ambient)))
    assert {panel for panel, *_ in kinds} == {"cabin", "engine"}
    assert {relay for *_, relay in kinds} == {"micro", "standard", "heavy"}


@FEW
@given(wanted_circuits(), ambients, amps, amps)
def test_more_load_never_gives_a_smaller_fuse_or_wire(wanted, ambient, one, other):
    low, high = sorted((one, other))
    there = two_panels(ambient)
    less = by_kind(sized_or_none(wanted | {"load": f"{low} A"}, **there))
    for kind, more in by_kind(sized_or_none(wanted | {"load": f"{high} A"}, **there)).items():
        assert kind in less
        assert less[kind].fuse_rating_a <= more.fuse_rating_a
        assert area_mm2(less[kind]) <= area_mm2(more)


@FEW
@given(wanted_circuits(), metres, metres)
def test_a_longer_run_never_gives_a_thinner_wire(wanted, one, other):
    short, long = sorted((one, other))
    there = two_panels(30)
    near = by_kind(sized_or_none(wanted | {"length": {"": f"{short} m"}}, **there))
    for kind, far in by_kind(sized_or_none(wanted | {"length": {"": f"{long} m"}}, **there)).items():
        assert area_mm2(near[kind]) <= area_mm2(far)


@FEW
@given(wanted_circuits(), ambients, ambients)
def test_a_hotter_panel_never_allows_more(wanted, one, other):
    cool, hot = sorted((one, other))
    cooler = by_kind(sized_or_none(wanted, **two_panels(cool)))
    for kind, hotter in by_kind(sized_or_none(wanted, **two_panels(hot))).items():
        assert cooler[kind].fuse_rating_a <= hotter.fuse_rating_a
        assert area_mm2(cooler[kind]) <= area_mm2(hotter)


@FEW
@given(ambients, ambients)
def test_a_hotter_panel_never_lets_more_flow(one, other):
    """Rows, modules and, of one and the same tail, feed entries."""
    cool, hot = sorted((one, other))
    derated = {"stated_ambient": "20 degC", "derating": [{"ambient": "60 degC", "factor": "70 %"}]}
    modules = [*catalogue_table()["modules"], part("weak", rows=[row("C", limit="30 A")], limit="25 A", **derated)]
    cooler, hotter = (
        sized_or_none(circuit(), catalogue={"modules": modules}, **two_panels(ambient)) for ambient in (cool, hot)
    )
    if cooler is None or hotter is None:
        return
    for key, limit in hotter.module_limit_ma.items():
        assert limit is None or limit <= (cooler.module_limit_ma[key] or 0)
    for key, limit in hotter.row_limit_ma.items():
        assert limit is None or limit <= (cooler.row_limit_ma[key] or 0)
    for key, entry in hotter.entries.items():
        if cooler.tail_of(*key) == hotter.tail_of(*key):  # a thicker tail, for the heat, may carry more
            assert entry.limit_ma <= cooler.entries[key].limit_ma


@MANY
@given(areas, insulations, ambients, ambients)
def test_ampacity_falls_with_ambient_and_grows_with_area(area, insulation, one, other):
    cool, hot = sorted((one, other))
    assert ampacity_a(area, insulation, cool) >= ampacity_a(area, insulation, hot) >= 0
    assert ampacity_a(area, insulation, hot) <= ampacity_a(area * 1.3, insulation, hot)


@MANY
@given(st.sampled_from("CEF"), st.floats(1, 40), st.integers(-20, 85), st.integers(-20, 85), st.floats(0.1, 1))
def test_a_fuse_never_carries_more_where_it_is_hotter(letter, rating, one, other, loading):
    cool, hot = sorted((one, other))
    assert allowed_ma(letter, rating, cool, loading) >= allowed_ma(letter, rating, hot, loading)
    assert allowed_ma(letter, rating, hot, loading) <= rating * loading * 1000 + 0.001  # float noise, mA


@MANY
@given(st.sampled_from(["C", "E", "F", "SF30"]), st.floats(0.5, 12), st.floats(0.5, 12))
def test_a_larger_current_never_opens_a_fuse_later(letter, one, other):
    low, high = sorted((one, other))
    early_low, late_low = opening_time_s(letter, 10, 10 * low)
    early_high, late_high = opening_time_s(letter, 10, 10 * high)
    assert early_high <= early_low and late_high <= late_low and early_low <= late_low


@MANY
@given(st.sampled_from([0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50]), st.floats(-20, 150), st.floats(-20, 150))
def test_resistance_grows_with_temperature(area, one, other):
    cool, hot = sorted((one, other))
    assert resistance_ohm_per_m(area, cool) <= resistance_ohm_per_m(area, hot)


@FEW
@given(st.integers(1, 400), st.integers(0, 60), st.sampled_from(["led", "heater", "motor"]), st.integers(-8, 16))
def test_the_unit_system_never_changes_the_answer(watts, half_feet, load_type, ambient):
    """Kilowatts, feet, inches, kilovolts and Fahrenheit give the table of watts, metres, volts and Celsius."""
    common = {"load_type": load_type}
    first = sized_or_none(
        circuit(load=f"{watts} W", length=f"{half_feet * 0.1524:.4f} m", wire="1.5 mm2", **common),
        panels=[panel(ambient=f"{ambient * 5} degC", supply_distance="2.54 m")],
    )
    second = sized_or_none(
        circuit(load=f"{watts / 1000} kW", length=f"{half_feet / 2} ft", wire="0.015 cm2", **common),
        panels=[panel(ambient=f"{ambient * 9 + 32} degF", supply_distance="100 in")],
        vehicle={"nominal_voltage": "12000 mV", "operating_voltage": "0.014 kV", "minimum_voltage": "11000 mV"},
        supply={"charger_rating": "100000 mA", "battery_capacity": "360 kC", "fault_current": "1 kA"},
    )
    assert (first is None) == (second is None)
    if first is not None and second is not None:
        assert [plain(item) for item in first.needs] == [plain(item) for item in second.needs]
        assert (first.feeds, first.entries) == (second.feeds, second.entries)


def plain(need: Any) -> Any:
    options = [
        (item.fuse, item.wire, item.wire_limit_a, item.parts, item.wires, item.terminal_by_designation)
        for item in need.options
    ]
    return need.load_ma_by_case, options


@settings(max_examples=60, deadline=None)
@given(st.lists(wanted_circuits(), min_size=1, max_size=8), st.integers(-20, 84), st.integers(30, 100))
def test_no_fuse_stands_above_its_wires(wanted, ambient, bundle):
    """Ampacity worked out again here: table 5 at 105 degC, whole hundredths of the ambient factor, bundle share."""
    circuits = [item | {"id": f"c{number}"} for number, item in enumerate(wanted)]
    there = {"panels": [panel(ambient=f"{ambient} degC")], "rules": {"bundle_factor": f"{bundle} %"}}
    circuits = [item for item in circuits if sized_or_none(item, **there) is not None]
    table = sized_or_none(*circuits, **there) if circuits else None
    if table is None:
        return
    factor = min(1.0, math.floor(100 * math.sqrt((105 - max(ambient, 30)) / 75) + 1e-9) / 100)

    def carries_a(name: str, share: float) -> float:
        return max((a for area, a in TABLE_5_105 if float(name[1:]) >= area), default=0) * factor * share

    for need in table.needs:
        for item in need.options:
            assert 0 < item.fuse_rating_a <= carries_a(str(item.wire), bundle / 100) + 1e-9
            assert item.wire_limit_a <= carries_a(str(item.wire), bundle / 100) + 1e-9
            if item.jumper_wire is not None:
                assert item.fuse_rating_a <= carries_a(item.jumper_wire, 1) + 1e-9
            in_line = [float(name[1:]) for name in item.parts if name.startswith("F") and name != item.fuse]
            before = min([item.fuse_rating_a, *in_line]) if "holder" in item.parts else item.fuse_rating_a
            for cut in item.wires:
                if cut.start in ("85", "86", "31"):
                    assert before <= carries_a(cut.wire, bundle / 100) + 1e-9
    for fed in table.feeds.values():
        assert fed.tail_protection_a <= carries_a(fed.tail_wire, 1) + 1e-9
