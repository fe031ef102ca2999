"""The PDF shows what the picture shows, whose text the SVG tests have found neither overlapping nor clipped."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest
from PIL import Image

from allocator.outputs.paper import Box
from allocator.outputs.sheet import A4_MM, PNG_DPI, Sheet, save_pdf
from tests.outputs.conftest import BUNDLED, SAMPLES, drawn

SQUARE_PX = 12
"""2 mm: as high as a line of small type."""
MOST = 32
"""Grey levels by which squares may differ on the average; two renderers place an edge within a pixel of each other."""


def _squares(grey: npt.NDArray[np.float64], rows: int, columns: int) -> npt.NDArray[np.float64]:
    cut = grey[: rows * SQUARE_PX, : columns * SQUARE_PX]
    return cut.reshape(rows, SQUARE_PX, columns, SQUARE_PX).mean(axis=(1, 3))


def _differences(pages: Sequence[Sheet], pictures: Sequence[Sheet], folder: Path) -> list[float]:
    """Return the largest difference of any square between each page of a PDF and each picture."""
    save_pdf(pages, folder / "pages.pdf", "pages")
    document = pypdfium2.PdfDocument(folder / "pages.pdf")
    assert len(document) == len(pages)
    found = []
    for page, sheet in zip(document, pictures, strict=True):
        sheet.save_png(folder / "picture.png")
        with Image.open(folder / "picture.png") as image:
            seen = np.asarray(image.convert("L"), dtype=np.float64)
        printed = np.asarray(page.render(scale=PNG_DPI / 72).to_pil().convert("L"), dtype=np.float64)
        rows, columns = (min(a, b) // SQUARE_PX for a, b in zip(seen.shape, printed.shape, strict=True))
        found.append(float(np.abs(_squares(seen, rows, columns) - _squares(printed, rows, columns)).max()))
    return found


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=[] if name == "small-any-script" else pytest.mark.long)
        for name in [*BUNDLED, *sorted(SAMPLES)]
    ],
)
def test_every_page_of_the_pdf_looks_like_its_picture(name: str, tmp_path: Path) -> None:
    sheets = [sheet for sheet, _ in drawn(name)]
    assert max(_differences(sheets, sheets, tmp_path)) < MOST


def test_the_check_itself_sees_a_word_that_moved(tmp_path: Path) -> None:
    here, there = Sheet(A4_MM), Sheet(A4_MM)
    here.text(Box(10, 10, 30, 6), "Horn")
    there.text(Box(13, 10, 30, 6), "Horn")
    assert _differences([here], [there], tmp_path)[0] > MOST
