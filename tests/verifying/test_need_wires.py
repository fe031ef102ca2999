"""Wires of circuits and feeds: which runs, returns and coil leads the checker asks for, of what wire and length."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from allocator.sizing.sized import Cut, Sized
from tests.verifying.edits import change, remove
from tests.verifying.hand_built import good, with_feed
from tests.verifying.other_tables import told, with_circuit, with_need, with_options, with_tables

RULE = "wires-as-stated"


Edit = Callable[[Sized, str], Sized]


def _edited(change: Callable[[tuple[Cut, ...]], tuple[Cut, ...]]) -> Edit:
    """Return the edit that makes the wires in every row of the sizing table for a need other."""

    def edit(sized: Sized, name: str) -> Sized:
        options = tuple(replace(option, wires=change(option.wires)) for option in sized.need_by_id[name].options)
        return with_need(sized, name, options=options)

    return edit


def _cut(at: str, **fields: Any) -> Edit:
    return _edited(lambda cuts: tuple(replace(cut, **fields) if cut.start == at else cut for cut in cuts))


def _without(at: str) -> Edit:
    return _edited(lambda cuts: tuple(cut for cut in cuts if cut.start != at))


def _with(*more: Cut) -> Edit:
    return _edited(lambda cuts: (*cuts, *more))


LEAD = "wire at 86: is of {} mm; required are {} mm"
ASTRAY = "wire at 86: leads to {}; it must lead to {}"


@pytest.mark.parametrize(
    ("name", "edit", "says"),
    [
        ("heater", _cut("way", length_mm=1999), ["wire at way: is of 1999 mm; required are 2000 mm"]),
        ("winch", _cut("way", length_mm=2000), ["wire at way: is of 2000 mm; required are 4000 mm"]),
        ("heater", _without("way"), ["wire at way: is of 0 mm; required are 2000 mm"]),
        ("heater", _cut("way", wire="w6"), ['wire at way: is of wire "w6"; the run is of wire "w4"']),
        ("heater", _with(Cut("w4", 0, "way", "load")), ["wire at way: has 2 wires; expected one"]),
        ("heater", _with(Cut("w4", 0, "87", "load")), ["wire at 87: has a wire; expected none"]),
        ("heater", _with(Cut("w4", 2000, "", "return")), ["return: is of 2000 mm; required are 0 mm"]),
        ("horn", _cut("87", start="way"), ["wire at 87: is of 0 mm; required are 2000 mm",
                                           "wire at way: has a wire; expected none"]),
        ("horn", _cut("86", length_mm=2000), [LEAD.format(2000, 100)]),
        ("horn", _cut("85", length_mm=100), ["wire at 85: is of 100 mm; required are 0 mm"]),
        ("fan", _cut("87a", wire="w2.5"), ['wire at 87a: is of wire "w2.5"; the run is of wire "w1.5"']),
        ("fan", _without("87a"), ["wire at 87a: is of 0 mm; required are 2000 mm"]),
        ("hazard", _cut("49a", length_mm=1), ["wire at 49a: is of 1 mm; required are 2000 mm"]),
        ("hazard", _cut("31", length_mm=1), ["wire at 31: is of 1 mm; required are 0 mm"]),
        ("lights", _cut("86", length_mm=100), [LEAD.format(100, 2000)]),
        ("lights", _without("86"), [LEAD.format(0, 2000)]),
        ("deck", _cut("86", length_mm=100), [LEAD.format(100, 2000)]),
        ("deck", _with(Cut("w1", 2000, "87", "load")), ["wire at 87: has a wire; expected none"]),
        ("lights", _cut("86", wire="w10"), []),  # any wire that its fuse protects
    ],
)  # fmt: skip
def test_wires_of_a_need_that_are_other_than_stated(name: str, edit: Edit, says: list[str]) -> None:
    """Runs are 2 m long, the winch's 4 m; the leads of lights and deck go to switches as far away as these are."""
    sized, plan = good()
    kind = sized.need_by_id[name].kind
    assert told(edit(sized, name), plan, RULE) == [f'{kind} "{name}": {text}  [{RULE}]' for text in says]


def test_a_spare_way_has_no_wire() -> None:
    """What is in it is told by the rule about spare ways."""
    sized, plan = good()
    wires = (Cut("w1", 100, "way", "load"),)
    assert told(with_options(sized, "spare-1-1", wires=wires), plan, RULE) == []


@pytest.mark.parametrize(
    ("fields", "vehicle", "says"),
    [
        ({}, {}, None),
        ({"return_length": 0.5}, {}, "500 mm"),
        ({}, {"return_path": "wire"}, "2000 mm"),
        ({"return_length": 0.5}, {"return_path": "wire"}, "500 mm"),
        ({"return_length": 0.0}, {"return_path": "wire"}, None),
        ({"return_length": 0.0005}, {}, None),  # whole millimetres, rounded
        ({"return_length": 0.0006}, {}, "0.6 mm"),
    ],
)
def test_the_way_back_is_a_wire_where_it_is_stated_or_the_vehicle_has_no_chassis(
    fields: dict[str, Any], vehicle: dict[str, Any], says: str | None
) -> None:
    sized, plan = good()
    net = sized.requirements.scenario.vehicle.model_copy(update=vehicle)
    asked = with_circuit(with_tables(sized, vehicle=net), "heater", **fields)
    texts = [text for text in told(asked, plan, RULE) if '"heater"' in text]
    assert texts == ([f'circuit "heater": return: is of 0 mm; required are {says}  [{RULE}]'] if says else [])


