"""
Text that fits: how large it is, and how it is wrapped, shrunk or shortened for a box.

Comes in as a string and a box in mm; goes out as lines, a size and whether anything was left out.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from allocator.outputs.fonts import MM_PER_PT, OVERHANG_EM, block_height_em, extent_of, width_em

LEAST_PT = 5.0
"""Smallest type on any sheet, points: about 1.8 mm from the depth of "p" to the height of "d"."""
ELLIPSIS = "…"
FEWER_LINES = 0.85
"""Share of its size that a short text keeps at least when a smaller one saves a line."""


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
        Drawable text (see ``fonts.drawable``).
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
