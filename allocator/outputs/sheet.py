"""
A sheet of paper in millimetres, with y down: boxes, lines, and text that stays in its box.

Comes in as drawing calls; goes out as SVG, PNG and PDF, the same bytes for the same calls. Every text is remembered
with its box, so that tests can hold the finished file against it.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import FancyBboxPatch, Polygon, Rectangle
from matplotlib.transforms import Affine2D

from allocator.outputs.fonts import LINE_GAP_EM, MM_PER_PT, OVERHANG_EM, clean, extent_of, font_of, width_em
from allocator.outputs.lettering import LEAST_PT, Fitted, fit
from allocator.outputs.marks import INK, PAPER, FeedMark
from allocator.outputs.textline import TextLine

A3_MM = (420.0, 297.0)
A4_MM = (297.0, 210.0)
MM_PER_INCH = 25.4
PNG_DPI = 150
PNG_EFFORT = 3
"""Of 9; more takes longer and gains nothing on drawings."""
HATCH_PT = 0.5

_STYLE: Any = {
    "svg.fonttype": "path",
    "svg.hashsalt": "panel",
    "pdf.fonttype": 3,
    "pdf.compression": 6,
    "text.hinting": "no_hinting",
    "text.parse_math": False,
    "path.simplify": False,
    "axes.unicode_minus": False,
    "savefig.bbox": None,
    "savefig.dpi": "figure",
    "figure.dpi": 100,
    "font.family": ["sans-serif"],
}


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


Align = Literal["left", "centre", "right"]


class Sheet:
    """
    One sheet to draw on.

    Parameters
    ----------
    size_mm
        Width and height.
    """

    def __init__(self, size_mm: tuple[float, float]) -> None:
        self.width, self.height = size_mm
        self.texts: list[Lettered] = []
        self._layer = self._num_lines = 0
        with _style():
            self._figure = Figure(figsize=(self.width / MM_PER_INCH, self.height / MM_PER_INCH), facecolor=PAPER)
        inch = 1 / MM_PER_INCH
        self._to_paper = Affine2D().scale(inch, -inch).translate(0, self.height * inch) + self._figure.dpi_scale_trans

    @property
    def page(self) -> Box:
        """The whole sheet."""
        return Box(0, 0, self.width, self.height)

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
        shape: dict[str, Any] = {
            "facecolor": fill or "none",
            "edgecolor": edge or "none",
            "linewidth": weight if edge else 0.0,
            "linestyle": (0, (3, 2)) if dashed else "solid",
            "hatch": pattern or None,
            "hatchcolor": stroke,
        }
        patch: Rectangle | FancyBboxPatch
        if radius:
            corners = f"round,pad=0,rounding_size={radius}"
            patch = FancyBboxPatch((box.x, box.y), box.w, box.h, boxstyle=corners, **shape)
        else:
            patch = Rectangle((box.x, box.y), box.w, box.h, **shape)
        patch.set_hatch_linewidth(HATCH_PT)
        self._add(patch, name)

    def feed_bar(self, box: Box, mark: FeedMark, *, weight: float = 0.6, name: str | None = None) -> None:
        """Draw a box in the colour and pattern of a feed."""
        self.rectangle(box, fill=mark.colour, pattern=mark.pattern, stroke=mark.stroke, weight=weight, name=name)

    def line(
        self, points: Sequence[tuple[float, float]], *, colour: str = INK, weight: float = 0.6, dashed: bool = False
    ) -> None:
        """Draw a line through points; ``weight`` in points."""
        xs, ys = zip(*points, strict=True)
        style: Any = (0, (3, 2)) if dashed else "solid"
        self._add(Line2D(xs, ys, color=colour, linewidth=weight, linestyle=style, solid_capstyle="butt"), None)

    def polygon(self, points: Sequence[tuple[float, float]], *, fill: str = INK) -> None:
        """Draw a filled shape."""
        self._add(Polygon(list(points), closed=True, facecolor=fill, edgecolor="none"), None)

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

    def _write(self, at: tuple[float, float], line: str, size_pt: float, bold: bool, colour: str, upright: bool) -> str:
        font = font_of(line, bold=bold)
        font.set_size(size_pt)
        self._num_lines += 1
        name = f"text-{self._num_lines}"
        self._add(TextLine(*at, line, fontproperties=font, color=colour, rotation=90 if upright else 0), name)
        return name

    def _add(self, artist: Any, name: str | None) -> None:
        self._layer += 1
        artist.set_zorder(self._layer)
        artist.set_transform(self._to_paper)
        if name is not None:
            artist.set_gid(name.replace(" ", "_"))
        self._figure.add_artist(artist)

    def save_svg(self, path: Path) -> None:
        """Write the sheet as SVG, text as outlines."""
        with _style():
            canvas: Any = FigureCanvasSVG(self._figure)
            canvas.print_svg(path, metadata={"Date": None, "Creator": None})

    def save_png(self, path: Path, dpi: int = PNG_DPI) -> None:
        """Write the sheet as PNG."""
        with _style():
            canvas: Any = FigureCanvasAgg(self._figure)
            self._figure.set_dpi(dpi)
            canvas.print_png(path, metadata={"Software": None}, pil_kwargs={"compress_level": PNG_EFFORT})


def save_pdf(sheets: Sequence[Sheet], path: Path, title: str) -> None:
    """Write sheets as the pages of one PDF, without dates."""
    with _style():
        metadata = {"Title": title, "CreationDate": None, "ModDate": None, "Creator": None, "Producer": None}
        with PdfPages(path, metadata=metadata) as pages:
            for sheet in sheets:
                FigureCanvasPdf(sheet._figure)
                pages.savefig(sheet._figure)


def _style() -> AbstractContextManager[None]:
    return mpl.rc_context(_STYLE)
