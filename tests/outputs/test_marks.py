"""Marks of feeds and fuses: never alike, never by colour alone."""

from __future__ import annotations

import itertools

import pytest

from allocator.outputs.marks import FEED_COLOURS, FEED_PATTERNS, INK, PAPER, SOFT, feed_marks, fuse_colour


def test_codes_are_short_told_apart_and_named_after_the_feed() -> None:
    names = ["battery", "bilge", "base", "bb", "b", "Батарея", "ignition", "ab ba"]
    codes = [mark.code for mark in feed_marks(names).values()]
    assert codes == ["BA", "BI", "BS", "BB", "F5", "F6", "IG", "AB"]


def test_forty_feeds_all_look_different() -> None:
    marks = list(feed_marks(f"feed {number}" for number in range(40)).values())
    assert len({mark.code for mark in marks}) == 40
    assert len({(mark.colour, mark.pattern) for mark in marks}) == 40


def test_neighbours_differ_in_colour_and_in_pattern() -> None:
    marks = list(feed_marks(f"feed {number}" for number in range(40)).values())
    for first, second in itertools.pairwise(marks):
        assert first.colour != second.colour and first.pattern != second.pattern
    assert len(FEED_COLOURS) == 7 and len(FEED_PATTERNS) == 8


@pytest.mark.parametrize(
    ("fuse_format", "rating_a", "name"),
    [
        ("C", 7.5, "brown"), ("C", 10, "red"), ("F", 15, "blue"), ("F", 25, "natural"), ("C", 30, "green"),
        ("C", 40, "orange"), ("E", 20, "yellow"), ("E", 40, "orange"), ("E", 50, "red"), ("E", 60, "blue"),
        ("E", 80, "natural"),
    ],
)  # fmt: skip
def test_body_colours_by_iso_8820_3(fuse_format: str, rating_a: float, name: str) -> None:
    colour = fuse_colour(fuse_format, rating_a)
    assert colour is not None and colour.name == name


def test_no_colour_is_made_up() -> None:
    assert fuse_colour("SF51", 100) is None
    assert fuse_colour("E", 35) is None


def _luminance(colour: str) -> float:
    channels = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_patterns_stand_out_from_their_colour() -> None:
    """WCAG 2.2 asks for 3 to 1 of what is not text: so a feed is told by its pattern in grey print as well."""
    for mark in feed_marks(f"feed {number}" for number in range(40)).values():
        light, dark = sorted((_luminance(mark.stroke), _luminance(mark.colour)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 3


@pytest.mark.parametrize("colour", [INK, SOFT])
def test_text_has_contrast_enough(colour: str) -> None:
    """WCAG 2.2 asks for 4.5 to 1."""
    assert (_luminance(PAPER) + 0.05) / (_luminance(colour) + 0.05) >= 4.5
