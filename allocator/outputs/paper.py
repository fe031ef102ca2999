"""
Something to draw on in millimetres, with y down: boxes, lines, and text that stays in its box.

Comes in as drawing calls; what they become is the business of each kind of paper: a printed sheet (``sheet.py``) or a
picture within a page (``report/picture.py``). Every text is remembered with its box, so that tests can hold the
finished file against it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from typing import Any, Literal

from allocator.outputs.fonts import LINE_GAP_EM, MM_PER_PT, OVERHANG_EM, clean, extent_of, width_em
from allocator.outputs.lettering import LEAST_PT, Fitted, fit
from allocator.outputs.marks import INK, FeedMark


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet, mm from its left upper corner."""

    x: float
    y: float
    w: float
    h: float

    @property
    def right(self) -> float:
        """Right edge, mm."""
        return self.x + self.w

    @property
    def bottom(self) -> float:
        """Lower edge, mm."""
        return self.y + self.h

    def inset(self, dx: float, dy: float | None = None) -> Box:
        """Return the box made smaller on all sides."""
        dy = dx if dy is None else dy
        return Box(self.x + dx, self.y + dy, self.w - 2 * dx, self.h - 2 * dy)

    def moved(self, dx: float, dy: float) -> Box:
        """Return the box shifted."""
        return replace(self, x=self.x + dx, y=self.y + dy)

    def mirrored(self, width: float) -> Box:
        """Return the box as it lies when an area of that width, from x = 0, is seen from behind."""
        return replace(self, x=width - self.right)


@dataclass(frozen=True, slots=True)
class Lettered:
    """A text on the sheet: ids of its lines in the SVG, its box, what was asked for and what it became."""

    ids: tuple[str, ...]
    box: Box
    wanted: str
    fitted: Fitted
    bold: bool


@dataclass(frozen=True, slots=True)
class Outline:
    """How a line is drawn: its colour (None: not at all), weight in points, whether it is broken."""

    colour: str | None = INK
    weight: float = 0.6
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Filling:
    """What is inside a box: a colour (None: nothing), and a pattern in lines of a colour of its own."""

    colour: str | None = None
    pattern: str = ""
    stroke: str = INK


Align = Literal["left", "centre", "right"]


class Paper(ABC):
    """
    Something to draw on.

    Parameters
    ----------
    size_mm
        Width and height.
    """

    def __init__(self, size_mm: tuple[float, float]) -> None:
        self.width, self.height = size_mm
        self.texts: list[Lettered] = []

    @property
    def page(self) -> Box:
        """The whole of it."""
        return Box(0, 0, self.width, self.height)

    def part(self, kind: str, address: str, box: Box) -> AbstractContextManager[None]:
        """Hold together what is drawn of one way, socket or feed entry; ``box`` is where a reader points at it."""
        return nullcontext()

    def rectangle(
        self,
        box: Box,
        *,
        fill: str | None = None,
        edge: str | None = INK,
        weight: float = 0.6,
        pattern: str = "",
        stroke: str = INK,
        dashed: bool = False,
        radius: float = 0.0,
        name: str | None = None,
    ) -> None:
        """Draw a box: ``weight`` in pt, ``radius`` in mm, ``stroke`` colours the pattern, ``name`` is an SVG id."""
        self._box(box, Filling(fill, pattern, stroke), Outline(edge, weight, dashed), radius, name)

    def line(
        self, points: Sequence[tuple[float, float]], *, colour: str = INK, weight: float = 0.6, dashed: bool = False
    ) -> None:
        """Draw a line through points; ``weight`` in points."""
        self._stroke(points, Outline(colour, weight, dashed))

    @abstractmethod
    def _box(self, box: Box, filling: Filling, outline: Outline, radius: float, name: str | None) -> None:
        """Draw a box, its corners rounded by ``radius``, mm."""

    @abstractmethod
    def _stroke(self, points: Sequence[tuple[float, float]], outline: Outline) -> None:
        """Draw a line through points."""

    @abstractmethod
    def polygon(self, points: Sequence[tuple[float, float]], *, fill: str = INK) -> None:
        """Draw a filled shape."""

    @abstractmethod
    def _write(self, at: tuple[float, float], line: str, size_pt: float, bold: bool, colour: str, upright: bool) -> str:
        """Write one line from its anchor; return its id in the SVG."""

    def feed_bar(self, box: Box, mark: FeedMark, *, weight: float = 0.6, name: str | None = None) -> None:
        """Draw a box in the colour and pattern of a feed."""
        self.rectangle(box, fill=mark.colour, pattern=mark.pattern, stroke=mark.stroke, weight=weight, name=name)

    def text(
        self,
        box: Box,
        text: str,
        *,
        size: float = 7.0,
        smallest: float = LEAST_PT,
        bold: bool = False,
        colour: str = INK,
        align: Align = "left",
        middle: bool = True,
        upright: bool = False,
        max_lines: int = 1,
    ) -> Fitted:
        """
        Write text inside a box, shrunk, wrapped or shortened until it fits.

        Parameters
        ----------
        box
            Room for the text.
        text
            What to write; must be drawable (``fonts.drawable``).
        size, smallest
            Type sizes to try, points.
        middle
            Centred across the lines; else at the start of the box.
        upright
            Written from the bottom to the top of the box.

        Returns
        -------
        Fitted
            What was written; ``shortened`` if something was left out.
        """
        text = clean(text)
        along, across = (box.h, box.w) if upright else (box.w, box.h)
        fitted = fit(text, along, across, largest_pt=size, smallest_pt=smallest, bold=bold, max_lines=max_lines)
        unit = fitted.size_pt * MM_PER_PT
        offset = (across - fitted.height_mm) / 2 if middle else 0.0
        ids = []
        for line in fitted.lines:
            extent = extent_of(line, bold)
            slack = along - width_em(line, bold) * unit
            start = {"left": 0.0, "centre": slack / 2, "right": slack}[align] + OVERHANG_EM * unit
            baseline = offset + extent.ascent * unit
            offset += (extent.ascent + extent.descent + LINE_GAP_EM) * unit
            at = (box.x + baseline, box.bottom - start) if upright else (box.x + start, box.y + baseline)
            ids.append(self._write(at, line, fitted.size_pt, bold, colour, upright))
        self.texts.append(Lettered(tuple(ids), box, text, fitted, bold))
        return fitted

    def first_text(self, box: Box, texts: Sequence[str], *, size: float, bold: bool = False, **style: Any) -> Fitted:
        """Write the first of some texts that fits without a torn word, else the last one; ``style`` as for ``text``."""
        lines = style.get("max_lines", 1)
        for text in map(clean, texts[:-1]):
            fitted = fit(text, box.w, box.h, largest_pt=size, smallest_pt=LEAST_PT, bold=bold, max_lines=lines)
            if not fitted.torn and fitted.lines:
                return self.text(box, text, size=size, bold=bold, **style)
        return self.text(box, texts[-1], size=size, bold=bold, **style)
