"""Which wire the checker holds to which fuse, in which bundle and how hot a place; and the rule of small craft."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from allocator.requirements.catalogue import Wire
from allocator.requirements.own_figures import OwnFigures
from allocator.sizing.sized import Sized
from allocator.verifying import protection
from allocator.verifying.protection import fuse_carries_load, fuse_protects_wire, inlet_protected, protection_ma
from allocator.verifying.view import View
from tests.verifying.edits import change
from tests.verifying.hand_built import good, with_feed
from tests.verifying.other_tables import told, with_part, with_rules

BATTERY, IGNITION = "100 A w16 alone, 60 A w10 alone", "60 A w10 alone, 60 A w10 alone"
FEEDS = {
    ("battery", "cabin", 35): BATTERY,
    ("battery", "aft", 50): BATTERY,
    ("ignition", "cabin", 35): IGNITION,
    ("lights", "cabin", 35): "40 A w4 alone, 40 A w4 alone",
    ("hold", "aft", 50): "30 A w4 alone, 30 A w4 alone",
    ("deck", "aft", 50): "60 A w10 alone, 50 A w6 alone",
}
"""Cable and tail of each feed where it enters; the deck hangs on its source's tail fuse and has one of its own."""
COILS = {
    ("aft/1/S1", "feed deck", 50): "2 A w2.5 bundled",
    ("cabin/5/S1", "feed lights", 35): "2 A w2.5 bundled",
    ("cabin/1/S1", "circuit hazard", 35): "15 A w1.5 bundled",
    ("cabin/1/S2", "circuit fan", 35): "15 A w1.5 bundled",
    ("cabin/1/S3", "circuit horn", 35): "15 A w1.5 bundled",
}
WITH_JUMPER = {"hazard": "15 A w1", "fan": "15 A w1", "horn": "15 A w1", "lights": "40 A w4"}
TEXT = re.compile(
    r'(?P<part>[^:]+): a fuse of (?P<fuse>\S+ A) protects wire "(?P<wire>\S+)", which may carry (?P<asked>\S+) A there'
)
ASKED = {"-35.07": (35, "bundled"), "-35.1": (35, "alone"), "-50.07": (50, "bundled"), "-50.1": (50, "alone")}
"""Ambient temperature, degC, and per cent of the bundle, as the stand-in for what a wire carries gives them back."""


def _told(sized: Sized, monkeypatch: pytest.MonkeyPatch) -> set[tuple[str, str, int, str]]:
    """Return every wire that is looked at: no wire carries anything here, and its finding says what was asked of it."""

    def nothing(_: Wire, ambient_c: float, percent: float = 100, figures: object = None) -> Fraction:
        assert percent in (70, 100) and figures is sized.requirements.figures
        return -Fraction(int(1000 * ambient_c + percent))

    monkeypatch.setattr(protection, "wire_limit_ma", nothing)
    found = set()
    for finding in fuse_protects_wire(View(sized, good()[1])):
        assert finding.rule == "fuse-protects-wire"
        match = TEXT.fullmatch(finding.detail)
        assert match, finding.detail
        ambient, lies = ASKED[match["asked"]]
        found.add((finding.where, match["part"], ambient, f"{match['fuse']} {match['wire']} {lies}"))
    return found


