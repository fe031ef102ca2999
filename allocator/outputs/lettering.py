"""
Text that fits: which font draws a string, how large it is, and how it is wrapped, shrunk or shortened for a box.

Comes in as a string and a box in mm; goes out as lines, a size and whether anything was left out. Sizes are measured on
the glyph outlines, the same that the drawings contain. The base font comes with matplotlib; scripts that it lacks are
taken from the first font of the machine that has them.
"""

from __future__ import annotations

import math
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
LEAST_PT = 5.0
"""Smallest type on any sheet, points: about 1.8 mm from the depth of "p" to the height of "d"."""
ELLIPSIS, NO_BREAK = "…", "\u00a0"
MM_PER_PT = 25.4 / 72
LINE_GAP_EM = 0.12
FEWER_LINES = 0.85
"""Share of its size that a short text keeps at least when a smaller one saves a line."""
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


@dataclass(frozen=True, slots=True)
class Fitted:
    """Text as it goes into its box."""

    lines: tuple[str, ...]
    size_pt: float
    shortened: bool
    torn: bool = False
    """Whether a word is broken at the end of a line."""

    @property
    def height_mm(self) -> float:
        """Height of all lines together, mm."""
        return block_height_em(self.lines) * self.size_pt * MM_PER_PT


def clean(text: str) -> str:
    """Return text on one line, without control characters and without signs that turn the reading direction around."""
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


def fit(
    text: str,
    width_mm: float,
    height_mm: float,
    *,
    largest_pt: float,
    smallest_pt: float,
    bold: bool = False,
    max_lines: int = 1,
) -> Fitted:
    """
    Fit text into a box: large, on few lines, wrapped between words, then within words, then shortened with an ellipsis.

    Parameters
    ----------
    text
        Drawable text (see ``drawable``).
    width_mm, height_mm
        Room along and across the lines, mm.
    largest_pt, smallest_pt
        Range of type sizes, points.
    bold
        Heavier face.
    max_lines
        Most lines to wrap into.

    Returns
    -------
    Fitted
        Lines that stay inside the box; none if even the smallest line is too high for it.
    """
    words = _words(text)
    steps = max(0, math.ceil((largest_pt - smallest_pt) / 0.25))
    best, least_pt = None, 0.0
    for size_pt in [largest_pt - 0.25 * step for step in range(steps)] + [smallest_pt]:
        if best is not None and (len(best.lines) not in (2, 3) or size_pt < least_pt):
            break
        lines = _wrap(words, width_mm / (size_pt * MM_PER_PT), bold)
        if lines is None or len(lines) > max_lines or _height_mm(lines, size_pt, bold) > height_mm:
            continue
        if best is None:
            least_pt = FEWER_LINES * size_pt
        if best is None or len(lines) < len(best.lines):
            best = Fitted(lines, size_pt, False)
    return best or _cut(text, width_mm / (smallest_pt * MM_PER_PT), height_mm, smallest_pt, bold, max_lines)


def _height_mm(lines: Sequence[str], size_pt: float, bold: bool) -> float:
    return block_height_em(lines, bold) * size_pt * MM_PER_PT


def _words(text: str) -> tuple[str, ...]:
    """Split where a line may end: at spaces, and on both sides of wide (Chinese, Japanese, Korean) signs."""
    pieces: list[str] = []
    for sign in text:
        wide = unicodedata.east_asian_width(sign) in ("W", "F")
        after_wide = bool(pieces) and unicodedata.east_asian_width(pieces[-1][-1]) in ("W", "F")
        if not pieces or pieces[-1].endswith(" ") or (sign != " " and (wide or after_wide)):
            pieces.append(sign)
        else:
            pieces[-1] += sign
    return tuple(pieces)


def _wrap(words: Sequence[str], room_em: float, bold: bool) -> tuple[str, ...] | None:
    """Wrap greedily; None if a word alone is too wide. Widths of words add up: nothing is shaped across a space."""
    lines: list[str] = []
    current, used_em = "", 2 * OVERHANG_EM
    for word in words:
        alone_em = extent_of(word.rstrip(), bold).width
        if alone_em + 2 * OVERHANG_EM > room_em:
            return None
        if current and used_em + alone_em > room_em:
            lines.append(current.rstrip())
            current, used_em = "", 2 * OVERHANG_EM
        current += word
        used_em += extent_of(word, bold).width
    return (*lines, current.rstrip()) if current.strip() else tuple(lines)


def _cut(text: str, room_em: float, height_mm: float, size_pt: float, bold: bool, max_lines: int) -> Fitted:
    """Break within words and shorten the last line that fits."""
    clusters = _clusters(text)
    lines: list[str] = []
    begin = start = 0
    while start < len(clusters) and len(lines) < max_lines:
        end = _break(clusters, start, _longest(clusters, start, room_em, bold, ""))
        line = "".join(clusters[start:end]).strip()
        if end <= start or _height_mm([*lines, line], size_pt, bold) > height_mm:
            break
        lines.append(line)
        begin, start = start, end
    if start >= len(clusters):
        return Fitted(tuple(lines), size_pt, shortened=False, torn=len(lines) > 1)
    if lines:
        end = _longest(clusters, begin, room_em, bold, ELLIPSIS)
        lines[-1] = "".join(clusters[begin:end]).strip() + ELLIPSIS
    return Fitted(tuple(lines), size_pt, shortened=True, torn=True)


def _break(clusters: Sequence[str], start: int, end: int) -> int:
    """Move a line's end back to a space or behind a hyphen, where one is in its second half."""
    if end < len(clusters):
        for place in range(end, start + (end - start) // 2, -1):
            if clusters[place - 1] in " -" or clusters[min(place, len(clusters) - 1)] == " ":
                return place
    return end


def _longest(clusters: Sequence[str], start: int, room_em: float, bold: bool, tail: str) -> int:
    """Return the end of the longest piece from ``start`` that fits with ``tail`` behind it, by halving."""
    low, high = start, len(clusters)
    while low < high:
        end = (low + high + 1) // 2
        if width_em("".join(clusters[start:end]).strip() + tail, bold) <= room_em:
            low = end
        else:
            high = end - 1
    return low


def _clusters(text: str) -> tuple[str, ...]:
    """Split into signs with their combining marks and joiners, which must not be torn apart."""
    parts: list[str] = []
    for sign in text:
        joined = bool(parts) and (
            unicodedata.category(sign) in ("Mn", "Mc", "Me", "Cf") or parts[-1].endswith("\u200d")
        )
        if joined:
            parts[-1] += sign
        else:
            parts.append(sign)
    return tuple(parts)
