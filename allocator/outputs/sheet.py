"""
A sheet of paper that is printed or looked at on its own.

Comes in as drawing calls (``paper.py``); goes out as SVG, PNG and PDF, the same bytes for the same calls.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import FancyBboxPatch, Polygon, Rectangle
from matplotlib.transforms import Affine2D

from allocator.outputs.fonts import font_of
from allocator.outputs.marks import INK, PAPER
from allocator.outputs.paper import Box, Filling, Outline, Paper
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


class Sheet(Paper):
    """
    One sheet to draw on.

    Parameters
    ----------
    size_mm
        Width and height.
    """

    def __init__(self, size_mm: tuple[float, float]) -> None:
        super().__init__(size_mm)
        self._layer = self._num_lines = 0
        with style():
            self._figure = Figure(figsize=(self.width / MM_PER_INCH, self.height / MM_PER_INCH), facecolor=PAPER)
        inch = 1 / MM_PER_INCH
        self._to_paper = Affine2D().scale(inch, -inch).translate(0, self.height * inch) + self._figure.dpi_scale_trans

    def _box(self, box: Box, filling: Filling, outline: Outline, radius: float, name: str | None) -> None:
        shape: dict[str, Any] = {
            "facecolor": filling.colour or "none",
            "edgecolor": outline.colour or "none",
            "linewidth": outline.weight if outline.colour else 0.0,
            "linestyle": _dashes(outline),
            "hatch": filling.pattern or None,
            "hatchcolor": filling.stroke,
        }
        patch: Rectangle | FancyBboxPatch
        if radius:
            corners = f"round,pad=0,rounding_size={radius}"
            patch = FancyBboxPatch((box.x, box.y), box.w, box.h, boxstyle=corners, **shape)
        else:
            patch = Rectangle((box.x, box.y), box.w, box.h, **shape)
        patch.set_hatch_linewidth(HATCH_PT)
        self._add(patch, name)

    def _stroke(self, points: Sequence[tuple[float, float]], outline: Outline) -> None:
        xs, ys = zip(*points, strict=True)
        style: Any = {"color": outline.colour or "none", "linestyle": _dashes(outline), "linewidth": outline.weight}
        self._add(Line2D(xs, ys, solid_capstyle="butt", **style), None)

    def polygon(self, points: Sequence[tuple[float, float]], *, fill: str = INK) -> None:
        """Draw a filled shape."""
        self._add(Polygon(list(points), closed=True, facecolor=fill, edgecolor="none"), None)

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
        with style():
            canvas: Any = FigureCanvasSVG(self._figure)
            canvas.print_svg(path, metadata={"Date": None, "Creator": None})

    def save_png(self, path: Path) -> None:
        """Write the sheet as PNG."""
        with style():
            canvas: Any = FigureCanvasAgg(self._figure)
            self._figure.set_dpi(PNG_DPI)
            canvas.print_png(path, metadata={"Software": None}, pil_kwargs={"compress_level": PNG_EFFORT})


def save_pdf(sheets: Sequence[Sheet], path: Path, title: str) -> None:
    """Write sheets as the pages of one PDF, without dates."""
    with style():
        metadata = {"Title": title, "CreationDate": None, "ModDate": None, "Creator": None, "Producer": None}
        with PdfPages(path, metadata=metadata) as pages:
            for sheet in sheets:
                FigureCanvasPdf(sheet._figure)
                pages.savefig(sheet._figure)


def _dashes(outline: Outline) -> Any:
    return (0, (3, 2)) if outline.dashed else "solid"


def style() -> AbstractContextManager[None]:
    """Return the settings of the drawing library under which equal calls give equal bytes."""
    return mpl.rc_context(_STYLE)
