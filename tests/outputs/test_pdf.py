"""In the finished PDF no text overlaps another or is clipped, and it shows what the picture shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest
from PIL import Image

from allocator.outputs.layout import layout_sheets
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A4_MM, PNG_DPI, Sheet, save_pdf
from tests.outputs.conftest import BUNDLED, SAMPLES, content_of, drawn, read_back
from tests.outputs.pdf_reading import clashes, read_pdf
from tests.outputs.samples import any_script_label

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


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=[] if name in ("small-any-script", "starter-camper") else pytest.mark.long)
        for name in [*BUNDLED, *sorted(SAMPLES)]
    ],
)
def test_no_text_overlaps_or_is_clipped(name: str) -> None:
    """As the SVG tests, which go through more samples every time: text of a PDF is shaped and placed on its own."""
    for page in read_pdf(layout_sheets(content_of(name))):
        assert clashes(page) == []


@pytest.mark.parametrize(
    ("second", "clash"),
    [
        (Box(12, 11, 30, 6), "'Dipped beam' overlaps 'Dipped beam left'"),
        (Box(285, 40, 40, 6), "'Dipped beam left' leaves the page"),
    ],
)
def test_the_check_itself_sees_a_clash(second: Box, clash: str) -> None:
    sheet = Sheet(A4_MM)
    sheet.text(Box(10, 10, 30, 6), "Dipped beam")
    sheet.text(second, "Dipped beam left", size=12)
    assert clash in [found for page in read_pdf([sheet]) for found in clashes(page)]


@pytest.mark.parametrize("label", ["Dipped beam", "Dipped beam left and right", any_script_label(1, ""), "ไฟหน้าด้านซ้าย"])
def test_the_check_itself_sees_text_outside_of_its_box(label: str) -> None:
    """Lines are found where the SVG has them, and nowhere else."""
    sheet = Sheet(A4_MM)
    sheet.text(Box(10, 10, 32, 9), label, max_lines=2)
    (page,) = read_pdf([sheet])
    drawing = read_back(sheet)
    inks = [drawing.bounds_by_id[name] for name in sheet.texts[0].ids]
    assert len(page.lines) == len(inks)
    for line, ink in zip(page.lines, inks, strict=True):
        assert line.bounds.inside(ink, 0.05) and ink.inside(line.bounds, 0.05)
    sheet.texts[0] = replace(sheet.texts[0], box=Box(10, 16, 32, 9))
    assert [found for page in read_pdf([sheet]) for found in clashes(page)] != []


def test_the_check_itself_sees_a_text_that_is_not_there() -> None:
    sheet = Sheet(A4_MM)
    sheet.text(Box(10, 10, 30, 6), "Horn")
    sheet.texts.append(replace(sheet.texts[0], box=Box(50, 10, 30, 6), wanted="Wiper"))
    assert [found for page in read_pdf([sheet]) for found in clashes(page)] == ["'Wiper' is not on the page"]


def test_the_check_itself_sees_a_word_that_moved(tmp_path: Path) -> None:
    here, there = Sheet(A4_MM), Sheet(A4_MM)
    here.text(Box(10, 10, 30, 6), "Horn")
    there.text(Box(13, 10, 30, 6), "Horn")
    assert _differences([here], [there], tmp_path)[0] > MOST
