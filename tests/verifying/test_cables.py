"""The cables of feeds: how long the checker asks them to be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.verifying.edits import change
from tests.verifying.hand_built import good, with_feed
from tests.verifying.other_tables import told, with_sized_feed

RULE = "cable-lengths"


@pytest.mark.parametrize(
    ("name", "panel", "required"),
    [
        ("battery", "cabin", 2000),
        ("battery", "aft", 4000),
        ("ignition", "cabin", 2000),
        ("lights", "cabin", 400),
        ("deck", "aft", 400),
        ("hold", "aft", 400),
    ],
)
def test_a_cable_of_another_length(name: str, panel: str, required: int) -> None:
    """The cabin is 2 m from the supply, aft 4 m; a branch at its home takes the length of a tail, 0.4 m."""
    sized, plan = good()
    lengths = dict(sized.feeds[name].cable_mm_by_panel)
    assert lengths[panel] == required
    for stated in (required - 1, required + 1):
        wrong = with_sized_feed(sized, name, cable_mm_by_panel=lengths | {panel: stated})
        assert told(wrong, plan, RULE) == [
            f'feed "{name}" at panel "{panel}": its cable is of {stated} mm; required are {required} mm  [{RULE}]'
        ]


def test_a_cable_that_the_table_has_not() -> None:
    sized, plan = good()
    texts = told(with_sized_feed(sized, "lights", cable_mm_by_panel={}), plan, RULE)
    assert texts == [f'feed "lights" at panel "cabin": the sizing table has no length of its cable to there  [{RULE}]']


def test_a_feed_that_the_table_has_not_hides_no_other() -> None:
    sized, plan = good()
    wrong = with_sized_feed(sized, "deck", cable_mm_by_panel={"aft": 1})
    without = replace(wrong, feeds={name: feed for name, feed in wrong.feeds.items() if name != "ignition"})
    assert told(without, plan, RULE) == told(wrong, plan, RULE) != []


@pytest.mark.parametrize(("distance_m", "says"), [(0.5, "1500"), (0.0005, None), (0.0006, "1999.4")])
def test_a_cable_begins_at_the_main_fuse(distance_m: float, says: str | None) -> None:
    """What lies before it is its lead; lengths are whole millimetres."""
    sized, plan = good()
    texts = told(with_feed(sized, "ignition", main_fuse_distance=distance_m), plan, RULE)
    where = 'feed "ignition" at panel "cabin"'
    assert texts == ([f"{where}: its cable is of 2000 mm; required are {says} mm  [{RULE}]"] if says else [])


@pytest.mark.parametrize(("home", "says"), [("cabin", None), ("aft", "6000"), ("attic", None)])
def test_a_branch_away_from_home_takes_the_way_past_the_supply(home: str, says: str | None) -> None:
    """From aft to the cabin 4 m and 2 m; of a home that the scenario has not nothing is known."""
    sized, plan = good()
    texts = told(with_feed(sized, "lights", home=home), plan, RULE)
    where = 'feed "lights" at panel "cabin"'
    assert texts == ([f"{where}: its cable is of 400 mm; required are {says} mm  [{RULE}]"] if says else [])


def test_feeds_and_panels_that_are_not_there_are_told_by_other_rules() -> None:
    sized, plan = good()
    assert told(sized, change(plan, "pieces", "cabin/5/stud", feed="shore"), RULE) == []
    assert told(sized, change(plan, "pieces", "cabin/5/stud", at="attic/5/stud"), RULE) == []