def test_a_return_is_of_the_wire_of_its_run() -> None:
    sized, plan = good()
    (option,) = sized.need_by_id["heater"].options
    back = with_circuit(sized, "heater", return_length=1.0)
    for wire, says in (("w4", []), ("w2.5", ['return: is of wire "w2.5"; the run is of wire "w4"'])):
        wires = (*option.wires, Cut(wire, 1000, "", "return"))
        texts = told(with_options(back, "heater", wires=wires), plan, RULE)
        assert texts == [f'circuit "heater": {text}  [{RULE}]' for text in says]


def test_a_run_is_as_long_as_from_its_own_panel() -> None:
    """A length from the cabin goes before one from anywhere; one from aft says nothing in the cabin."""
    sized, plan = good()
    assert told(with_circuit(sized, "heater", length={"": 9.0, "cabin": 2.0}), plan, RULE) == []
    assert told(with_circuit(sized, "heater", length={"aft": 2.0}), plan, RULE) == [
        f'circuit "heater": wire at way: is of 2000 mm; required are 0 mm  [{RULE}]'
    ]
    moved = with_circuit(sized, "deck-switch", length={"": 3.0, "aft": 2.0})
    assert told(moved, plan, RULE) == []
    assert told(with_circuit(sized, "deck-switch", length={"": 3.0}), plan, RULE) == [
        f'circuit "deck-switch": wire at way: is of 2000 mm; required are 3000 mm  [{RULE}]',
        f'feed "deck": {LEAD.format(2000, 3000)}  [{RULE}]',
    ]


def test_a_length_without_a_panel_says_nothing_of_a_panel_where_the_control_cannot_be() -> None:
    """The switch of the feed that branches aft is 2 m from there; bound to the cabin, it is nobody knows how far."""
    sized, plan = good()
    bound = with_circuit(sized, "deck-switch", length={"": 2.0}, panels=("cabin",))
    assert told(bound, plan, RULE) == [f'feed "deck": {LEAD.format(2000, 0)}  [{RULE}]']
    assert told(with_circuit(bound, "deck-switch", length={"": 9.0, "aft": 2.0}), plan, RULE) == []


def test_the_control_of_a_circuit_says_how_long_its_coil_lead_is() -> None:
    sized, plan = good()
    controlled = with_circuit(sized, "horn", control="light-switch")
    assert told(controlled, plan, RULE) == [
        f'circuit "horn": {LEAD.format(100, 2000)}  [{RULE}]',
        f'circuit "horn": {ASTRAY.format("own fuse way", "switched side of light-switch")}  [{RULE}]',
    ]


def test_a_coil_on_no_fuse_at_all_has_no_lead() -> None:
    """Requirements refuse such a feed: a relay alone without control, so that there is no way to go to."""
    sized, plan = good()
    assert told(with_feed(sized, "deck", control=None), plan, RULE) == [
        f'feed "deck": {LEAD.format(2000, 0)}  [{RULE}]',
        f'feed "deck": {ASTRAY.format("switched side of deck-switch", "own fuse way")}  [{RULE}]',
    ]


def test_a_lead_and_a_run_lead_where_their_fuse_is_meant_for() -> None:
    """The lead of a coil on a small control does not hang on another circuit, and no run ends at another fuse."""
    sized, plan = good()
    (option,) = sized.need_by_id["deck"].options
    other = tuple(replace(cut, end="switched side of winch") if cut.start == "86" else cut for cut in option.wires)
    assert told(with_options(sized, "deck", wires=other), plan, RULE) == [
        f'feed "deck": {ASTRAY.format("switched side of winch", "switched side of deck-switch")}  [{RULE}]'
    ]
    radio = sized.need_by_id["radio"].options[0]
    looped = tuple(replace(cut, end="own fuse way") if cut.start == "way" else cut for cut in radio.wires)
    assert told(with_options(sized, "radio", wires=looped), plan, RULE) == [
        f'circuit "radio": wire at way: leads to own fuse way; it must lead to load  [{RULE}]'
    ]


def test_what_is_not_there_is_told_by_other_rules() -> None:
    sized, plan = good()
    assert told(sized, remove(plan, "ways", "heater"), RULE) == []
    assert told(sized, remove(plan, "sockets", "fan"), RULE) == []
    assert told(with_need(sized, "heater", options=()), plan, RULE) == []


@pytest.mark.parametrize(("wire", "named"), [("w1", "w1"), (None, "none")])
def test_the_wire_at_a_way_is_that_of_run_and_cable(wire: str | None, named: str) -> None:
    sized, plan = good()
    assert told(sized, change(plan, "ways", "lights", wire=wire), RULE) == [
        f'feed "lights": has wire "{named}" at its way; its cable is of wire "w4"  [{RULE}]'
    ]
    assert told(sized, change(plan, "ways", "heater", wire=wire), RULE) == [
        f'circuit "heater": wire at way: is of wire "w4"; the run is of wire "{named}"  [{RULE}]'
    ]
