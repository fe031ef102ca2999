"""The sizing table is checked too: a wrong figure in it neither hides a fault nor goes unseen."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from allocator.sizing.sized import Cut, Entry, Option, Sized
from allocator.verifying import goal_values, verify
from allocator.verifying.net import highest_v
from allocator.verifying.protection import protection_ma
from allocator.verifying.view import View
from tests.verifying.edits import change
from tests.verifying.hand_built import good
from tests.verifying.mutations import crowd
from tests.verifying.other_tables import told, with_entry, with_need, with_options, with_sized_feed, with_tables
from tests.verifying.paper_panel import paper


@pytest.mark.parametrize("factor", [Fraction(9, 10), Fraction(11, 10)])
def test_a_load_that_is_stated_wrong(factor: Fraction) -> None:
    """Ten per cent off either way is said; the table's own rounding up to whole milliamperes is not."""
    sized, plan = good()
    loads = tuple(int(load * factor) for load in sized.need_by_id["dip-left"].load_ma_by_case)
    texts = told(with_need(sized, "dip-left", load_ma_by_case=loads), plan, "fuse-carries-load")
    assert texts == [
        'circuit "dip-left": draws 5.347 A in load case "road"; the sizing table says '
        f"{loads[0] / 1000} A  [fuse-carries-load]"
    ]


@pytest.mark.parametrize(("name", "own_a"), [("light-switch", "0.7 A"), ("hazard", "9.189 A"), ("spare-1-1", "2 A")])
def test_a_load_that_is_left_out(name: str, own_a: str) -> None:
    """Coils of a controlled feed and of a flasher count, and so does a reserve; a feed's coil hangs on its control."""
    sized, plan = good()
    texts = told(with_need(sized, name, load_ma_by_case=(0, 0)), plan, "fuse-carries-load")
    assert any(f'draws {own_a} in load case "parked"' in text for text in texts), texts


def test_a_row_and_a_module_limit_that_are_stated_too_high() -> None:
    """The catalogue's own derated limits still bind: 45 A x 80 % and 60 A x 80 % at 50 degC."""
    sized, plan = good()
    high = replace(sized, row_limit_ma={}, module_limit_ma={("aft", "twin"): 10**6})
    crowded = crowd(plan, "winch", 4)
    assert any("36 A are allowed" in text for text in told(high, crowded, "row-current"))
    assert any("48 A are allowed" in text for text in told(high, crowded, "module-current"))


def test_an_entry_limit_that_is_stated_too_high() -> None:
    """75 % of the tail fuse of 50 A; without it strip 70 A x 80 %; inlet, tail wire and stud carry more."""
    sized, plan = good()
    key = ("aft", "twin", 1, "deck")
    high = with_entry(sized, key, replace(sized.entries[key], limit_ma=10**6))
    crowded = crowd(plan, "winch", 4)
    assert any("37.5 A are allowed" in text for text in told(high, crowded, "piece-current"))
    bare = with_entry(sized, key, Entry(10**6, sized.entries[key].terminal))
    unfused = change(crowded, "pieces", "aft/3/B/1-2", tail_fuse=None)
    assert any("56 A are allowed" in text for text in told(bare, unfused, "piece-current"))


def test_an_entry_limit_that_is_lower_than_the_parts() -> None:
    """The table may hold reasons that the catalogue does not."""
    sized, plan = good()
    key = ("cabin", "bus", 0, "battery")
    low = with_entry(sized, key, Entry(1000, sized.entries[key].terminal))
    assert any("1 A are allowed" in text for text in told(low, plan, "piece-current"))


@pytest.mark.parametrize(
    ("terminal", "says"),
    [
        ("ring-M6-16", "is a ring M6; needed is a inlet of 12 mm"),
        ("tab-6.3-2.5", "is a tab of 6.3 mm"),
        ("inlet-12-6", "does not take a wire of 10 mm2"),
        ("no-such", "no terminal for it there"),
    ],
)
def test_a_terminal_that_does_not_fit(terminal: str, says: str) -> None:
    sized, plan = good()
    wrong = with_entry(sized, ("cabin", "twin", 0, "battery"), Entry(1000, terminal))
    assert any(says in text for text in told(wrong, plan, "tail-fits")), told(wrong, plan, "tail-fits")


