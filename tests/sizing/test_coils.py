"""The leads of a relay coil: never thinner than the fuse before them allows, and where each of them goes."""

from __future__ import annotations

import pytest

from allocator.sizing.sized import InlineFuse
from tests.sizing.vehicles import (
    AREAS,
    catalogue_table,
    circuit,
    faults,
    feed,
    option,
    panel,
    part,
    reason,
    relay,
    sized,
    terminal,
    wire,
)

COIL = ("85", "86", "31")
FLASHER = circuit(load="20 A", switching="flasher", load_type="filament-lamp", fuse_format="C")
LARGE = circuit(load="20 A", switching="relay", relay_class="standard", fuse_format="C")
"""Behind 30 A, for which a lead would have to be of 4 mm2."""


def leads(found):
    return {cut.start: cut.wire for cut in found.wires if cut.start in COIL}


def mini(name="mini", **fields):
    return part(name, **{"fuse_format": "F", "limit": "30 A"} | fields)


def test_a_lead_of_just_2_5_mm2_needs_no_fuse_of_its_own_and_a_thicker_one_gets_one():
    """In a bundle 2.5 mm2 carry 24.5 A and 4 mm2 31.5 A."""
    at_20 = option(circuit(load="14.5 A", switching="relay", relay_class="standard"))
    assert (at_20.fuse_rating_a, leads(at_20)) == (20, {"85": "w2.5", "86": "w2.5"})
    assert "holder" not in at_20.parts and "coil leads of w2.5 behind a fuse of 20 A" in reason(at_20, "relay")
    at_30 = option(LARGE)
    assert (at_30.fuse_rating_a, leads(at_30)) == (30, {"85": "w1", "86": "w1"})
    assert at_30.parts["holder"] == at_30.parts["F2"] == 1
    assert (at_20.coil_fuse, at_30.coil_fuse) == (None, InlineFuse("F2", "holder"))
    assert "coil leads of w1 behind an in-line fuse of 2 A" in reason(at_30, "relay")


def test_the_earth_of_a_flasher_is_as_thick_as_its_fuse_asks_whatever_holders_there_are():
    """It has no coil side 86 in which an in-line fuse could stand."""
    found = option(FLASHER)
    assert (found.fuse_rating_a, leads(found)) == (30, {"31": "w4"})
    assert "holder" not in found.parts and found.terminal_by_designation["31"] == "tab-6.3-6"


@pytest.mark.parametrize(
    ("holders", "taken"),
    [
        ([mini("dear", price="2.00"), mini("cheap")], "cheap"),
        ([mini("b"), mini("a")], "a"),
        ([mini("weak", limit="1.9 A", price="0.10"), mini("exact", limit="2 A")], "exact"),
        ([mini("of-no-fuse", fuse_format="A", price="0.10"), mini("mini")], "mini"),
        ([mini("maxi", fuse_format="E", price="0.10"), mini("mini")], "maxi"),
    ],
)
def test_the_cheapest_holder_that_takes_the_smallest_fuse_of_its_format_is_fitted(holders, taken):
    """Of type E that is one of 20 A, behind which the leads are of 2.5 mm2."""
    found = option(LARGE, catalogue={"holders": holders})
    assert {name for name in found.parts if name in {item["id"] for item in holders}} == {taken}
    assert set(leads(found).values()) == {"w2.5" if taken == "maxi" else "w1"}


def test_the_fuse_of_a_lead_carries_its_coil_also_where_it_is_hot():
    """9.5 ohm at 14 V draw 1.474 A: 75 % of 2 A are 1.5 A, 68 % at 80 degC are 1.36 A."""
    strong = {"relays": [relay("strong-coil", "standard", coil="9.5 ohm")]}
    assert option(LARGE, catalogue=strong).parts["F2"] == 1
    assert option(LARGE, catalogue=strong, rules={"loading_factor": "73 %"}).parts["F3"] == 1
    tabs = [*catalogue_table()["terminals"], terminal("tab", 6.3, 4, 10, 60)]
    hot = option(LARGE | {"load": "18 A"}, catalogue=strong | {"terminals": tabs}, panels=[panel(ambient="80 degC")])
    assert hot.parts["F3"] == 1


def test_where_no_wire_is_thin_enough_behind_a_fuse_of_its_own_the_next_holder_is_tried():
    """All wires on offer bear 30 A; the tabs of 4.8 mm take none of them behind more than 20 A."""
    thick = {"wires": [wire(area) for area in AREAS if area >= 4]}
    tabs = [item for item in catalogue_table()["terminals"] if item["id"] != "tab-4.8-2.5"]
    tables = thick | {"terminals": [*tabs, terminal("tab", 4.8, 0.5, 6, 10)]}
    holders = [part("maxi", fuse_format="E", limit="100 A", price="0.10"), mini()]
    found = option(LARGE, catalogue=tables | {"holders": holders})
    assert (leads(found), found.parts["mini"], "maxi" in found.parts) == ({"85": "w4", "86": "w4"}, 1, False)
    (fault,) = faults(LARGE, catalogue=tables | {"holders": holders[:1]})
    assert fault.rule == "coil-unprotected"
    assert "hang on a fuse of 30 A, and no wire and terminal on offer bear that" in fault.message
    assert fault.known.endswith("tabs 85 of 4.8 mm, 86 of 4.8 mm")


