"""
Which font draws a text, and what room it takes: cleaning, scripts, measures and outlines.

Comes in as strings; goes out as font properties, extents and outlines at size 1. Measures are taken on the outlines,
the same that the drawings contain. The base font comes with matplotlib; scripts that it lacks are taken from the first
font of the machine that has them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from matplotlib import font_manager
from matplotlib.font_manager import FontProperties
from matplotlib.ft2font import FaceFlags
from matplotlib.path import Path
from matplotlib.textpath import text_to_path

BASE_FAMILY = "DejaVu Sans"
NO_BREAK = "\u00a0"
MM_PER_PT = 25.4 / 72
LINE_GAP_EM = 0.12
OVERHANG_EM = 0.04
"""How far a sign may reach over its own width, on either side ("j" in the base font 0.03)."""
_INVISIBLE = (
    range(0xAD, 0xAE),
    range(0x61C, 0x61D),
    range(0x200B, 0x2010),
    range(0x2060, 0x2065),
    range(0xFEFF, 0xFF00),
)
"""Soft hyphen, joiners, direction marks, zero-width spaces: part of Unicode's Default_Ignorable_Code_Point."""
_SPACES = re.compile(r"[^\S\u00a0]+")
"""Spaces at which a line may end: a no-break space holds a number and its unit together."""
ASCENT_EM, DESCENT_EM = 0.76, 0.24
"""Height of "d" and depth of "p" in the base font: what a line takes at the least, so that lines stand evenly."""


@dataclass(frozen=True, slots=True)
class Extent:
    """Room that a line takes at size 1: along it, above its baseline and below it."""

    width: float
    ascent: float
    descent: float


def clean(text: str) -> str:
    """Return text on one line, without control characters and without signs that turn the reading direction around."""
    if text.isascii() and text.isprintable():  # most text by far, and there is a lot of it
        return _SPACES.sub(" ", text).strip()
    kept = (" " if unicodedata.category(sign) in ("Cc", "Zl", "Zp") else sign for sign in text)
    return _SPACES.sub(" ", "".join(sign for sign in kept if not _unwanted(sign))).strip()


def _unwanted(sign: str) -> bool:
    turns = unicodedata.bidirectional(sign) in ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
    return turns or unicodedata.category(sign) in ("Cs", "Cn")


@cache
def _base_has(sign: str) -> bool:
    path = font_manager.findfont(FontProperties(family=BASE_FAMILY))
    return bool(font_manager.get_font(path).get_char_index(ord(sign)))


@cache
def _other_fonts() -> tuple[font_manager.FontEntry, ...]:
    plain = [
        entry
        for entry in font_manager.fontManager.ttflist
        if entry.style == "normal"
        and str(entry.weight) in ("400", "normal", "regular", "book")
        and "LastResort" not in entry.fname
    ]
    return tuple(sorted(plain, key=lambda entry: ("Sans" not in entry.name, entry.name, entry.fname)))


@cache
def _family_with(signs: str) -> str | None:
    """Return the first family of the machine that has all of the signs as outlines."""
    for entry in _other_fonts():
        try:
            font = font_manager.get_font(entry.fname)
        except (OSError, RuntimeError):  # a broken font file of the machine is not our fault
            continue
        if FaceFlags.SCALABLE in font.face_flags and all(font.get_char_index(ord(sign)) for sign in signs):
            return str(entry.name)
    return None


@cache
def families_of(text: str) -> tuple[str, ...] | None:
    """Return the font families that draw every sign of a text, or None if some sign has no font here."""
    lacking = "".join(sorted({sign for sign in text if not _ignorable(sign) and not _base_has(sign)}))
    if not lacking:
        return (BASE_FAMILY,)
    whole = _family_with(lacking)
    if whole is not None:
        return (BASE_FAMILY, whole)
    singly = [_family_with(sign) for sign in lacking]
    if any(family is None for family in singly):
        return None
    return (BASE_FAMILY, *sorted({str(family) for family in singly}))


def _ignorable(sign: str) -> bool:
    """Whether a sign is shaped away or left blank, so that no font need have it."""
    return unicodedata.category(sign) == "Zs" or any(ord(sign) in signs for signs in _INVISIBLE)


def drawable(text: str, *substitutes: str) -> str:
    """Return the first of the texts that is not empty and for whose every sign a font is here; else a dash."""
    for candidate in map(clean, (text, *substitutes)):
        if candidate and families_of(candidate) is not None:
            return candidate
    return "–"


def legible(text: str) -> str:
    """Return text with a question mark for every sign that no font here draws."""
    text = clean(text)
    if families_of(text) is not None:
        return text
    return "".join(sign if families_of(sign) is not None else "?" for sign in text)


def font_of(text: str, *, bold: bool = False) -> FontProperties:
    """Return the font properties that draw a (drawable) text; other scripts are never bold, few machines have both."""
    families = families_of(text) or (BASE_FAMILY,)
    weight = "bold" if bold and len(families) == 1 else "normal"
    return FontProperties(family=list(families), weight=weight, size=1)


@cache
def extent_of(line: str, bold: bool = False) -> Extent:
    """Return the room that one line of text takes at size 1."""
    width, height, descent = text_to_path.get_text_width_height_descent(line, font_of(line, bold=bold), ismath=False)
    return Extent(float(width), max(float(height - descent), ASCENT_EM), max(float(descent), DESCENT_EM))


@cache
def outline_of(line: str, bold: bool = False) -> Path:
    """Return the outlines of a line of text at size 1, from its anchor to the right and upwards."""
    points, codes = text_to_path.get_text_path(font_of(line, bold=bold), line)
    return Path(np.asarray(points).reshape(-1, 2) / text_to_path.FONT_SCALE, codes)


def width_em(line: str, bold: bool = False) -> float:
    """Return the width of a line at size 1, overhang of its outer signs included."""
    return extent_of(line, bold).width + 2 * OVERHANG_EM


def block_height_em(lines: Sequence[str], bold: bool = False) -> float:
    """Return the height of lines one below the other, at size 1."""
    extents = [extent_of(line, bold) for line in lines]
    return sum(extent.ascent + extent.descent for extent in extents) + LINE_GAP_EM * max(0, len(extents) - 1)
