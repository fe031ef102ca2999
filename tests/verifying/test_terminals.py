"""Which tab, wire and fuse the checker holds each terminal at ways and sockets to; that none lacks or is left over."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.sizing.sized import Sized
from tests.verifying.edits import change, remove
from tests.verifying.hand_built import good, with_feed
from tests.verifying.other_tables import told, with_circuit, with_options, with_sized_feed

RULE = "terminal-fits"
SOCKETS = {
    "hazard": "cabin/1/S1: 49 1 15, 49a 1.5 15, 31 1.5 15",
    "fan": "cabin/1/S2: 30 1 15, 87 1.5 15, 87a 1.5 15, 85 1.5 15, 86 1.5 15",
    "horn": "cabin/1/S3: 30 1 15, 87 1.5 15, 85 1.5 15, 86 1.5 15",
    "lights": "cabin/5/S1: 30 4 40, 87 4 40, 85 2.5 2, 86 2.5 2",
    "deck": "aft/1/S1: 30 10 60, 87 10 60, 85 2.5 2, 86 2.5 2",
}
"""Socket of each relay, and at each of its tabs the area of the wire, mm2, and the fuse before it, A."""
JUMPERS = {"hazard": "1", "fan": "1", "horn": "1", "lights": "4"}


def _with_terminals(sized: Sized, **fields: Any) -> Sized:
    """Return the sizing table over a catalogue whose terminals for tabs are all other in some respect."""
    requirements = sized.requirements
    terminals = tuple(
        item.model_copy(update=fields) if item.kind == "tab" else item for item in requirements.catalogue.terminals
    )
    catalogue = requirements.catalogue.model_copy(update={"terminals": terminals})
    return replace(sized, requirements=requirements.model_copy(update={"catalogue": catalogue}))


def _cavities() -> dict[tuple[str, str], tuple[str, str]]:
    """Return area and fuse by cavity: at ways from the plan, at sockets from the table above."""
    expected = {}
    for way in good()[1].ways:
        if way.kind != "spare":
            area = JUMPERS.get(way.need, str(way.wire)[1:])
            expected[f"{way.at} ({way.kind} {way.need})", "way"] = area, str(way.fuse).partition("-")[2]
    for need, text in SOCKETS.items():
        at, _, tabs = text.partition(": ")
        kind = "feed" if need in ("lights", "deck") else "circuit"
        for designation, area, fuse in (tab.split() for tab in tabs.split(", ")):
            expected[f"{at} ({kind} {need})", designation] = area, fuse
    return expected


def _by_cavity(texts: list[str]) -> dict[tuple[str, str], str]:
    words = [text.split(": ") for text in texts]
    return {(where, designation): detail.removesuffix("  [terminal-fits]") for where, designation, detail in words}


def test_every_cavity_is_held_to_its_fuse() -> None:
    """No terminal carries anything here; jumper, run and cable are behind the own fuse, coils behind the control's."""
    sized, plan = good()
    found = _by_cavity(told(_with_terminals(sized, limit=0.0), plan, RULE))
    fuses = {cavity: detail.partition(" behind a fuse of ")[2] for cavity, detail in found.items()}
    assert fuses == {cavity: f"{fuse} A" for cavity, (_, fuse) in _cavities().items()}


def test_every_cavity_is_held_to_its_wire() -> None:
    """No terminal takes any wire here."""
    sized, plan = good()
    found = _by_cavity(told(_with_terminals(sized, smallest_wire=1000.0), plan, RULE))
    areas = {cavity: detail.partition(" take a wire of ")[2] for cavity, detail in found.items()}
    assert areas == {cavity: f"{area} mm2" for cavity, (area, _) in _cavities().items()}


def test_every_cavity_is_held_to_its_tab() -> None:
    """Type E ways and the heavy relays' contacts have tabs of 9.5 mm, micro coils of 4.8 mm, all else 6.3 mm."""
    sized, plan = good()
    found = _by_cavity(told(_with_terminals(sized, tab=1.0), plan, RULE))
    widths = {cavity: detail.partition(" none for a tab of ")[2] for cavity, detail in found.items()}
    wide = {(need, name) for need in ("lights", "deck") for name in ("way", "30", "87")}
    wide |= {("hold", "way"), ("heater", "way")}
    narrow = {("horn", "85"), ("horn", "86")}
    for (where, name), width in widths.items():
        here = where.rstrip(")").split()[-1], name
        assert width == ("9.5 mm" if here in wide else "4.8 mm" if here in narrow else "6.3 mm"), here
    assert set(widths) == set(_cavities())


def test_a_terminal_may_be_used_to_its_limits() -> None:
    """Wires of just the smallest and the largest area, and a fuse of just what it carries."""
    sized, plan = good()
    exact = {"smallest_wire": 4.0, "largest_wire": 4.0, "limit": 30.0}
    texts = told(_with_terminals(sized, **exact), plan, RULE)
    assert not any("(circuit heater)" in text or "(feed hold)" in text for text in texts)
    assert any("(feed lights)" in text and "behind a fuse of 40 A" in text for text in texts)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("ring-M6-16", 'cabin/5/A/2 (circuit heater): way: terminal "ring-M6-16" is none for a tab of 9.5 mm'),
        ("tab-6.3-6", 'cabin/5/A/2 (circuit heater): way: terminal "tab-6.3-6" is none for a tab of 9.5 mm'),
        ("tab-9.5-2.5", 'cabin/5/A/2 (circuit heater): way: terminal "tab-9.5-2.5" does not take a wire of 4 mm2'),
        ("no-such", 'cabin/5/A/2 (circuit heater): way: terminal "no-such" is not in the catalogue'),
    ],
)
def test_a_terminal_that_does_not_fit(name: str, says: str) -> None:
    sized, plan = good()
    parts = {"E-30": 1, name: 1}
    wrong = with_options(sized, "heater", terminal_by_designation={"way": name}, parts=parts)
    assert told(wrong, plan, RULE) == [f"{says}  [{RULE}]"]


