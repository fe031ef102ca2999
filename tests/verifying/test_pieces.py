"""What is said of feed entries that lie over each other, over unused ways or nowhere, word for word."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from allocator.plan.plan import Plan
from allocator.sizing.sized import Entry
from tests.verifying.edits import again, change, remove
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_entry

FIRST = "cabin/3/A/1-2"


def _two_over_the_first(plan: Plan) -> Plan:
    return again(again(plan, "pieces", FIRST, at="cabin/3/A/1-3"), "pieces", FIRST, at="cabin/3/A/2-2", feed="lights")


def _cut_in_two(plan: Plan) -> Plan:
    cut = change(plan, "pieces", FIRST, at="cabin/3/A/1-1")
    return again(cut, "pieces", "cabin/3/A/1-1", at="cabin/3/A/2-2")


OVER = 'lies under two feed entries: cabin/3/A/1-2 (feed "battery") and'
SAID: dict[str, tuple[Callable[[Plan], Plan], list[str]]] = {
    "pieces-apart": (
        _two_over_the_first,
        [f'cabin/3/A/1: {OVER} cabin/3/A/1-3 (feed "battery")', f'cabin/3/A/2: {OVER} cabin/3/A/2-2 (feed "lights")'],
    ),
    "way-is-fed": (
        lambda plan: remove(change(plan, "pieces", FIRST, at="cabin/3/A/1-4"), "pieces", "aft/1/S1"),
        [
            'aft/1/S1: feed "battery" does not enter here for feed "deck"',
            "cabin/3/A/1-4: the strip piece lies over unused ways: cabin/3/A/3, cabin/3/A/4",
        ],
    ),
    "one-piece-per-feed-and-row": (
        _cut_in_two,
        ['cabin/3/A: 2 strip pieces are on feed "battery"; the rules allow one'],
    ),
}


@pytest.mark.parametrize("rule", SAID)
def test_each_fault_is_said_once_with_its_place(rule: str) -> None:
    edit, said = SAID[rule]
    sized, plan = good()
    assert told(sized, edit(plan), rule) == [f"{text}  [{rule}]" for text in said]


def test_an_entry_of_an_unknown_feed_hides_no_other() -> None:
    """The first entry of the plan has no feed; the terminal of a later one is none for a strip."""
    sized, plan = good()
    wrong = with_entry(sized, ("aft", "twin", 0, "hold"), Entry(1000, "ring-M6-16"))
    found = told(wrong, change(plan, "pieces", plan.pieces[0].at, feed="shore"), "tail-fits")
    assert [text.partition(":")[0] for text in found] == ["aft/3/A/1-2"]
