"""Which wire a circuit gets, which test decides, and why another will not do."""

from __future__ import annotations

import pytest

from allocator.figures import PUBLISHED
from allocator.requirements.own_figures import OwnFigures
from allocator.sizing.wires import (
    ambient_factor,
    ampacity_a,
    conductor_temperature_c,
    resistance_ohm_per_m,
    smallest_area_mm2,
)
from allocator.sizing.withstand import insulation_k
from tests.sizing.vehicles import catalogue_table, circuit, faults, need, option, panel, part, reason, wire


def test_the_thinnest_wire_whose_ampacity_reaches_the_fuse():
    # 15 A fuse; in bundle 1 mm2 carries 20 x 0.7 = 14 A, 1.5 mm2 carries 25 x 0.7 = 17.5 A.
    found = option(circuit(load="11 A", length="0.5 m"))
    assert (found.fuse_rating_a, found.wire, found.wire_limit_a) == (15, "w1.5", 17.5)
    assert "ampacity decides: w1 carries 14 A" in reason(found, "wire")


def test_ambient_takes_the_next_wire():
    found = option(circuit(load="11 A", length="0.5 m"), panels=[panel(ambient="60 degC")])
    assert (found.wire, found.wire_limit_a) == ("w2.5", 18.865)  # 35 x 0.77 x 0.7; 1.5 mm2 has 13.475 A


def test_bundle_factor_is_the_users():
    assert option(circuit(load="11 A", length="0.5 m"), rules={"bundle_factor": "100 %"}).wire == "w1"


def test_drop_decides_a_long_run():
    # 3 % of 12 V is 0.36 V; 5 A along 6 m of 2.5 mm2 loses 0.24 V cold, of 1.5 mm2 0.40 V.
    found = option(circuit(critical=True, length="6 m"))
    assert found.wire == "w2.5"
    assert "drop decides: w1.5 loses" in reason(found, "wire")
    assert option(circuit(length="6 m")).wire == "w1"  # 10 %


def test_short_circuit_decides_where_ampacity_would_not():
    # 20 A type E behind 1000 A: (120 A)2 x 1 s = 14,400 A2s, hence 120 / 87.6 = 1.37 mm2; 1 mm2 bears 20 A at 30 degC.
    alone = {"rules": {"bundle_factor": "100 %"}, "panels": [panel(ambient="30 degC")]}
    wanted = circuit(load="11 A", fuse_format="E", length="0.5 m")
    found = option(wanted, fuse_format="E", **alone)
    assert (found.fuse_rating_a, found.wire) == (20, "w1.5")
    assert "short circuit decides: w1 is thinner than 1.37 mm2" in reason(found, "wire")
    # Where the supply gives too little for that gate, ampacity alone decides (and a caution tells).
    assert option(wanted, fuse_format="E", supply={"fault_current": "119 A"}, **alone).wire == "w1"


def test_no_wire_that_outlives_a_short_circuit_is_a_fault_that_says_what_would_do():
    alone = {"rules": {"bundle_factor": "100 %"}, "panels": [panel(ambient="30 degC")]}
    wanted = circuit(load="11 A", fuse_format="E", length="0.5 m")
    thin = {"wires": [wire(1), part("w50", area="50 mm2", insulation="250 degC")]}
    (fault,) = faults(wanted | {"wire": "1 mm2"}, catalogue=thin, feeds=[small_feed()], **alone)
    assert fault.rule == "wanted-wire-melts" and "14400 A²s" in fault.known and "1.37 mm2" in fault.known
    (fault,) = faults(wanted, catalogue={"wires": [wire(1)]}, feeds=[small_feed()], **alone)
    assert fault.rule == "no-wire-for-fault" and "faster fuse format" in fault.hint


def test_drop_counts_a_return_by_wire_as_long_as_the_run_or_as_stated():
    by_wire = {"return_path": "wire"}
    assert option(circuit(critical=True, length="3 m"), vehicle=by_wire).wire == "w2.5"
    assert option(circuit(critical=True, length="3 m", return_length="0.1 m"), vehicle=by_wire).wire == "w1.5"
    assert (
        option(circuit(critical=True, length="3 m", return_length="3 m")).wire == "w2.5"
    )  # chassis, but a wire is stated


