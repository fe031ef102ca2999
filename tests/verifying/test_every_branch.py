"""Cases that no other test of the checker reaches: statements on tolerances, runs with their own wishes, odd places."""

from __future__ import annotations

from dataclasses import replace

import pytest

from allocator.requirements.own_figures import OwnFigures
from allocator.verifying import verify, withstand
from allocator.verifying.fuses_before import fuse_before_coil
from allocator.verifying.runs import allowed_drop_v, run_m
from allocator.verifying.view import View
from allocator.verifying.withstand import wire_withstands_fault
from tests.verifying.edits import change
from tests.verifying.hand_built import good


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"outcome": "within tolerance", "best": 9, "bound": 8}, "called within tolerance, but the bound is 8"),
        ({"outcome": "best so far", "best": 8, "bound": 8}, "stated is 9; the best is 8 and the tolerance 0"),
        ({"outcome": "best so far", "best": 9, "bound": 8, "allowed": 20}, "up to 20 is said to be allowed; it is 9"),
    ],
)
def test_what_is_said_of_a_tolerance_must_hold(stated: dict[str, object], words: str) -> None:
    """The hand-built plan has 9 bays, and its rules give the goal no tolerance."""
    sized, plan = good()
    said = {name: str(value) if name != "outcome" else value for name, value in stated.items()}
    edited = change(plan, "goals", "bays", **{"value": "9", **said})
    found = [finding.detail for finding in verify(sized, edited) if finding.rule == "goal-value"]
    assert len(found) == 1 and words in found[0]


def test_the_way_back_and_the_drop_of_a_circuit_go_before_those_of_the_vehicle() -> None:
    """3 m there and 1 m back; 2 % of 12 V, of which the feed keeps its share."""
    sized, plan = good()
    view = View(sized, plan)
    circuit = view.circuits["heater"]
    panel = view.scenario.panels[0].name
    own = circuit.model_copy(update={"length": {panel: 3.0}, "return_length": 1.0, "drop": 2.0})
    assert run_m(view, own, panel) == 4.0
    kept = (100 - view.rules.upstream_drop) / 100
    assert allowed_drop_v(view, own) == pytest.approx(0.02 * view.scenario.vehicle.nominal_voltage * kept)


def test_hot_ways_at_a_place_that_cannot_be_read_are_passed_over() -> None:
    """The address is told by the rule on addresses; this one only must not stumble."""
    sized, plan = good()
    rules = sized.requirements.scenario.rules.model_copy(update={"hot_share": 0.1, "hot_from": 0.1})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    hot = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    before = {finding.where for finding in verify(hot, plan) if finding.rule == "hot-apart"}
    edited = change(plan, "ways", "heater", at="somewhere")
    after = {finding.where for finding in verify(hot, edited) if finding.rule == "hot-apart"}
    assert after <= before and not any("heater" in where for where in after)
    assert any(finding.where.startswith("somewhere") for finding in verify(hot, edited))
    number = {way.need: int(way.at.rpartition("/")[2]) for way in plan.ways if way.kind == "circuit"}
    pairs = [where.split('"')[1::2] for where in before]
    assert pairs and all(
        number[second] == number[first] + 1 for first, second in pairs if {first, second} <= set(number)
    )


def test_every_wire_behind_a_fuse_is_asked_whether_it_outlives_a_short_circuit(monkeypatch: pytest.MonkeyPatch) -> None:
    """No wire stands any heat here: each run, jumper, coil lead, cable and tail is named with its place and fuse."""
    monkeypatch.setattr(withstand, "wire_heat_a2s", lambda *_: 0.0)
    sized, plan = good()
    found = wire_withstands_fault(View(sized, plan))
    told = [(finding.where, *finding.detail.partition(" lets by")[0].split(": fuse ")) for finding in found]
    runs = {(f"{way.at} (circuit {way.need})", f'"{way.fuse}"') for way in plan.ways if way.kind == "circuit"}
    assert {(where, fuse) for where, part, fuse in told if part == "run"} == runs
    rest = sorted(item for item in told if item[1] != "run")
    assert len(told) == len(runs) + len(rest)
    assert rest == [
        ('aft/1/A/1 (feed "hold")', "cable", '"E-30"'),
        ('aft/1/A/1 (feed "hold")', "tail", '"E-30"'),
        ("aft/1/S1", "coil lead of feed deck", '"C-2"'),
        ('aft/3/A/1-2 (feed "hold")', "cable", '"E-30"'),
        ('aft/3/A/1-2 (feed "hold")', "tail", '"E-30"'),
        ('aft/3/B/1-2 (feed "deck")', "tail", '"E-50"'),
        ("cabin/1/A/1 (circuit hazard)", "jumper", '"C-15"'),
        ("cabin/1/A/2 (circuit fan)", "jumper", '"C-15"'),
        ("cabin/1/S1", "coil lead of circuit hazard", '"C-15"'),
        ("cabin/1/S2", "coil lead of circuit fan", '"C-15"'),
        ("cabin/1/S3", "coil lead of circuit horn", '"C-15"'),
        ("cabin/3/A/1 (circuit horn)", "jumper", '"C-15"'),
        ('cabin/3/B/1-1 (feed "lights")', "cable", '"E-40"'),
        ('cabin/3/B/1-1 (feed "lights")', "tail", '"E-40"'),
        ("cabin/5/A/1 (feed lights)", "jumper", '"E-40"'),
        ("cabin/5/S1", "coil lead of feed lights", '"C-2"'),
    ]


