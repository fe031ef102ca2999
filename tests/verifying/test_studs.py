"""Distribution studs: what the checker holds stud, stack and rings to, and where tails join at all."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.sizing.sized import Sized
from tests.verifying.edits import change, remove
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_part, with_sized_feed

RULE = "stud-fits"
TAILS = ("cabin/1/A/1-2", "cabin/3/A/1-2", "cabin/5/stud")
"""Where the battery enters in the cabin, each tail of 10 mm2 behind 60 A; the cable is of 16 mm2 behind 100 A."""


def _told(sized: Sized, where: str) -> list[str]:
    found = told(sized, good()[1], RULE)
    return [text.removesuffix(f"  [{RULE}]").removeprefix(f"{where}: ") for text in found if text.startswith(where)]


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"stud": None}, ["has no distribution stud of the catalogue"]),
        ({"stud": "no-such"}, ["has no distribution stud of the catalogue"]),
        ({"stud_stack": 5}, ['stud "post-m6" takes 4 rings; the sizing table counts with 5']),
        ({"cable_ring": None}, ['cable: terminal "none" is no ring M6 for wire "w16" and 100 A']),
        ({"cable_ring": "ring-M8-50"}, ['cable: terminal "ring-M8-50" is no ring M6 for wire "w16" and 100 A']),
        ({"cable_ring": "ring-M6-16"}, ['cable: terminal "ring-M6-16" is no ring M6 for wire "w16" and 100 A']),
        ({"cable_wire": "string"}, ['cable: terminal "ring-M6-50" is no ring M6 for wire "string" and 100 A']),
        (
            {"tail_ring": "ring-M6-6"},
            [f'tail to {at}: terminal "ring-M6-6" is no ring M6 for wire "w10" and 60 A' for at in TAILS],
        ),
        (
            {"tail_ring": "inlet-12-16"},
            [f'tail to {at}: terminal "inlet-12-16" is no ring M6 for wire "w10" and 60 A' for at in TAILS],
        ),
    ],
)
def test_a_stud_that_does_not_fit(fields: dict[str, Any], says: list[str]) -> None:
    sized, _ = good()
    assert _told(with_sized_feed(sized, "battery", **fields), 'feed "battery" at panel "cabin"') == says


def test_a_stud_is_asked_for_at_every_panel_where_tails_join() -> None:
    sized, plan = good()
    assert told(with_sized_feed(sized, "battery", stud=None), plan, RULE) == [
        f'feed "battery" at panel "{panel}": has no distribution stud of the catalogue  [{RULE}]'
        for panel in ("cabin", "aft")
    ]


def test_a_stud_carries_the_rating_of_its_feed() -> None:
    """Just the 100 A of the battery, and no less; the branches and the ignition have less."""
    sized, plan = good()
    assert told(with_part(sized, "studs", "post-m6", limit=100.0), plan, RULE) == []
    assert told(with_part(sized, "studs", "post-m6", limit=99.0), plan, RULE) == [
        f'feed "battery" at panel "{panel}": stud "post-m6" carries 99 A; the feed has 100 A  [{RULE}]'
        for panel in ("cabin", "aft")
    ]


def test_a_stud_carries_the_fuse_before_a_branch_that_has_only_a_relay() -> None:
    """Deck is a feed of less than the 60 A before the tails of its source, where its relay is."""
    sized, _ = good()
    feeds = sized.requirements.scenario.feeds
    deck, source = (next(feed for feed in feeds if feed.name == name) for name in ("deck", "battery"))
    assert deck.fuse_format is None and source.tail_fuse is not None and deck.rating < source.tail_fuse
    own = with_sized_feed(with_part(sized, "studs", "post-m8", limit=deck.rating), "deck", stud="post-m8")
    says = f'stud "post-m8" carries {deck.rating:g} A behind a fuse of {source.tail_fuse:g} A'
    assert says in _told(own, 'feed "deck" at panel "aft"')
    enough = with_part(own, "studs", "post-m8", limit=source.tail_fuse)
    assert says not in _told(enough, 'feed "deck" at panel "aft"')


def test_a_ring_carries_just_what_stands_before_it() -> None:
    """The ring of the battery's tails carries 60 A behind their fuses of 60 A, and 59 A do not do."""
    sized, plan = good()
    assert told(with_part(sized, "terminals", "ring-M6-16", limit=60.0), plan, RULE) == []
    texts = told(with_part(sized, "terminals", "ring-M6-16", limit=59.0), plan, RULE)
    assert sum('feed "battery"' in text and text.endswith(f"and 60 A  [{RULE}]") for text in texts) == 5


def test_the_tail_of_an_entry_with_a_fuse_of_its_own_is_held_to_that_fuse() -> None:
    """Deck has one entry and so no stud, were it not for the fuse of 50 A in its tail."""
    sized, _ = good()
    key = ("aft", "twin", 1, "deck")
    entry = sized.entries[key]
    assert entry.tail is not None and entry.tail.fuse == "E-50"
    other = replace(entry, tail=replace(entry.tail, ring="ring-M6-2.5"))
    wrong = replace(sized, entries=dict(sized.entries) | {key: other})
    assert _told(wrong, 'feed "deck" at panel "aft"') == [
        'tail to aft/3/B/1-2: terminal "ring-M6-2.5" is no ring M6 for wire "w6" and 50 A'
    ]


def test_a_cable_that_goes_straight_to_its_entry_needs_no_stud() -> None:
    """The lights have one entry without a fuse; the hold has two, and needs one."""
    sized, plan = good()
    bare = with_sized_feed(with_sized_feed(sized, "lights", stud=None), "hold", stud=None)
    assert told(bare, plan, RULE) == [
        f'feed "hold" at panel "aft": has no distribution stud of the catalogue  [{RULE}]'
    ]
    assert told(bare, remove(plan, "pieces", "aft/1/A/1"), RULE) == []


def test_feeds_and_places_that_are_not_there_are_told_by_other_rules() -> None:
    sized, plan = good()
    assert told(sized, change(plan, "pieces", "cabin/3/A/1-2", feed="shore"), RULE) == []
    assert told(sized, change(plan, "pieces", "cabin/3/A/1-2", at="cabin/2/A/1-2"), RULE) == []
