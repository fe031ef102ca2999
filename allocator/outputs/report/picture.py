"""
A drawing within a page: live marks of an inline SVG, text as text, colours that follow the page's light or dark.

Comes in as drawing calls (``outputs/paper.py``), ways, sockets and feed entries each as one part; goes out as markup.
Every line of text is held to the width that it was measured with, so that it keeps its box in whatever font the reader
has.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

from markupsafe import Markup

from allocator.outputs.charts.drops import RUN
from allocator.outputs.fonts import MM_PER_PT, extent_of
from allocator.outputs.marks import FEED_PATTERNS, INK, PALE, PAPER, SOFT, WASH
from allocator.outputs.paper import Box, Filling, Outline, Paper

PX_PER_MM = 4.8
"""Scale on a screen: the smallest type, 5 pt, is there 8.5 px high."""
_THEMED: Mapping[str, str] = {INK: "ink", SOFT: "soft", PALE: "pale", WASH: "wash", PAPER: "paper", RUN: "bar"}
_HATCH_STROKES: Mapping[str, str] = {INK: "dark", PAPER: "light", "var(--ink)": "ink"}
_HATCH_MM, _HATCH_LINE_MM = 1.6, 0.22
# what is repeated on a square of that side, by the drawing library's name of the pattern
_HATCHES: Mapping[str, str] = {
    "////": "M0 1.6L1.6 0M-.4 .4L.4-.4M1.2 2L2 1.2",
    "\\\\\\\\": "M0 0L1.6 1.6M-.4 1.2L.4 2M1.2-.4L2 .4",
    "||||": "M.8 0V1.6",
    "----": "M0 .8H1.6",
    "xxxx": "M0 0L1.6 1.6M0 1.6L1.6 0",
    "...": "M.8 .8h.01",
    "oo": "M.4 .8a.4 .4 0 1 0 .8 0a.4 .4 0 1 0-.8 0",
}


class Picture(Paper):
    """
    An inline SVG in the making.

    Parameters
    ----------
    size_mm
        Width and height.
    name
        What the picture is, for readers who do not see it.
    name_by_key
        What each part that can be pointed at is; others are drawn and cannot be pointed at.
    """

    def __init__(self, size_mm: tuple[float, float], name: str, name_by_key: Mapping[str, str] | None = None) -> None:
        super().__init__(size_mm)
        self._name, self._name_by_key = name, name_by_key or {}
        self._marks: list[Markup] = []

    def markup(self) -> Markup:
        """Return the finished SVG."""
        size = Markup(' viewBox="0 0 {} {}" width="{}" height="{}"').format(
            _mm(self.width), _mm(self.height), _mm(self.width * PX_PER_MM), _mm(self.height * PX_PER_MM)
        )
        role = "group" if self._name_by_key else "img"
        head = Markup('<svg{} role="{}" aria-label="{}">').format(size, role, self._name)
        return head + Markup("").join(self._marks) + Markup("</svg>")

    @contextmanager
    def part(self, kind: str, address: str, box: Box) -> Iterator[None]:
        """Draw a part as one group with its reach on top."""
        key = f"{kind}:{address}"
        if key not in self._name_by_key:
            yield
            return
        self._marks.append(
            Markup('<g class="part" role="button" tabindex="-1" data-key="{}" aria-label="{}">').format(
                key, self._name_by_key[key]
            )
        )
        yield
        self._marks.append(Markup('<rect class="reach"{}/></g>').format(_place(box)))

    def _box(self, box: Box, filling: Filling, outline: Outline, radius: float, name: str | None) -> None:
        """Draw a box; the parts of a picture are named by ``part``, not by ``name``."""
        corner = Markup(' rx="{}"').format(_mm(radius)) if radius else Markup("")
        place = _place(box) + corner
        if filling.pattern:
            self._marks.append(Markup("<rect{}{}/>").format(place, _fill(filling.colour)))
            # on colours of the page its lines turn light with the page; on a feed's they stay as they are
            follows = filling.colour is None or filling.colour in _THEMED
            lines = _hatch_id(filling.pattern, _shade(filling.stroke) if follows else filling.stroke)
            self._marks.append(Markup('<rect{} fill="url(#{})"{}/>').format(place, lines, _line_style(outline)))
        else:
            self._marks.append(Markup("<rect{}{}{}/>").format(place, _fill(filling.colour), _line_style(outline)))

    def _stroke(self, points: Sequence[tuple[float, float]], outline: Outline) -> None:
        style = _fill(None) + _line_style(outline)
        self._marks.append(Markup('<polyline points="{}"{}/>').format(_points(points), style))

    def polygon(self, points: Sequence[tuple[float, float]], *, fill: str = INK) -> None:
        """Draw a filled shape."""
        self._marks.append(Markup('<polygon points="{}"{}/>').format(_points(points), _fill(fill)))

    def _write(self, at: tuple[float, float], line: str, size_pt: float, bold: bool, colour: str, upright: bool) -> str:
        size = size_pt * MM_PER_PT
        x, y = map(_mm, at)
        turned = Markup(' transform="rotate(-90 {} {})"').format(x, y) if upright else Markup("")
        # the anchor is where the line begins on paper: of a right-to-left line, that is its end
        leftward = Markup(' direction="rtl" text-anchor="end"') if _reads_leftward(line) else Markup("")
        heavy = Markup(' font-weight="bold"') if bold else Markup("")
        width = _mm(extent_of(line, bold).width * size)
        self._marks.append(
            Markup('<text x="{}" y="{}" font-size="{}" textLength="{}"{}{}{}{}>{}</text>').format(
                x, y, _mm(size), width, heavy, leftward, turned, _fill(colour), line
            )
        )
        return ""


def hatches() -> Markup:
    """Return the patterns that pictures of a page refer to, as an SVG that shows nothing."""
    tiles = Markup("").join(
        Markup(
            '<pattern id="{}" width="{}" height="{}" patternUnits="userSpaceOnUse"><path d="{}" fill="none" '
            'stroke="{}" stroke-width="{}" stroke-linecap="{}"/></pattern>'
        ).format(
            _hatch_id(pattern, stroke),
            _HATCH_MM,
            _HATCH_MM,
            _HATCHES[pattern],
            stroke,
            0.5 if pattern == "..." else _HATCH_LINE_MM,
            "round" if pattern == "..." else "square",
        )
        for pattern in FEED_PATTERNS
        if pattern
        for stroke in _HATCH_STROKES
    )
    return Markup('<svg class="hatches" width="0" height="0" aria-hidden="true"><defs>{}</defs></svg>').format(tiles)


def _hatch_id(pattern: str, stroke: str) -> str:
    """Return the id of a pattern in lines of a colour."""
    return f"hatch-{FEED_PATTERNS.index(pattern)}-{_HATCH_STROKES[stroke]}"


def _mm(value: float) -> str:
    """Return a length in as few digits as show a hundredth of a millimetre."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _place(box: Box) -> Markup:
    return Markup(' x="{}" y="{}" width="{}" height="{}"').format(*map(_mm, (box.x, box.y, box.w, box.h)))


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{_mm(x)},{_mm(y)}" for x, y in points)


def _shade(colour: str) -> str:
    return f"var(--{_THEMED[colour]})" if colour in _THEMED else colour


def _fill(colour: str | None) -> Markup:
    return Markup(' fill="{}"').format("none" if colour is None else _shade(colour))


def _line_style(outline: Outline) -> Markup:
    if outline.colour is None:
        return Markup("")
    width = outline.weight * MM_PER_PT
    dashes = Markup(' stroke-dasharray="{} {}"').format(_mm(3 * width), _mm(2 * width)) if outline.dashed else ""
    return Markup(' stroke="{}" stroke-width="{}"{}').format(_shade(outline.colour), _mm(width), dashes)


def _reads_leftward(line: str) -> bool:
    """Whether the first sign with a direction of its own is of a right-to-left script."""
    strong = (unicodedata.bidirectional(sign) for sign in line)
    return next((kind for kind in strong if kind in ("L", "R", "AL")), "L") != "L"
