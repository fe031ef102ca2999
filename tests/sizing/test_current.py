"""What loads and coils draw, in every load case."""

from __future__ import annotations

import pytest

from allocator.requirements.quantities import Load
from allocator.requirements.vehicle import Vehicle
from allocator.sizing.current import design_current_a
from allocator.sizing.loads import CircuitLoad, load_reason
from tests.sizing.vehicles import circuit, faults, feed, need, option, reason

VEHICLE = Vehicle.model_validate(
    {"name": "v", "nominal_voltage": "24 V", "operating_voltage": "28 V", "minimum_voltage": "22 V"}
)
CASES = tuple({"name": name, "engine_running": True, "hours": "1 h"} for name in ("day", "night"))


@pytest.mark.parametrize(
    ("text", "load_type", "amps"),
    [
        ("70 W", "filament-lamp", 70 * 28 / 24**2),  # keeps its resistance of 8.23 ohm: more at 28 V
        ("70 W", "heater", 70 * 28 / 24**2),
        ("2 x 21 W + 5 W", "resistive", 47 * 28 / 24**2),
        ("H7 + 2 x W5W", "filament-lamp", 80 * 28 / 24**2),  # 70 W and 5 W in a net of 24 V
        ("66 W", "electronics", 3.0),  # keeps its power: most at 22 V
        ("66 W", "led", 3.0),
        ("66 W", "motor", 3.0),
        ("66 W", "inductive", 3.0),
        ("2 x 3 A", "filament-lamp", 6.0),  # amperes are taken as written
        ("6 A", "motor", 6.0),
    ],
)
def test_design_current(text, load_type, amps):
    assert design_current_a(Load(text), load_type, VEHICLE) == pytest.approx(amps, rel=1e-12)


def test_load_is_rounded_up_to_whole_milliamperes():
    assert need(circuit(load="10 W", load_type="led")).load_ma_by_case == (910,)  # 909.09 mA at 11 V


def test_a_filament_counts_with_its_resistance_and_with_the_vehicle_s_own_watts():
    """21 W x 14 V / (12 V)2 = 2041.7 mA; 24 W 2333.3 mA. At constant power it would be the most at 11 V."""
    lamp = circuit(load="P21W", load_type="filament-lamp")
    assert need(lamp).load_ma_by_case == (2042,)
    own = {"figures": {"lamp_watts": {"12 V": {"P21W": "24 W"}}}}
    assert need(lamp, rules=own).load_ma_by_case == (2334,)


def test_load_counts_in_its_own_cases_only_and_duty_never_lowers_it():
    assert need(circuit(load_cases=["night"], duty="10 %"), cases=CASES).load_ma_by_case == (0, 5000)


def test_coil_without_control_hangs_on_the_own_fuse_in_the_cases_in_which_it_runs():
    table = need(circuit(switching="relay", relay_class="micro", load_cases=["day"]), cases=CASES)
    assert table.load_ma_by_case == (5140, 0)  # 14 V / 100 ohm = 140 mA


def test_coil_with_control_loads_the_control_in_the_cases_in_which_the_switched_circuit_runs():
    switched = circuit("pump", switching="relay", relay_class="micro", control="key", load_cases=["night"])
    key = circuit("key", load="1 A", load_cases=["day"])
    assert need(switched, key, cases=CASES).load_ma_by_case == (0, 5000)
    assert need(switched, key, name="key", cases=CASES).load_ma_by_case == (1000, 140)


def test_the_largest_coil_of_all_possible_classes_counts():
    # micro 140 mA, standard 175 mA, heavy 233.3 mA: all three switch 5 A.
    assert need(circuit(switching="relay")).load_ma_by_case == (5234,)


def test_a_class_that_cannot_switch_the_load_does_not_count_with_its_coil():
    assert need(circuit(load="24.5 A", load_type="motor", switching="relay")).load_ma_by_case == (24_734,)  # heavy only


