"""
Whose loads add up at each feed, entry, row and module of the hand-built panel.

Every need draws another power of two here, so that a sum says which needs are in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

import pytest

from allocator.sizing.sized import Sized
from allocator.verifying import currents
from allocator.verifying.currents import feed_current, module_current, piece_current, row_current
from allocator.verifying.exact import number
from allocator.verifying.findings import Finding
from allocator.verifying.loads import Loads
from allocator.verifying.view import View
from tests.verifying.hand_built import good, with_feed

LIGHTS, DECK, HOLD = "dip-left", "deck-lamp winch", "pump-a pump-b deck-switch"
IGNITION = "radio spare-1-1 wiper washer light-switch"
BATTERY = f"hazard fan horn dip-right heater spare-2-1 {LIGHTS} lights {DECK} deck {HOLD} hold"
"""A branch draws from its source with the coil of its own relay."""


def coded() -> tuple[Sized, dict[int, str]]:
    """Return the sizing table with coded loads, all in the second load case, and the need of each code, mA."""
    sized, _ = good()
    needs, names = [], {}
    for number_, need in enumerate(sized.needs):
        names[2**number_] = need.supplies or need.id
        needs.append(replace(need, load_ma_by_case=(0, 2**number_)))
    return replace(sized, needs=tuple(needs)), names


def decoded(load_ma: int, names: dict[int, str]) -> list[str]:
    return sorted(name for code, name in names.items() if load_ma & code)


def test_what_draws_from_each_feed() -> None:
    sized, names = coded()
    loads = Loads(View(sized, good()[1]))
    expected = {"battery": BATTERY, "ignition": IGNITION, "lights": LIGHTS, "hold": HOLD, "deck": DECK}
    for feed, needs in expected.items():
        assert decoded(loads.of_feed(feed)[1], names) == sorted(needs.split())
        assert loads.of_feed(feed)[0] == 0
    assert decoded(loads.of_branch("deck")[1], names) == sorted([*DECK.split(), "deck"])


def test_feeds_that_feed_each_other_are_added_up_once() -> None:
    """Reading refuses such a circle; an edited file may hold one."""
    sized, names = coded()
    circle = with_feed(sized, "battery", source="deck")
    drawn = Loads(View(circle, good()[1])).of_feed("battery")
    assert decoded(drawn[1], names) == sorted(BATTERY.split())


def test_a_need_that_the_sizing_table_leaves_out_draws_nothing() -> None:
    sized, names = coded()
    without = replace(sized, needs=tuple(need for need in sized.needs if need.id != "winch"))
    assert decoded(Loads(View(without, good()[1])).of_feed("deck")[1], names) == ["deck-lamp"]


RULES: dict[str, tuple[Callable[[View], Iterator[Finding]], str, dict[str, str]]] = {
    "piece-current": (
        piece_current,
        "entry_limit_ma",
        {
            'cabin/1/A/1-2 (feed "battery")': "hazard fan",
            'cabin/3/A/1-2 (feed "battery")': "horn dip-right",
            'cabin/3/B/1-1 (feed "lights")': LIGHTS,
            'cabin/4/A/1-3 (feed "ignition")': "wiper washer light-switch",
            'cabin/4/B/1-2 (feed "ignition")': "radio spare-1-1",
            'cabin/5/stud (feed "battery")': f"heater lights {LIGHTS}",
            'aft/1/A/1 (feed "hold")': "pump-a",
            'aft/1/S1 (feed "battery")': f"deck {DECK}",
            'aft/2/stud (feed "battery")': f"spare-2-1 hold {HOLD}",
            'aft/3/A/1-2 (feed "hold")': "pump-b deck-switch",
            'aft/3/B/1-2 (feed "deck")': DECK,
        },
    ),
    "row-current": (
        row_current,
        "row_limit_ma",
        {
            "cabin/1/A": "hazard fan",
            "cabin/3/A": "horn dip-right",
            "cabin/3/B": LIGHTS,
            "cabin/4/A": "wiper washer light-switch",
            "cabin/4/B": "radio spare-1-1",
            "cabin/5/A": f"heater lights {LIGHTS}",
            "aft/1/A": "pump-a",
            "aft/2/A": f"spare-2-1 hold {HOLD}",
            "aft/3/A": "pump-b deck-switch",
            "aft/3/B": DECK,
        },
    ),
    "module-current": (
        module_current,
        "module_limit_ma",
        {
            "cabin/1": "hazard fan",
            "cabin/3": f"horn dip-right {LIGHTS}",
            "cabin/4": "wiper washer light-switch radio spare-1-1",
            "cabin/5": f"heater lights {LIGHTS}",
            "aft/1": "pump-a",
            "aft/2": f"spare-2-1 hold {HOLD}",
            "aft/3": f"pump-b deck-switch {DECK}",
        },
    ),
    "feed-current": (
        feed_current,
        "allowed_ma",
        {
            'feed "battery"': BATTERY,
            'feed "ignition"': IGNITION,
            'feed "lights"': LIGHTS,
            'feed "hold"': HOLD,
            'feed "deck"': DECK,
        },
    ),
}


@pytest.mark.parametrize("rule", RULES)
def test_what_counts_against_each_limit(rule: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every place is told where nothing is allowed, with its load and the load case."""
    check, limit, expected = RULES[rule]
    sized, names = coded()
    monkeypatch.setattr(currents, limit, lambda *_: Fraction(-1))
    view = View(sized, good()[1])
    told = {}
    for finding in check(view):
        draws, _, rest = finding.detail.removeprefix("draws ").partition(" A in ")
        assert (finding.rule, rest) == (rule, 'load case "parked"; -0.001 A are allowed')
        told[finding.where] = decoded(round(Fraction(draws) * 1000), names)
    assert told == {where: sorted(needs.split()) for where, needs in expected.items()}


def test_a_limit_that_is_just_reached_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    sized, _ = coded()
    view = View(sized, good()[1])
    load = Fraction(max(Loads(view).of_feed("battery")))
    monkeypatch.setattr(currents, "allowed_ma", lambda *_: load)
    assert list(feed_current(view)) == []
    monkeypatch.setattr(currents, "allowed_ma", lambda *_: load - 1)
    assert [finding.where for finding in feed_current(view)] == ['feed "battery"']


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(10), "10"),
        (Fraction(1, 3), "0.333"),
        (Fraction(-5, 2), "-2.5"),
        (Fraction(10**15 - 1), "999999999999999"),
        (Fraction(10**15), "more than 10^15"),
        (Fraction(-(10**15)), "less than -10^15"),
        (Fraction(0), "0"),
    ],
)
def test_figures_as_text(value: Fraction, text: str) -> None:
    assert number(value) == text