def test_every_wire_is_held_to_the_fuse_before_it_in_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Runs and coil leads lie in bundles of 70 %, jumpers, cables and tails alone."""
    sized, plan = good()
    expected = set()
    for way in plan.ways:
        if way.kind == "spare":
            continue
        where, ambient = f"{way.at} ({way.kind} {way.need})", 50 if way.at.startswith("aft") else 35
        rating = str(way.fuse).partition("-")[2]
        lies = "bundled" if way.kind == "circuit" else "alone"
        expected.add((where, "run", ambient, f"{rating} A {way.wire} {lies}"))
        if way.need in WITH_JUMPER:
            expected.add((where, "jumper", ambient, f"{WITH_JUMPER[way.need]} alone"))
    for (feed, panel, ambient), wires in FEEDS.items():
        for part, wire in zip(("cable", "tail"), wires.split(", "), strict=True):
            expected.add((f'feed "{feed}" at panel "{panel}"', part, ambient, wire))
    for (socket, name, ambient), wire in COILS.items():
        kind, _, need = name.partition(" ")
        expected.add((socket, f'coil lead of {kind} "{need}"', ambient, wire))
    assert _told(sized, monkeypatch) == expected


def test_a_cable_lies_in_the_hotter_of_its_two_panels(monkeypatch: pytest.MonkeyPatch) -> None:
    """The lights start aft, where it is 50 degC, and enter in the cabin; their tail stays in the cabin."""
    sized, _ = good()
    moved = with_feed(sized, "lights", home="aft")
    found = {item for item in _told(moved, monkeypatch) if item[0].startswith('feed "lights"')}
    where = 'feed "lights" at panel "cabin"'
    assert found == {(where, "cable", 50, "40 A w4 alone"), (where, "tail", 35, "40 A w4 alone")}


def test_a_coil_lead_lies_in_the_hotter_of_its_panel_and_that_of_its_control(monkeypatch: pytest.MonkeyPatch) -> None:
    """The lights' relay is in the cabin; with a switch aft its coil's lead is held to the 50 degC there."""
    sized, _ = good()
    for control, ambient in (("light-switch", 35), ("deck-switch", 50)):
        found = _told(with_feed(sized, "lights", control=control), monkeypatch)
        leads = {item[2] for item in found if item[1] == 'coil lead of feed "lights"'}
        assert leads == {ambient}


def test_a_home_that_the_scenario_has_not_says_nothing_of_heat(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading refuses it; the cable of the lights is held to the cabin's 35 degC."""
    sized, _ = good()
    moved = with_feed(sized, "lights", home="attic")
    where = 'feed "lights" at panel "cabin"'
    assert (where, "cable", 35, "40 A w4 alone") in _told(moved, monkeypatch)


def test_of_a_feed_that_the_sizing_table_has_not_no_cable_is_judged() -> None:
    """That it is not there is against another rule."""
    sized, plan = good()
    bare = replace(sized, feeds={name: feed for name, feed in sized.feeds.items() if name != "hold"})
    assert told(bare, plan, "fuse-protects-wire") == []
    assert any(text.startswith('feed "hold": the sizing table has no row') for text in told(bare, plan, "as-sized"))


def _heater(fuse: str, wire: str, vehicle: dict[str, Any] | None = None, **fields: Any) -> bool:
    """Say whether the run of the heater, 17.5 A at 14 V, passes by the rule of small craft."""
    sized, plan = good()
    requirements = sized.requirements
    figures = OwnFigures.model_validate(fields.pop("figures", {}))
    rules = requirements.scenario.rules.model_copy(update={"fuse_over_wire": "small-craft-150", "figures": figures})
    net = requirements.scenario.vehicle.model_copy(update=vehicle or {})
    scenario = requirements.scenario.model_copy(update={"rules": rules, "vehicle": net})
    circuits = tuple(c.model_copy(update=fields) if c.id == "heater" else c for c in requirements.circuits)
    asked = requirements.model_copy(update={"scenario": scenario, "circuits": circuits})
    edited = change(plan, "ways", "heater", fuse=fuse, wire=wire)
    found = fuse_protects_wire(View(replace(sized, requirements=asked), edited))
    return not any("(circuit heater)" in finding.where for finding in found)


# 33 CFR 183.455(c): up to 150 % of what the wire may carry, below 50 V. At 35 degC nothing is taken off for heat of a
# vehicle's own row of 20 A in 105 degC but sqrt(70 / 75) = 0.96.
@pytest.mark.parametrize(
    ("row_a", "fields", "passes"),
    [
        ("29.77 A", {}, True),  # x 0.96 x 0.70 = 20.005 A: 30.008 A at 150 %
        ("29.75 A", {}, False),  # 19.992 A: 29.988 A
        ("29.77 A", {"bundle": 7}, False),  # x 0.50: 14.29 A
    ],
)
def test_a_run_behind_one_and_a_half_times_what_it_carries(row_a: str, fields: dict[str, Any], passes: bool) -> None:
    own = {"ampacity": {"2.5 mm2": {"105 degC": row_a}}}
    assert _heater("E-30", "w2.5", figures=own, **fields) is passes


