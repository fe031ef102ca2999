"""
Read a finished PDF back: where every line of text has its ink, in millimetres of the page.

Comes in as Sheets, written as one PDF and read by pdfium; goes out as the lines of each page with their bounds. Pages
and sheets agree in the order in which text is written; a piece of text belongs to the text of the sheet in whose box it
lies, and a piece that lies in none is a fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pypdfium2
from pypdfium2 import raw

from allocator.outputs.paper import Lettered
from allocator.outputs.sheet import Sheet, save_pdf
from tests.outputs.svg_reading import MM_PER_PT, Bounds

SLACK_MM = 0.1
"""Less than the width of a hairline."""
NO_INK_MM = 0.01
RAISED_EM = 0.5
"""How far from the baseline of its line a sign may stand; the next line is a whole size away."""


@dataclass
class Inked:
    """A line of text on a page: which text of the sheet it is of, its baseline, and where its ink lies."""

    text: Lettered
    baseline_mm: float
    bounds: Bounds


@dataclass(frozen=True)
class PdfPage:
    """A page, read: its size, its lines of text, and what is wrong with the order in which they were found."""

    page: Bounds
    lines: tuple[Inked, ...]
    astray: tuple[str, ...]


def read_pdf(sheets: Sequence[Sheet]) -> tuple[PdfPage, ...]:
    """Write sheets as one PDF and read its pages."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "sheets.pdf"
        save_pdf(sheets, path, "sheets")
        document = pypdfium2.PdfDocument(path.read_bytes())
    found = tuple(_read(page, sheet) for page, sheet in zip(document, sheets, strict=True))
    document.close()
    return found


def _read(page: pypdfium2.PdfPage, sheet: Sheet) -> PdfPage:
    height_pt = page.get_height()
    texts = iter(sheet.texts)
    text = next(texts, None)
    lines: list[Inked] = []
    astray: list[str] = []
    for baseline_mm, bounds in _pieces(page, height_pt):
        while text is not None and not _continues(text, lines, baseline_mm, bounds):
            if not lines or lines[-1].text is not text:
                astray.append(f"{text.wanted!r} is not where its box is")
            text = next(texts, None)
        if text is None:
            astray.append(f"a text at {bounds} lies in no box")
            break
        if lines and lines[-1].text is text and _is_of(lines[-1], baseline_mm):
            lines[-1].bounds = _joined(lines[-1].bounds, bounds)
        else:
            lines.append(Inked(text, baseline_mm, bounds))
    astray += [f"{item.wanted!r} is not on the page" for item in texts]
    return PdfPage(Bounds(0, 0, page.get_width() * MM_PER_PT, height_pt * MM_PER_PT), tuple(lines), tuple(astray))


def _continues(text: Lettered, lines: list[Inked], baseline_mm: float, bounds: Bounds) -> bool:
    """Whether a piece can be of a text: it lies in its box, and the text has not had all of its lines yet."""
    own = [line for line in lines[-len(text.fitted.lines) :] if line.text is text] if text.fitted.lines else []
    has_all = len(own) == len(text.fitted.lines) and not (own and _is_of(own[-1], baseline_mm))
    return not has_all and bounds.inside(_bounds_of(text), SLACK_MM)


def _is_of(line: Inked, baseline_mm: float) -> bool:
    """Whether a piece is of a line: raised signs of some scripts stand on baselines of their own."""
    return abs(line.baseline_mm - baseline_mm) < RAISED_EM * line.text.fitted.size_pt * MM_PER_PT


def _pieces(page: pypdfium2.PdfPage, height_pt: float) -> Iterator[tuple[float, Bounds]]:
    """Yield the baseline and the bounds of every piece of text that has ink, in the order of the page."""
    for piece in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        left, bottom, right, top = piece.get_bounds()
        if min(right - left, top - bottom) * MM_PER_PT < NO_INK_MM:  # a space
            continue
        matrix = piece.get_matrix()
        baseline_pt = matrix.e if abs(matrix.b) > abs(matrix.a) else height_pt - matrix.f
        sides = (left, height_pt - top, right, height_pt - bottom)
        yield baseline_pt * MM_PER_PT, Bounds(*(side * MM_PER_PT for side in sides))


def _bounds_of(text: Lettered) -> Bounds:
    return Bounds(text.box.x, text.box.y, text.box.right, text.box.bottom)


def _joined(one: Bounds, other: Bounds) -> Bounds:
    return Bounds(
        min(one.left, other.left), min(one.top, other.top), max(one.right, other.right), max(one.bottom, other.bottom)
    )


def clashes(page: PdfPage) -> list[str]:
    """Name every text of a page that overlaps another, leaves its box or leaves the page."""
    found = list(page.astray)
    lines = sorted(page.lines, key=lambda line: line.bounds.left)
    for number, line in enumerate(lines):
        if not line.bounds.inside(page.page, 0.0):
            found.append(f"{line.text.wanted!r} leaves the page")
        for other in lines[number + 1 :]:
            if other.bounds.left > line.bounds.right:  # and so are all that follow
                break
            if line.bounds.overlaps(other.bounds, SLACK_MM):
                found.append(f"{line.text.wanted!r} overlaps {other.text.wanted!r}")
    return found