@pytest.mark.parametrize(
    ("areas", "holders", "lead", "taken"),
    [
        (
            (4, 6, 10),
            ["mini"],
            "w4",
            None,
        ),  # 4 mm2 is the thinnest on offer, and carries 31.5 A: behind 30 A and behind 2 A
        ((2.5, 4, 6, 10), ["mini"], "w2.5", "mini"),
        ((4, 6, 10), ["maxi", "mini"], "w4", None),
        ((1, 4, 6, 10), ["maxi", "mini"], "w1", "mini"),  # 20 A of type E ask for 4 mm2, though that holder is cheaper
    ],
)
def test_an_in_line_fuse_whose_wire_is_no_thinner_is_not_fitted(areas, holders, lead, taken):
    """It would buy nothing: the fuse of 30 A protects that wire as it is."""
    tabs = [*catalogue_table()["terminals"], terminal("tab", 4.8, 2.5, 6, 40)]
    made = {"maxi": part("maxi", fuse_format="E", limit="100 A", price="0.10"), "mini": mini()}
    tables = {"wires": [wire(area) for area in areas], "terminals": tabs, "holders": [made[name] for name in holders]}
    found = option(LARGE, catalogue=tables)
    assert set(leads(found).values()) == {lead}
    assert [name for name in found.parts if name in made] == ([] if taken is None else [taken])


def test_every_fuse_that_the_control_may_have_counts():
    """7.5 A of type C or F, 20 A of type E: 1 mm2 in a bundle carries 14 A."""
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", fuse_format="C")
    any_format, blade = (option(horn, circuit("key", **fields)) for fields in ({}, {"fuse_format": "C"}))
    assert (leads(any_format)["86"], leads(blade)["86"]) == ("w2.5", "w1")
    text = (
        "coil leads of w2.5 behind a fuse of 20 A; key may have up to 20 A, with a fuse_format of its own perhaps less"
    )
    assert text in reason(any_format, "relay")
    assert "key may have" not in reason(blade, "relay")


def test_that_a_control_is_open_is_told_of_a_thick_lead_too():
    """Of type C it has 7.5 A, for which 1 mm2 does; of type E nothing below 20 A, and then nothing below 30 A."""
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", fuse_format="C")
    table = catalogue_table()
    wide = {"holders": [], "terminals": [*table["terminals"], terminal("tab", 4.8, 2.5, 6, 40)]}
    for without, lead, rating_a in (((), "w2.5", 20), (("20 A",), "w4", 30)):
        fuses = [
            item
            for item in table["fuses"]
            if item["fuse_format"] != "F" and not (item["fuse_format"] == "E" and item["rating"] in without)
        ]
        assert (
            f"coil leads of {lead} behind a fuse of {rating_a} A; key may have up to {rating_a} A, with a fuse_format "
            "of its own perhaps less"
        ) in reason(option(horn, circuit("key"), catalogue=wide | {"fuses": fuses}), "relay")


def test_the_earth_of_a_flasher_hangs_on_its_own_fuse_whatever_controls_it():
    found = option(FLASHER | {"control": "key"}, circuit("key", load="1 A", fuse_format="C"))
    assert (leads(found), cuts(found)) == ({"31": "w4"}, [("w4", 0, "31", "earth")])


def test_a_control_without_any_fuse_is_the_only_fault():
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", fuse_format="C")
    (fault,) = faults(horn, circuit("key", load="99 A"))
    assert fault.where == 'circuits table, circuit "key"' and fault.rule == "no-rating-large-enough"


def test_a_lead_behind_a_large_fuse_of_the_control_goes_to_its_switched_side():
    """30 A: behind an in-line fuse of its own a thin one, and without a holder one of 4 mm2."""
    horn = circuit("horn", switching="relay", relay_class="standard", control="key", fuse_format="C")
    key = circuit("key", load="20 A", fuse_format="C")
    wide = {"holders": [], "terminals": [*catalogue_table()["terminals"], terminal("tab", 4.8, 2.5, 6, 40)]}
    assert cuts(option(horn, key))[1] == ("w1", 3000, "86", "switched side of key")
    assert cuts(option(horn, key, catalogue=wide))[1] == ("w4", 3000, "86", "switched side of key")


def test_the_fuse_of_a_lead_goes_by_the_vehicle_s_own_curve():
    """14 V / 12 ohm are 1.167 A; half of 2 A is less."""
    strong = {"relays": [relay("strong-coil", "standard", coil="12 ohm")]}
    own = {"figures": {"fuse_share": {"F": {"40 degC": "50 %"}}}}
    assert option(LARGE, catalogue=strong).parts["F2"] == option(LARGE, catalogue=strong, rules=own).parts["F3"] == 1