def _horn(**fields: Any) -> list[str]:
    sized, plan = good()
    return told(with_options(sized, "horn", **fields), plan, RULE)


def test_terminals_are_one_for_each_cavity() -> None:
    """The horn has a way and four tabs: a terminal lacks, one is too many, and what is ordered is other."""
    sized, _ = good()
    option = sized.need_by_id["horn"].options[0]
    stated = dict(option.terminal_by_designation)
    contacts, coil = stated["30"], stated["85"]
    assert dict(option.parts) == {"C-15": 1, "make-micro": 1, contacts: 3, coil: 2}
    without = {name: terminal for name, terminal in stated.items() if name != "87"}
    (lacking, *_) = _horn(terminal_by_designation=without, parts={**option.parts, contacts: 2}, cavities=4)
    assert lacking == f"cabin/1/S3 (circuit horn): 87: has no terminal  [{RULE}]"
    left_over = stated | {"87a": contacts}
    assert _horn(terminal_by_designation=left_over, parts={**option.parts, contacts: 4}, cavities=6) == [
        f'circuit "horn": has a terminal at 87a, where no wire ends  [{RULE}]'
    ]
    assert _horn(cavities=4) == [f'circuit "horn": has 5 terminals, and the sizing table counts 4 cavities  [{RULE}]']
    assert _horn(parts={**option.parts, contacts: 2}) == [
        f'circuit "horn": has 3 of terminal "{contacts}", and 2 among its parts  [{RULE}]'
    ]
    sized, plan = good()
    heater = sized.need_by_id["heater"].options[0]
    (only,) = heater.terminal_by_designation.values()
    parts = {part: count for part, count in heater.parts.items() if part != only}
    assert told(with_options(sized, "heater", parts=parts), plan, RULE) == [
        f'circuit "heater": has 1 of terminal "{only}", and 0 among its parts  [{RULE}]'
    ]
    bare = {"C-15": 1, "make-micro": 1, contacts: 3}
    assert _horn(parts=bare) == [f'circuit "horn": has 2 of terminal "{coil}", and 0 among its parts  [{RULE}]']


def test_switching_says_which_tabs_are_used_whatever_relay_is_in_the_socket() -> None:
    """A fan that wants a changeover has 87a; with the tabs of a make relay in its socket nothing would end there."""
    sized, plan = good()
    make = with_circuit(sized, "fan", switching="relay")
    texts = told(make, plan, RULE)
    assert texts == [
        f'circuit "fan": has a terminal at {name}, where no wire ends  [{RULE}]'
        for name in ("30", "87", "87a", "85", "86")
    ]  # the catalogue has no standard make relay, hence no tabs of one
    none = told(with_circuit(sized, "fan", switching="none"), plan, RULE)
    assert none == texts


def test_a_tab_that_the_switching_does_not_use_stays_empty() -> None:
    """A micro make relay with a second contact 87a, of which the horn takes no current."""
    sized, plan = good()
    catalogue = sized.requirements.catalogue
    tabs = tuple(
        item.model_copy(update={"tabs": {**item.tabs, "87a": 6.3}}) if item.relay_class == "micro" else item
        for item in catalogue.relay_tabs
    )
    asked = sized.requirements.model_copy(update={"catalogue": catalogue.model_copy(update={"relay_tabs": tabs})})
    assert told(replace(sized, requirements=asked), plan, RULE) == []


def test_where_a_feed_enters_straight_its_cable_is_crimped() -> None:
    """The deck's relay is one of two entries aft, behind a tail of 10 mm2; alone and unfused it has the cable of 16."""
    sized, plan = good()
    thick = with_sized_feed(sized, "battery", cable_wire="w50")
    assert not told(thick, plan, RULE)
    alone = remove(change(plan, "pieces", "aft/1/S1", tail_fuse=None), "pieces", "aft/2/stud")
    texts = told(thick, alone, RULE)
    assert not any("50 mm2" in text for text in texts)  # the table has a fuse in its tail
    bare = with_feed(with_sized_feed(thick, "battery", tail_fuse=None), "battery", tail_fuse=None)
    (first, *_) = told(bare, alone, RULE)
    assert first.startswith("aft/1/S1 (feed deck): 30: terminal") and "a wire of 50 mm2" in first


@pytest.mark.parametrize(("table", "key"), [("pieces", "aft/1/S1"), ("ways", "lights"), ("sockets", "fan")])
def test_what_is_not_there_is_told_by_other_rules(table: str, key: str) -> None:
    sized, plan = good()
    assert told(sized, remove(plan, table, key), RULE) == []