def test_the_wires_of_an_option_are_run_and_return():
    found = option(circuit(length="3.25 m", return_length="1.5 m"))
    cuts = [(cut.wire, cut.length_mm, cut.start, cut.end) for cut in found.wires]
    assert cuts == [("w1", 3250, "way", "load"), ("w1", 1500, "", "return")]
    assert [cut.end for cut in option(circuit()).wires] == ["load"]


def test_run_length_is_that_of_the_panel():
    two = [panel("front"), panel("rear")]
    lengths = {"front": "1 m", "rear": "20 m"}
    by_panel = {item.panel: item for item in need(circuit(length=lengths, fuse_format="C"), panels=two).options}
    assert (by_panel["front"].wire, by_panel["rear"].wire) == ("w1", "w2.5")
    (fault,) = faults(circuit(length={"front": "1 m"}, panels=["rear"]), panels=two)
    assert fault.rule == "no-run-length" and "front" in fault.known


def test_a_wanted_wire_is_honoured_if_it_is_safe():
    assert option(circuit(wire="6 mm2")).wire == "w6"
    (thin,) = faults(circuit(load="11 A", wire="1 mm2", fuse_format="C"))
    assert thin.rule == "wanted-wire-too-thin" and "1.308 mm2" in thin.known
    (long,) = faults(circuit(wire="1 mm2", critical=True, length="9 m", fuse_format="C"))
    assert long.rule == "wanted-wire-drops"
    (unknown,) = faults(circuit(wire="3 mm2", fuse_format="C"))
    assert unknown.rule == "wanted-wire-not-offered" and "2.5, 4, 6" in unknown.known


def test_a_wanted_gauge_is_found_among_gauges():
    gauges = {"wires": [*catalogue_table()["wires"], part("g14", area="14 AWG")]}
    assert option(circuit(wire="14 AWG"), catalogue=gauges).wire == "g14"


def test_no_wire_for_the_fuse_is_a_fault_that_says_what_would_do():
    thin = {"wires": [wire(1), wire(1.5)]}
    (fault,) = faults(circuit(load="20 A", fuse_format="C"), catalogue=thin, feeds=[small_feed()])
    assert fault.rule == "no-wire-for-fuse"
    assert "w1.5 carries 17.5 A" in fault.known and "3.308 mm2" in fault.known


def small_feed():
    return {"name": "battery", "kind": "permanent", "rating": "15 A"}


def test_no_wire_for_the_drop_is_a_fault_that_says_what_would_do():
    (fault,) = faults(circuit(load="20 A", critical=True, length="90 m", fuse_format="C"))
    assert fault.rule == "no-wire-for-drop"
    assert "more than 99.8 mm2 is needed" in fault.known  # 19.95 mohm.mm2/m x 20 A x 90 m / 0.36 V


def test_no_terminal_for_the_wire_is_a_fault_and_shuts_out_only_that_format():
    far = circuit(load="7 A", critical=True, length="20 m")  # 16 mm2 by drop: more than a 6.3 mm tab takes
    assert [item.fuse_format for item in need(far).options] == ["E"]
    (fault,) = faults(far | {"fuse_format": "C"})
    assert fault.rule == "no-wire-for-drop" and "w10 would do" in fault.known


def test_insulation_is_read_at_the_next_lower_column():
    assert ampacity_a(2.5, 100, 30) == ampacity_a(2.5, 90, 30) == 30
    assert ambient_factor(100, 60) == ambient_factor(90, 60) == 0.70


def test_a_cool_place_gives_nothing_extra_and_a_too_hot_one_nothing():
    assert ambient_factor(105, -10) == 1
    assert ampacity_a(2.5, 105, 105) == 0


@pytest.mark.parametrize(("area_mm2", "milliohm"), [(2.0, 9.975), (3.0, 6.65), (0.35, 57.0)])
def test_areas_without_a_row_take_the_worst_resistivity_of_the_table(area_mm2, milliohm):
    assert resistance_ohm_per_m(area_mm2) * 1000 == pytest.approx(milliohm)