@pytest.mark.parametrize(("parts", "before"), [((), "C-15"), (("C-2",), "C-2"), (("C-2", "C-5"), "C-5")])
def test_the_fuse_in_a_coil_s_own_lead_goes_before_that_of_the_circuit(parts: tuple[str, ...], before: str) -> None:
    """The horn's own fuse of 15 A is no in-line fuse, though it is among the parts; of two the larger lets by more."""
    sized, plan = good()
    need = sized.need_by_id["horn"]
    listed = dict.fromkeys(("C-15", *parts), 1)
    options = tuple(replace(option, parts=dict(option.parts) | listed) for option in need.options)
    needs = tuple(replace(need, options=options) if other.id == "horn" else other for other in sized.needs)
    found = fuse_before_coil(View(replace(sized, needs=needs), plan), ("circuit", "horn"))
    assert found is not None and found.id == before


def test_a_wire_is_held_to_the_vehicle_s_own_end_temperature() -> None:
    """Insulation that must not get hotter than it is in service stands no short circuit at all."""
    sized, plan = good()
    assert list(wire_withstands_fault(View(sized, plan))) == []
    own = OwnFigures.model_validate({"final_temperature": {"60 degC": "105 degC"}})
    rules = sized.requirements.scenario.rules.model_copy(update={"figures": own})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    asked = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    found = [finding for finding in wire_withstands_fault(View(asked, plan)) if "(circuit horn)" in finding.where]
    assert found and all(finding.detail.endswith(" stands 0 A²s") for finding in found)


@pytest.mark.parametrize(("source_a", "cable_a"), [(None, 900), (2500, 2500)])
def test_only_the_cable_of_a_root_feed_must_outlive_the_fault_at_the_source(
    source_a: float | None, cable_a: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here a fuse lets by as many A²s as the fault has amperes, so that a finding tells which fault was meant."""
    monkeypatch.setattr(withstand, "wire_heat_a2s", lambda *_: 0.0)
    monkeypatch.setattr(withstand, "fault_heat_a2s", lambda _fuse, fault_a, _figures: fault_a)
    sized, plan = good()
    supply = sized.requirements.scenario.supply
    supply = supply.model_copy(update={"fault_current": 900.0, "source_fault_current": source_a})
    scenario = sized.requirements.scenario.model_copy(update={"supply": supply})
    asked = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    view = View(asked, plan)
    roots = {name for name, feed in view.feeds.items() if feed.source is None}
    told = {}
    for finding in wire_withstands_fault(view):
        part, _, rest = finding.detail.partition(": ")
        root = part == "cable" and any(f'feed "{name}"' in finding.where for name in roots)
        told.setdefault("cable of a root feed" if root else "other", set()).add(rest.split()[6])
    assert told == {"cable of a root feed": {str(cable_a)}, "other": {"900"}}


@pytest.mark.parametrize(
    ("share", "from_a", "is_hot"), [(53.47, 5.348, True), (53.48, 5.348, False), (53.47, 5.349, False)]
)
def test_a_way_is_hot_above_the_share_and_from_the_current_on(share: float, from_a: float, is_hot: bool) -> None:
    """The right dipped beam draws 5.348 A behind 10 A, beside the horn with 8.14 A behind 15 A."""
    sized, plan = good()
    rules = sized.requirements.scenario.rules.model_copy(update={"hot_share": share, "hot_from": from_a})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    asked = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    found = [finding.where for finding in verify(asked, plan) if finding.rule == "hot-apart"]
    assert [where for where in found if "dip-right" in where] == ['cabin/3/A/1, "horn" and "dip-right"'] * is_hot
