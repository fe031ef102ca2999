"""
What feeds and fuses look like on paper: feed codes with colour and pattern, fuse colours by rating.

Comes in as feeds and ratings; goes out as colours (hex), patterns and letters. Colour never stands alone: a feed has
its code and pattern beside it, a fuse its number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

INK = "#1d2328"
"""Text and outlines."""
SOFT = "#6c757d"
"""Guide lines and secondary text; contrast 4.5 to 1 and more on white."""
PALE = "#c9ced3"
"""Outlines of what is empty."""
WASH = "#f3f5f6"
"""Ground of carriers."""
PAPER = "#ffffff"
USUAL_FUSE_V = 32.0
"""Rated voltage of the blades that look alike everywhere (ISO 8820-3); those of 58 V are marked (SAE J2576)."""

FEED_COLOURS = ("#56b4e9", "#e69f00", "#009e73", "#f0e442", "#cc79a7", "#d55e00", "#0072b2")
"""Okabe and Ito's colours for all kinds of colour vision, without black (Color Universal Design, 2008)."""
FEED_PATTERNS = ("", "////", "...", "||||", "xxxx", "----", "oo", "\\\\\\\\")
"""Hatches in the drawing library's notation; as many as share no factor with the colours, so that pairs differ."""


@dataclass(frozen=True, slots=True)
class FeedMark:
    """Look of one feed: code, colour and pattern."""

    code: str
    colour: str
    pattern: str

    @property
    def stroke(self) -> str:
        """Colour of the pattern's lines: white on the one colour that ink hardly shows on."""
        return PAPER if self.colour == FEED_COLOURS[-1] else INK


def feed_marks(names: Iterable[str]) -> Mapping[str, FeedMark]:
    """Give each feed, in the scenario's order, a code of two letters, a colour and a pattern."""
    marks: dict[str, FeedMark] = {}
    taken: set[str] = set()
    for number, name in enumerate(names):
        code = _code(name, number, taken)
        taken.add(code)
        colour = FEED_COLOURS[number % len(FEED_COLOURS)]
        marks[name] = FeedMark(code, colour, FEED_PATTERNS[number % len(FEED_PATTERNS)])
    return marks


def _code(name: str, number: int, taken: set[str]) -> str:
    """Take the first letter and the next that is free: battery BA, bilge BI."""
    letters = [letter for letter in name.upper() if letter.isascii() and letter.isalpha()]
    for second in letters[1:]:
        if letters[0] + second not in taken:
            return letters[0] + second
    plain = (f"F{count}" for count in range(number + 1, number + 1000))
    return next(code for code in plain if code not in taken)


@dataclass(frozen=True, slots=True)
class FuseColour:
    """Body colour of a fuse: hex and name."""

    colour: str
    name: str


_BLADE: Mapping[float, FuseColour] = {
    1: FuseColour("#1a1a1a", "black"),
    2: FuseColour("#8d8d8d", "grey"),
    3: FuseColour("#7d3c98", "violet"),
    4: FuseColour("#f3a6c0", "pink"),
    5: FuseColour("#d2a679", "tan"),
    7.5: FuseColour("#8b5a2b", "brown"),
    10: FuseColour("#d7261e", "red"),
    15: FuseColour("#2f73d9", "blue"),
    20: FuseColour("#f7d417", "yellow"),
    25: FuseColour("#f4f4ee", "natural"),
    30: FuseColour("#2e9e44", "green"),
    35: FuseColour("#1c9c96", "blue-green"),
    40: FuseColour("#f28c1b", "orange"),
}
_MAXI: Mapping[float, FuseColour] = {
    20: FuseColour("#f7d417", "yellow"),
    30: FuseColour("#2e9e44", "green"),
    40: FuseColour("#f28c1b", "orange"),
    50: FuseColour("#d7261e", "red"),
    60: FuseColour("#2f73d9", "blue"),
    70: FuseColour("#d2a679", "tan"),
    80: FuseColour("#f4f4ee", "natural"),
    100: FuseColour("#7d3c98", "violet"),
}
_BY_FORMAT: Mapping[str, Mapping[float, FuseColour]] = {"C": _BLADE, "F": _BLADE, "E": _MAXI}


def fuse_colour(fuse_format: str, rating_a: float) -> FuseColour | None:
    """
    Return the body colour of a fuse, or None where the standard that is read here gives none.

    Notes
    -----
    Source: ISO 8820-3 for types C, F and E, as two trade tables agree on it (also DIN 72581, SAE J1284, J1888). 70 A
    and 100 A of type E vary between makers.
    """
    return _BY_FORMAT.get(fuse_format, {}).get(rating_a)