def test_the_limits_of_the_rule_are_within_it() -> None:
    """Exactly 150 % and a load of exactly what the wire carries, in no bundle at 30 degC, pass."""
    own = {"ampacity": {"2.5 mm2": {"105 degC": "20 A"}}, "ampacity_ambient": "35 degC"}
    alone = {"bundle": 1, "figures": own}
    assert _heater("E-30", "w2.5", **alone)
    exactly = {"ampacity": {"2.5 mm2": {"105 degC": "17.5 A"}}, "ampacity_ambient": "35 degC"}
    assert _heater("E-20", "w2.5", bundle=1, figures=exactly)


@pytest.mark.parametrize(("operating_v", "passes"), [(49.9, True), (50.0, False)])
def test_the_rule_holds_below_50_v(operating_v: float, passes: bool) -> None:
    """A heater of 180 W at 48 V draws less; its fuse of 30 A stands above 20.8 A of wire."""
    net = {"nominal_voltage": 48.0, "operating_voltage": operating_v, "minimum_voltage": 40.0}
    assert _heater("E-30", "w2.5", vehicle=net) is passes


@pytest.mark.parametrize(
    ("fields", "where", "says"),
    [
        ({"wire": "string"}, "circuit heater", 'run: wire "string" is not in the catalogue'),
        ({"need": "nobody", "wire": "w1"}, "circuit nobody", 'run: a fuse of 30 A protects wire "w1"'),
        ({"kind": "feed", "wire": "w1"}, "feed heater", 'run: a fuse of 30 A protects wire "w1"'),
    ],
)
def test_the_rule_lets_nothing_pass_of_which_it_knows_nothing(fields: dict[str, str], where: str, says: str) -> None:
    sized, plan = good()
    asked = with_rules(sized, fuse_over_wire="small-craft-150")
    (found,) = told(asked, change(plan, "ways", "heater", **fields), "fuse-protects-wire")
    assert found.startswith(f"cabin/5/A/2 ({where}): {says}")


def test_a_run_that_the_rule_lets_pass_hides_no_jumper() -> None:
    """20 A before 1.5 mm2, which carries 16.8 A in its bundle; the jumper of 1 mm2 carries 19.2 A and no more."""
    sized, plan = good()
    rules = sized.requirements.scenario.rules.model_copy(update={"fuse_over_wire": "small-craft-150"})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    asked = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    found = fuse_protects_wire(View(asked, change(plan, "ways", "fan", fuse="C-20")))
    assert [finding.detail for finding in found if "(circuit fan)" in finding.where] == [
        'jumper: a fuse of 20 A protects wire "w1", which may carry 19.2 A there'
    ]