def test_the_relay_of_a_feed_loads_its_control_in_all_cases():
    branch = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="heavy", control="switch")
    table = need(circuit("switch", load="1 A", load_cases=["day"]), feeds=[feed(), branch], cases=CASES)
    assert table.load_ma_by_case == (1234, 234)


def test_the_coil_of_a_feed_without_control_is_its_own_load():
    branch = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="heavy")
    assert need(circuit(), name="key", feeds=[feed(), branch], cases=CASES).load_ma_by_case == (234, 234)


def test_coils_in_a_circle_are_a_fault():
    first = circuit("one", switching="relay", control="two")
    second = circuit("two", switching="relay", control="one")
    (fault,) = faults(first, second)
    assert fault.rule == "control-loop" and "one, two" in fault.message


def test_the_reason_names_the_voltage_and_the_coils():
    key = circuit("key", load="22 W", load_type="electronics")
    pump = circuit("pump", switching="relay", relay_class="micro", control="key")
    text = reason(option(key, pump), "current")
    assert text == "2 A at 11 V: electronics keeps its power of 22 W, with coils of pump up to 2.14 A"


def test_the_reason_of_each_kind_of_load_is_whole():
    """21 W are 1.75 A at 12 V; a filament keeps its resistance, and at 14 V draws 14/12 of that."""
    filament = {"load_type": "filament-lamp"}
    assert reason(option(circuit(load="5 A")), "current") == "5 A as given (5 A)"
    assert reason(option(circuit(load="21 W", **filament)), "current") == (
        "2.042 A at 14 V: filament-lamp keeps the resistance of 21 W at 12 V"
    )
    named = option(circuit(load="2 x P21W", **filament))
    assert reason(named, "current") == (
        "4.083 A at 14 V: filament-lamp keeps the resistance of 2 x P21W (42 W) at 12 V"
    )


def test_sum_and_reason_go_by_the_vehicle_s_own_watts():
    own = {"figures": {"lamp_watts": {"12 V": {"P21W": "24 W"}}, "discharge_ballast": 0.7}}
    lamp = option(circuit(load="P21W", load_type="filament-lamp"), rules=own)
    assert reason(lamp, "current") == "2.333 A at 14 V: filament-lamp keeps the resistance of P21W (24 W) at 12 V"
    beam = option(circuit(load="D1S", load_type="electronics"), rules=own)
    assert reason(beam, "current") == "4.545 A at 11 V: electronics keeps its power of D1S (50 W with ballasts)"


def test_a_gas_discharge_lamp_draws_what_its_ballast_does():
    # 2 x 35 W / 0.83 / 11 V = 7.667 A
    beams = circuit("beams", load="2 x D1S", load_type="electronics")
    assert need(beams).load_ma_by_case == (7668,)
    assert "7.667 A at 11 V: electronics keeps its power of 2 x D1S (84.3 W with ballasts)" in reason(
        option(beams), "current"
    )


def test_each_filament_of_a_lamp_goes_by_its_name():
    def amperes(load: str) -> int:
        return need(circuit(load=load, load_type="filament-lamp")).load_ma_by_case[0]

    assert amperes("P21/5W") == amperes("P21/5W major") == amperes("21 W")
    assert amperes("2  x P21/5W  minor") == amperes("10 W")
    assert amperes("H4 dipped + H4 main") == amperes("115 W")


def test_what_is_said_of_coils_begins_at_the_first_milliampere():
    """By its name the coil of a fuse's own circuit, else of those that it controls."""
    assert load_reason(CircuitLoad(5000, 5000, (0, 5000)), ()) == ""
    assert load_reason(CircuitLoad(5000, 5000, (5001, 0)), ()) == "with coils of its own relay up to 5.001 A"
    assert (
        load_reason(CircuitLoad(5000, 5000, (5400,)), ("horn", "feed key"))
        == "with coils of horn, feed key up to 5.4 A"
    )