@pytest.mark.parametrize(("field", "part"), [("cable_wire", "cable"), ("tail_wire", "tail")])
def test_a_feed_wire_that_is_too_thin(field: str, part: str) -> None:
    """The cable behind 100 A, each tail behind its fuse of 60 A."""
    sized, plan = good()
    texts = told(with_sized_feed(sized, "battery", **{field: "w2.5"}), plan, "fuse-protects-wire")
    assert len(texts) == 2  # once at each panel
    assert all(f"{part}: a fuse of" in text and 'wire "w2.5"' in text for text in texts)


def test_a_cable_is_read_at_the_hotter_of_its_ends() -> None:
    """A branch whose home is hot and whose ways are in the cool: 35 degC at one end, 50 degC at the other."""
    sized, plan = good()
    lights = next(feed for feed in sized.requirements.scenario.feeds if feed.name == "lights")
    feeds = tuple(
        feed.model_copy(update={"home": "aft"}) if feed is lights else feed
        for feed in sized.requirements.scenario.feeds
    )
    moved = with_tables(with_sized_feed(sized, "lights", cable_wire="w4"), feeds=feeds)
    texts = told(moved, plan, "fuse-protects-wire")
    assert ['wire "w4", which may carry 38.25 A there' in text for text in texts] == [True]


@pytest.mark.parametrize(
    ("name", "protection"),
    [("horn", "15 A"), ("lights", "2 A"), ("hazard", "15 A")],  # own fuse, control's fuse, own fuse
)
def test_a_coil_lead_that_is_too_thin(name: str, protection: str) -> None:
    sized, plan = good()
    thin = with_options(sized, name, wires=(Cut("hair", 100, "86" if name != "hazard" else "31", "earth"),))
    hair = sized.requirements.catalogue.wires[0].model_copy(update={"id": "hair", "area": 0.5})
    catalogue = sized.requirements.catalogue
    wires = catalogue.model_copy(update={"wires": (*catalogue.wires, hair)})
    thin = replace(thin, requirements=thin.requirements.model_copy(update={"catalogue": wires}))
    texts = told(thin, plan, "fuse-protects-wire")
    assert any("coil lead" in text and f"a fuse of {protection}" in text for text in texts), texts


# E 30 A: (180 A)2 x 1 s; E 20 A: (120 A)2 x 1 s. 1 mm2 of 105 degC stands 87.57 squared, 7669 A2s.
@pytest.mark.parametrize(
    ("feed", "fields", "says"),
    [
        ("hold", {"cable_wire": "w1"}, 'cable: fuse "E-30" lets by up to 32400 A²s; wire "w1" stands 7669 A²s'),
        ("hold", {"tail_wire": "w1"}, 'tail: fuse "E-30" lets by up to 32400 A²s; wire "w1" stands 7669 A²s'),
        ("battery", {"cable_wire": "w1", "tail_wire": "w1"}, None),  # SF30: nothing is published
    ],
)
def test_a_feed_wire_that_a_short_circuit_melts(feed: str, fields: dict[str, str], says: str | None) -> None:
    sized, plan = good()
    texts = told(with_sized_feed(sized, feed, **fields), plan, "wire-withstands-fault")
    assert all(f'feed "{feed}"' in text for text in texts)
    assert any(says in text for text in texts) if says else texts == []


def test_a_coil_lead_behind_a_fuse_of_its_own() -> None:
    """The in-line fuse counts, not the larger one of the need; a lead that it protects is fine."""
    sized, plan = good()
    option: Option = sized.need_by_id["horn"].options[0]
    lead = (Cut("w1", 100, "86", "own fuse way"),)
    assert any(
        "coil lead" in text for text in told(with_options(sized, "horn", wires=lead), plan, "fuse-protects-wire")
    )
    inline = with_options(sized, "horn", wires=lead, parts={**option.parts, "C-2": 1, "holder-e": 1})
    assert told(inline, plan, "fuse-protects-wire") == []