def test_what_a_feed_enters_carries_the_fuse_before_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A way fed singly need not carry more than the largest fuse for it, here of 20 A behind 30 A; all others must."""
    sized, plan = good()
    catalogue = sized.requirements.catalogue
    fuses = tuple(fuse for fuse in catalogue.fuses if fuse.fuse_format != "C" or fuse.rating <= 20)
    catalogue = catalogue.model_copy(update={"fuses": fuses})
    asked = sized.requirements.model_copy(update={"catalogue": catalogue})
    view = View(replace(sized, requirements=asked), plan)
    before = {"battery": 60, "ignition": 60, "lights": 40, "hold": 30, "deck": 50}
    entries = {f'{e.at} (feed "{e.piece.feed}")': before[e.piece.feed] for e in view.entries}
    single = 'aft/1/A/1 (feed "hold")'
    for carried_a in (19, 20, 30, 49, 50, 59, 60):
        monkeypatch.setattr(protection, "inlet_limit_ma", lambda *_, a=carried_a: Fraction(1000 * a))
        told = {finding.where: finding.detail for finding in inlet_protected(view)}
        held = {where: min(rating, 20) if where == single else rating for where, rating in entries.items()}
        assert told == {
            where: f"carries {carried_a} A behind a fuse of {rating} A"
            for where, rating in held.items()
            if rating > carried_a
        }


def test_a_format_without_fuses_lets_nothing_pass() -> None:
    """A way fed singly, for which the catalogue has no fuse; other entries are as they were."""
    sized, plan = good()
    catalogue = sized.requirements.catalogue
    fuses = tuple(fuse for fuse in catalogue.fuses if fuse.fuse_format != "C")
    requirements = sized.requirements.model_copy(update={"catalogue": catalogue.model_copy(update={"fuses": fuses})})
    assert list(inlet_protected(View(replace(sized, requirements=requirements), plan))) == []


def test_relays_in_a_row_are_protected_by_what_is_before_the_first() -> None:
    """Deck behind lights, both with a relay alone, behind battery without tail fuses; a circle ends where it closes."""
    sized, plan = good()
    row = with_feed(with_feed(sized, "deck", source="lights"), "battery", tail_fuse=None)
    row = with_feed(row, "lights", fuse_format=None)
    assert [protection_ma(View(row, plan), name) for name in ("deck", "lights")] == [100_000, 100_000]
    circle = with_feed(row, "lights", fuse_format=None, source="deck")
    assert [protection_ma(View(circle, plan), name) for name in ("deck", "lights")] == [40_000, 50_000]


def test_a_way_fed_singly_holds_a_fuse_of_its_own_row(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second row takes fuses of up to 50 A, the first of up to 30 A; the inlet carries 40 A."""
    sized, plan = good()
    solo = sized.module_by_id["solo"]
    rows = (*solo.rows, solo.rows[0].model_copy(update={"fuse_format": "E"}))
    moved = change(plan, "pieces", "aft/1/A/1", at="aft/1/B/1", feed="battery", tail_fuse="SF30-60")
    view = View(with_part(sized, "modules", "solo", rows=rows), moved)
    monkeypatch.setattr(protection, "inlet_limit_ma", lambda *_: Fraction(40_000))
    told = {finding.where: finding.detail for finding in inlet_protected(view)}
    assert told['aft/1/B/1 (feed "battery")'] == "carries 40 A behind a fuse of 50 A"


def test_a_fuse_carries_its_load_by_the_vehicle_s_own_curve() -> None:
    """Type C at 35 degC is read at 65; 50 % of 15 A are 7.5 A, and the horn with its coil draws more."""
    sized, plan = good()
    own = OwnFigures.model_validate({"fuse_share": {"C": {"65 degC": "50 %"}}})
    rules = sized.requirements.scenario.rules.model_copy(update={"figures": own})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    asked = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    assert list(fuse_carries_load(View(sized, plan))) == []
    found = {finding.where: finding.detail for finding in fuse_carries_load(View(asked, plan))}
    assert found["cabin/3/A/1 (circuit horn)"].endswith('fuse "C-15" may carry 7.5 A there')


def test_a_fuse_that_does_not_suit_the_net_stands_in_no_way_fed_singly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the fuses above 20 A one is for 12 V only and one breaks too little: rule fuse-suits-net keeps both out."""
    sized, plan = good()
    catalogue = sized.requirements.catalogue
    unfit = {25: {"voltage": 12.0}, 30: {"breaking_capacity": 899.0}}
    fuses = tuple(f.model_copy(update=unfit.get(f.rating, {})) if f.fuse_format == "C" else f for f in catalogue.fuses)
    asked = sized.requirements.model_copy(update={"catalogue": catalogue.model_copy(update={"fuses": fuses})})
    monkeypatch.setattr(protection, "inlet_limit_ma", lambda *_: Fraction(19_000))
    found = inlet_protected(View(replace(sized, requirements=asked), plan))
    assert {finding.where: finding.detail for finding in found}[
        'aft/1/A/1 (feed "hold")'
    ] == "carries 19 A behind a fuse of 20 A"