def test_a_fuse_counts_that_the_control_has_in_whichever_format_carries_it():
    """31 A are too much for any type C or F; the lead of the coil hangs on 50 A of type E."""
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", fuse_format="C")
    found = option(horn, circuit("key", load="31 A"), feeds=[feed(rating="100 A")])
    assert (leads(found)["86"], found.parts["holder"]) == ("w1", 1)


def test_a_fuse_counts_only_where_the_control_may_be():
    """5.14 A take 7.5 A of type C at 30 degC, and 10 A at 85 degC, where it carries 66 %."""
    two = [panel("cool"), panel("hot", ambient="85 degC")]
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", fuse_format="C", panels=["cool"])
    key = circuit("key", fuse_format="C")
    found = [
        reason(option(horn, key | {"panels": panels}, panels=two, feeds=[feed(rating="30 A")]), "relay")
        for panels in (["cool"], ["hot"], [])
    ]
    assert [text.partition("behind ")[2][:17] for text in found] == ["a fuse of 7.5 A", *["a fuse of 10 A"] * 2]


def cuts(found):
    return [(cut.wire, cut.length_mm, cut.start, cut.end) for cut in found.wires if cut.start in COIL]


def test_leads_go_to_the_own_way_or_to_the_switched_side_of_the_control_and_to_the_return():
    own, back = circuit(switching="relay", relay_class="micro"), {"return_path": "wire"}
    assert cuts(option(own, vehicle=back))[0] == ("w1", 0, "85", "switch to return")
    assert cuts(option(own, catalogue={"short_jumper": "0.15 m"}))[1] == ("w1", 150, "86", "own fuse way")
    driven = own | {"control": "key"}
    assert cuts(option(driven, circuit("key", fuse_format="C"), vehicle=back))[0] == ("w1", 0, "85", "return")


def test_the_lead_to_the_control_is_as_long_as_its_run_from_this_panel():
    two = [panel(), panel("rear")]
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", panels=["cabin"])
    for length, panels, mm in (
        ({"cabin": "1.25 m", "": "4 m"}, ["cabin"], 1250),
        ({"": "4 m"}, ["cabin"], 4000),
        ({"rear": "2 m"}, ["rear"], 0),
        ({"rear": "2 m"}, ["cabin", "rear"], 0),
    ):
        key = circuit("key", length=length, fuse_format="C", panels=panels)
        assert cuts(option(horn, key, panels=two))[1] == ("w1", mm, "86", "switched side of key")


def test_a_length_without_a_panel_counts_from_no_panel_where_the_control_cannot_be():
    """The switch is 1 m from the rear, where its circuit is; how far it is from the cabin nobody has said."""
    two = [panel(), panel("rear")]
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", panels=["cabin"])
    for panels, mm in ((["rear"], 0), (["rear", "cabin"], 1000), ([], 1000)):
        key = circuit("key", length="1 m", fuse_format="C", panels=panels)
        assert cuts(option(horn, key, panels=two))[1] == ("w1", mm, "86", "switched side of key")
        told = [item for item in sized(horn, key, panels=two).cautions if item.rule == "coil-lead-unmeasured"]
        assert [item.about for item in told] == ([] if mm else ["horn"])
    assert "panel cabin is switched by key" in sized(horn, key | {"panels": ["rear"]}, panels=two).cautions[0].text


def test_a_lead_to_a_control_elsewhere_is_as_hot_as_the_hotter_of_the_two_panels():
    """In a bundle 1 mm2 of 105 degC carries 14 A at 30 degC; at 80 degC 0.57 of it, and 1.5 mm2 0.57 x 17.5 A."""
    two = [panel("cool"), panel("hot", ambient="80 degC")]
    horn = circuit("horn", switching="relay", relay_class="micro", control="key", fuse_format="C", panels=["cool"])
    for panels, lead in ((["cool"], "w1"), (["hot"], "w2.5"), ([], "w2.5")):
        key = circuit("key", load="5 A", fuse_rating="10 A", fuse_format="C", panels=panels)
        assert leads(option(horn, key, panels=two, feeds=[feed(rating="30 A")]))["86"] == lead


def test_the_coil_of_a_feed_hangs_on_its_own_fuse_or_on_its_control():
    branch = feed("key", source="battery", rating="30 A", fuse_format="E", relay_class="micro")
    own = option(name="key", fuse_format="E", feeds=[feed(), branch])
    assert "holder" in own.parts and cuts(own)[1] == ("w1", 100, "86", "own fuse way")
    driven = option(circuit(fuse_format="C"), name="key", fuse_format="E", feeds=[feed(), branch | {"control": "lamp"}])
    assert "holder" not in driven.parts and cuts(driven)[1] == ("w1", 3000, "86", "switched side of lamp")
