"""Which fuse a circuit gets, and why another will not do."""

from __future__ import annotations

import math

import pytest

from allocator.sizing.fuses import opening_time_s
from tests.sizing.vehicles import (
    C_RATINGS,
    catalogue_table,
    circuit,
    faults,
    fuse,
    need,
    option,
    panel,
    reason,
)


@pytest.mark.parametrize(("load", "rating_a"), [("7.5 A", 10), ("7.501 A", 15), ("0.75 A", 1), ("3 A", 4)])
def test_smallest_rating_that_carries_the_load_at_75_percent(load, rating_a):
    assert option(circuit(load=load)).fuse_rating_a == rating_a


def test_a_hot_panel_takes_the_ambient_curve_where_it_is_below_the_loading_factor():
    hot = [panel(ambient="85 degC")]  # type C: 66 % at 85 degC; 6.6 A of 10 A, 9.9 A of 15 A
    assert option(circuit(load="6.6 A"), panels=hot).fuse_rating_a == 10
    assert option(circuit(load="6.601 A"), panels=hot).fuse_rating_a == 15


def test_a_curve_of_the_vehicle_s_own_is_followed_by_every_choice_of_a_fuse():
    """A maker who allows half of the rating at 85 degC: 10 A carries 5 A there, chosen or wanted."""
    hot = {"panels": [panel(ambient="85 degC")], "rules": {"figures": {"fuse_share": {"C": {"85 degC": "50 %"}}}}}
    assert option(circuit(load="5 A", fuse_format="C"), **hot).fuse_rating_a == 10
    assert option(circuit(load="5.001 A", fuse_format="C"), **hot).fuse_rating_a == 15
    wanted = {"fuse_rating": "10 A", "fuse_format": "C"}
    assert option(circuit(load="5 A", **wanted), **hot).fuse_rating_a == 10
    (fault,) = faults(circuit(load="5.001 A", **wanted), **hot)
    assert "carries 5 A at 85 °C" in fault.message


def test_the_reason_says_which_share_decides():
    assert "75% by loading factor" in reason(option(circuit()), "fuse")
    hot = reason(option(circuit(), panels=[panel(ambient="85 degC")]), "fuse")
    assert "66% by ambient curve of type C" in hot


def test_a_wanted_rating_is_honoured_and_its_wire_follows():
    found = option(circuit(load="2 A", fuse_rating="20 A"))
    assert found.fuse == "C20" and found.wire_limit_a >= 20


def test_a_wanted_rating_that_is_too_small_is_a_fault():
    (fault,) = faults(circuit(load="8 A", fuse_rating="10 A", fuse_format="C"))
    assert fault.rule == "wanted-fuse-too-small"
    assert "carries 7.5 A" in fault.message and "10.7 A or more" in fault.known
    assert fault.where == 'circuits table, circuit "lamp"'


def test_a_wanted_rating_may_be_loaded_up_to_what_it_carries():
    assert option(circuit(load="7.5 A", fuse_rating="10 A", fuse_format="C")).fuse_rating_a == 10
    (fault,) = faults(circuit(load="7.501 A", fuse_rating="10 A", fuse_format="C"))
    assert fault.message.endswith("the wanted fuse of 10 A carries 7.5 A at 30 °C; the load is 7.501 A")
    assert fault.known.endswith("a rating of 10.1 A or more would do"), "10 A would not"
    assert fault.hint == "want a larger rating, or leave the choice open"


def test_what_a_wanted_rating_carries_follows_the_ambient_curve_of_its_type():
    hot = [panel(ambient="85 degC")]  # type C: 66 % at 85 degC
    wanted = {"fuse_rating": "10 A", "fuse_format": "C"}
    assert option(circuit(load="6.6 A", **wanted), panels=hot).fuse_rating_a == 10
    (fault,) = faults(circuit(load="6.601 A", **wanted), panels=hot)
    assert "carries 6.6 A at 85 °C" in fault.message


def one_mini():
    """Return a catalogue with one fuse of type F."""
    return {"fuses": [item for item in catalogue_table()["fuses"] if item["fuse_format"] != "F"] + [fuse("F", 15)]}


def test_a_wanted_rating_that_is_not_on_offer_is_a_fault():
    (fault,) = faults(circuit(load="8 A", fuse_rating="12 A", fuse_format="C"))
    assert fault.rule == "wanted-fuse-not-offered" and "10, 15, 20" in fault.known
    assert fault.message == 'circuit "lamp": no type C fuse of 12 A is on offer for this net'
    assert "ratings on offer: " in fault.known and fault.known.endswith(" A")
    assert fault.hint == "want a rating on offer, or leave the choice open"