def test_small_craft_rule_lets_the_fuse_above_its_wire_and_never_the_load():
    # 1 mm2 in bundle carries 14 A, 150 % of which is 21 A.
    small_craft = {"rules": {"fuse_over_wire": "small-craft-150"}}
    found = option(circuit(load="11 A", length="0.5 m"), **small_craft)
    assert (found.fuse_rating_a, found.wire, found.wire_limit_a) == (15, "w1", 14)
    assert "above its wire by the small-craft rule" in reason(found, "wire")
    wider = option(circuit(load="14.5 A", length="0.5 m"), **small_craft)
    assert (wider.fuse_rating_a, wider.wire) == (20, "w1.5")  # the load, not the fuse, is above 14 A


def test_small_craft_rule_is_about_runs_alone():
    relayed = circuit(load="20 A", switching="relay", length="0.5 m", fuse_format="C", relay_class="standard")
    plain = option(relayed)
    found = option(relayed, rules={"fuse_over_wire": "small-craft-150"})
    assert (plain.wire, found.wire) == ("w4", "w2.5")
    assert found.jumper_wire == plain.jumper_wire


def test_a_drop_limit_of_its_own_comes_before_the_rules():
    assert option(circuit(length="6 m", drop="3 %")).wire == "w2.5"
    assert option(circuit(length="6 m", critical=True, drop="10 %")).wire == "w1"


def test_a_share_of_the_drop_may_be_kept_for_the_feed():
    # 10 % of 12 V is 1.2 V; a quarter of it is what 2.5 % allows.
    kept = option(circuit(length="6 m"), rules={"upstream_drop": "75 %"})
    assert kept.wire == option(circuit(length="6 m", drop="2.5 %")).wire == "w2.5"
    assert "of 0.3 V" in reason(kept, "wire")


def test_a_bundle_is_read_at_the_next_higher_count_of_the_table_chosen():
    # A fuse of 15 A: 1 mm2 carries 20 A alone, 1.5 mm2 25 A, 2.5 mm2 35 A.
    def chosen(bundle, **rules):
        found = option(circuit(load="11 A", length="0.5 m", bundle=bundle), rules=rules)
        return found.wire, found.wire_limit_a

    assert chosen(1) == ("w1", 20)
    assert chosen(4) == chosen(6) == ("w1.5", 15)
    assert chosen(7) == ("w2.5", 17.5)
    assert chosen(7, bundle_table="bunched") == ("w2.5", pytest.approx(18.9))
    assert chosen(10, bundle_table="bunched") == ("w2.5", pytest.approx(15.75))
    assert chosen(30) == ("w4", 18)
    assert chosen(None, bundle_table="bunched") == ("w1.5", 17.5)


def test_the_smallest_row_that_carries_a_current():
    """33 CFR 183.425 Table 5, 105 degC: 60 A at 10 AWG (5.261 mm2), 80 A at 8 AWG (8.365 mm2)."""
    assert smallest_area_mm2(60, 105, 30, 1.0) == pytest.approx(5.261, abs=1e-3)
    assert smallest_area_mm2(60.01, 105, 30, 1.0) == pytest.approx(8.365, abs=1e-3)
    assert smallest_area_mm2(6000, 105, 30, 1.0) is None
    own = OwnFigures.model_validate({"ampacity": {"4 mm2": {"105 degC": "70 A"}}}).over(PUBLISHED)
    assert smallest_area_mm2(60.01, 105, 30, 1.0, own) == 4


def test_a_conductor_never_counts_as_hotter_than_its_insulation_may_be():
    """A quarter of what it may carry warms it half way; four times as much no farther than its insulation allows."""
    assert [conductor_temperature_c(45, 105, amps, 20) for amps in (5, 20, 80)] == pytest.approx([75, 105, 105])


def test_what_a_wire_stands_goes_by_the_vehicle_s_own_copper():
    own = OwnFigures.model_validate({"adiabatic_copper": "113 A s^0.5/mm2"}).over(PUBLISHED)
    assert insulation_k(105, own) == pytest.approx(insulation_k(105) / 2)


def test_a_wire_of_the_vehicle_s_own_end_temperature_must_be_thicker():
    """Insulation of 105 degC that may reach 120 degC only stands far less than up to 160 degC: 10 A of type C."""
    assert option(circuit(load="7 A")).wire == "w1"
    own = {"figures": {"final_temperature": {"60 degC": "110 degC"}}}
    assert option(circuit(load="7 A"), rules=own).wire == "w2.5"