def test_a_table_without_jumper_costs_no_wire() -> None:
    """The checker counts what the table says, and no more."""
    sized, plan = paper()
    before = goal_values(sized, plan)["wire-length"]
    assert goal_values(with_options(sized, "a", jumper_wire=None), plan)["wire-length"] == before - 100


@pytest.mark.parametrize("text", ["cabin/first", "under the bunk", "cabin/4/B/2", "cabin/5", "aft"])
def test_a_pin_that_the_place_does_not_meet(text: str) -> None:
    """At every depth of an address, and where the pin is none."""
    sized, plan = good()
    circuits = tuple(
        circuit.model_copy(update={"pin": text}) if circuit.id == "radio" else circuit
        for circuit in sized.requirements.circuits
    )
    assert told(with_tables(sized, circuits=circuits), plan, "pin") == [
        f'cabin/4/B/1 (circuit radio): is pinned to "{text}"  [pin]'
    ]


def test_a_need_that_the_table_has_not() -> None:
    """A circuit without a row of its own cannot be as sized."""
    sized, plan = good()
    without = replace(sized, needs=tuple(need for need in sized.needs if need.id != "radio"))
    assert [text for text in told(without, plan, "as-sized") if 'circuit "radio"' in text and "no row" in text]


def test_feeds_that_branch_in_a_circle_end() -> None:
    """
    Reading refuses such requirements; a table built past it must not hang the checker.

    The feed that was a root hangs on a switched branch of its own now: its cable lengths are wrong, and what must work
    with the key out does not; what it draws comes through the relay of that branch.
    """
    sized, plan = good()
    feeds = tuple(
        feed.model_copy(update={"source": "deck", "tail_fuse": None}) if feed.name == "battery" else feed
        for feed in sized.requirements.scenario.feeds
    )
    circle = with_tables(sized, feeds=feeds)
    on_a_switch = {finding.where for finding in verify(circle, plan) if finding.rule == "key-out"}
    assert on_a_switch == {"cabin/1/A/1 (circuit hazard)", "aft/3/A/1 (circuit pump-b)"}
    cables = {finding.where for finding in verify(circle, plan) if finding.rule == "cable-lengths"}
    assert cables == {'feed "battery" at panel "cabin"', 'feed "battery" at panel "aft"'}
    assert [text.partition(":")[0] for text in told(circle, plan, "relay-carries-load")] == ["aft/1/S1"]


def test_what_protects_each_feed() -> None:
    """Main fuse, own fuse as placed, and for a relay alone the tail fuse or the protection of its source."""
    sized, plan = good()
    view = View(sized, plan)
    assert [protection_ma(view, name) for name in view.feeds] == [100_000, 60_000, 40_000, 60_000, 30_000]
    bare = tuple(feed.model_copy(update={"tail_fuse": None}) for feed in sized.requirements.scenario.feeds)
    assert protection_ma(View(with_tables(sized, feeds=bare), plan), "deck") == 100_000
    empty = plan.model_copy(update={"ways": ()})
    assert protection_ma(View(sized, empty), "hold") == 30_000


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"fuse": "SF30-80"}, "has a main fuse of 80 A; its rating is 100 A"),
        ({"fuse": "no-such"}, "has no main fuse and holder of the catalogue"),
        ({"holder": "no-such"}, "has no main fuse and holder of the catalogue"),
        ({"fuse": "E-50"}, 'holder "main-sf30" does not take fuse "E-50"'),
        ({"ring": "ring-M6-16"}, 'terminal "ring-M6-16" is no ring M8'),
        ({"ring": "ring-M8-16"}, 'terminal "ring-M8-16" is no ring M8 for its cable and 100 A'),
        ({"lead_mm": 100}, "its main fuse is 0 mm from the source; the sizing table has a lead of 100 mm"),
        ({"lead_rings": ("ring-M8-50", "ring-M8-50")}, "its main fuse is 0 mm from the source"),
    ],
)
def test_a_main_fuse_that_does_not_fit(fields: dict[str, Any], says: str) -> None:
    sized, plan = good()
    main = sized.feeds["battery"].main
    assert main is not None
    wrong = with_sized_feed(sized, "battery", main=replace(main, **fields))
    assert any(says in text for text in told(wrong, plan, "main-fuse")), told(wrong, plan, "main-fuse")