def test_a_wanted_rating_where_only_one_other_is_on_offer_is_a_fault():
    (fault,) = faults(circuit(fuse_rating="12 A", fuse_format="F"), catalogue=one_mini())
    assert fault.rule == "wanted-fuse-not-offered" and fault.known.endswith("ratings on offer: 15 A")


def test_a_load_above_every_fuse_is_a_fault_that_says_what_would_do():
    (fault,) = faults(circuit("pump", load="34 A", fuse_format="C"))
    assert fault.rule == "no-rating-large-enough"
    assert fault.message.startswith('circuit "pump": needs 34 A')
    assert "the largest, 40 A type C, carries 30 A" in fault.known
    assert "45.3 A or more" in fault.hint


def test_of_several_formats_the_one_that_comes_nearest_is_told():
    (fault,) = faults(circuit("pump", load="200 A"))
    assert "the largest, 100 A type E, carries 75 A" in fault.known


def test_the_format_that_comes_nearest_need_not_have_the_largest_rating():
    """30 A of type F carry 24 A without end, and, by a curve of the vehicle's own, 40 A of type C only 20 A."""
    own = {"fuse_share": {"C": {"65 degC": "50 %"}}}
    no_e = [item for item in catalogue_table()["fuses"] if item["fuse_format"] != "E"]
    rules = {"figures": own, "loading_factor": "100 %"}
    found = faults(circuit("pump", load="28 A"), rules=rules, catalogue={"fuses": no_e})
    (known,) = [fault.known for fault in found if fault.rule == "no-rating-large-enough"]
    assert "the largest, 30 A type F, carries 24 A" in known


def test_a_48_v_net_refuses_32_v_fuses():
    net = {"nominal_voltage": "48 V", "operating_voltage": "54 V", "minimum_voltage": "40 V"}
    (fault,) = faults(circuit(), vehicle=net)
    assert fault.rule == "no-fuse-for-net" and "58 V" in fault.message and "32 V" in fault.known
    with_58 = {"fuses": catalogue_table()["fuses"] + [fuse("C", rating, 58) for rating in C_RATINGS]}
    assert need(circuit(), vehicle=net, catalogue=with_58).options[0].fuse == "C7.5-58V"


def test_a_24_v_net_takes_32_v_fuses():
    net = {"nominal_voltage": "24 V", "operating_voltage": "28 V", "minimum_voltage": "22 V"}
    assert option(circuit(), vehicle=net).fuse == "C7.5"


def test_breaking_capacity_must_reach_the_fault_current():
    (fault,) = faults(circuit(), supply={"fault_current": "1001 A"})
    assert fault.rule == "no-fuse-for-net" and "breaks 1001 A" in fault.message
    strong = {"fuses": catalogue_table()["fuses"] + [fuse("F", 15, breaking=2000)]}
    table = need(circuit(), supply={"fault_current": "1001 A"}, catalogue=strong)
    assert [item.fuse_format for item in table.options] == ["F"]


def test_every_format_that_a_module_takes_is_an_option_unless_one_is_wanted():
    assert [item.fuse_format for item in need(circuit()).options] == ["C", "E", "F"]
    assert [item.fuse_format for item in need(circuit(fuse_format="F")).options] == ["F"]


def test_a_wanted_format_that_no_module_takes_is_a_fault():
    (fault,) = faults(circuit(fuse_format="A"))
    assert fault.rule == "format-not-offered" and "C, E, F" in fault.known


def test_past_the_published_temperatures_is_a_fault():
    fault, _ = faults(
        circuit(fuse_format="F"), panels=[panel(ambient="101 degC")]
    )  # the other: no cable bears 60 A there
    assert fault.rule == "ambient-past-table" and "100 °C" in fault.known
    assert fault.hint == "move the panel to a cooler place, or use a type with a wider table"


def test_the_cheapest_of_equal_ratings_is_taken():
    cheap = fuse("C", 7.5) | {"id": "cheap", "price": "0.10"}
    assert option(circuit(), catalogue={"fuses": [*catalogue_table()["fuses"], cheap]}).fuse == "cheap"


def test_opening_times_of_a_type_without_gates_are_open():
    assert opening_time_s("SF30", 50, 100) == (0.0, math.inf)


def test_faults_of_all_circuits_come_together():
    found = faults(circuit("b", load="99 A"), circuit("a", load="98 A"), circuit("c"))
    assert [fault.where for fault in found] == ['circuits table, circuit "a"', 'circuits table, circuit "b"']