def test_a_root_feed_without_a_main_fuse() -> None:
    sized, plan = good()
    assert told(with_sized_feed(sized, "ignition", main=None), plan, "main-fuse") == [
        'feed "ignition": has no main fuse and holder of the catalogue  [main-fuse]'
    ]


def test_every_fuse_is_held_against_the_net() -> None:
    """In ways and tails at the panel's fault current, before coils too, main fuses at that of the source."""
    sized, plan = good()
    supply = sized.requirements.scenario.supply
    strong = with_tables(sized, supply=supply.model_copy(update={"fault_current": 1500.0}))
    texts = told(strong, plan, "fuse-suits-net")
    assert any("cabin/4/B/1 (circuit radio)" in text for text in texts)
    assert any('tail of feed "battery" at cabin/5/stud' in text for text in texts)
    assert any('main fuse of feed "ignition"' in text for text in texts)
    source = with_tables(sized, supply=supply.model_copy(update={"source_fault_current": 1500.0}))
    assert [text.partition(":")[0] for text in told(source, plan, "fuse-suits-net")] == [
        'main fuse of feed "battery"',
        'main fuse of feed "ignition"',
    ]
    inline = dict(sized.need_by_id["horn"].options[0].parts) | {"E-weak": 1}
    texts = told(with_options(sized, "horn", parts=inline), plan, "fuse-suits-net")
    assert [text.partition(":")[0] for text in texts] == ["coil of cabin/1/S3"]


def test_the_highest_voltage_of_a_net() -> None:
    """At the next higher nominal voltage of the table, or as it is used; past the table's end a third above."""
    sized, plan = good()
    vehicle = sized.requirements.scenario.vehicle

    def volts(nominal: float, operating: float) -> float:
        update = {"nominal_voltage": nominal, "operating_voltage": operating}
        return highest_v(View(with_tables(sized, vehicle=vehicle.model_copy(update=update)), plan))

    assert [volts(12, 14), volts(13, 14), volts(24, 40), volts(60, 61)] == [16, 32, 40, 80]


def test_a_cable_that_does_not_outlive_its_main_fuse() -> None:
    """A type E fuse of 50 A lets 300 A pass for 1 s, if so much flows at the source; 1 mm2 stands 7669 A2s."""
    sized, plan = good()
    main = sized.feeds["ignition"].main
    assert main is not None
    thin = with_sized_feed(sized, "ignition", main=replace(main, fuse="E-50"), cable_wire="w1")
    texts = told(thin, plan, "wire-withstands-fault")
    assert any('cable: fuse "E-50" lets by up to 90000 A²s; wire "w1" stands' in text for text in texts), texts
    supply = sized.requirements.scenario.supply.model_copy(update={"fault_current": 200.0})
    assert not any("cable" in text for text in told(with_tables(thin, supply=supply), plan, "wire-withstands-fault"))
    at_source = supply.model_copy(update={"source_fault_current": 400.0})
    texts = told(with_tables(thin, supply=at_source), plan, "wire-withstands-fault")
    assert any("cable: fuse" in text for text in texts)


def _without_feeds(sized: Sized, *names: str) -> Sized:
    return replace(sized, feeds={name: feed for name, feed in sized.feeds.items() if name not in names})


@pytest.mark.parametrize("name", ["battery", "ignition", "lights", "deck", "hold"])
def test_a_feed_that_the_table_leaves_out_is_told_and_every_rule_still_looks(name: str) -> None:
    """Root, branch with fuse, with relay, with both; no rule about it stumbles, and goals have values."""
    sized, plan = good()
    bare = _without_feeds(sized, name)
    found = [finding.text() for finding in verify(bare, plan)]
    assert f'feed "{name}": the sizing table has no row for it  [as-sized]' in found
    assert goal_values(bare, plan)["bays"] == 9


def test_a_table_without_any_feed_tells_each() -> None:
    sized, plan = good()
    found = [finding for finding in verify(_without_feeds(sized, *sized.feeds), plan) if finding.rule == "as-sized"]
    assert [finding.where for finding in found] == [f'feed "{name}"' for name in sized.feeds]
