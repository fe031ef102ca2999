"""On the finished SVG of every sheet no text overlaps another, leaves its box or leaves the page."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.lettering import ELLIPSIS, LEAST_PT
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A4_MM, Sheet
from tests.outputs.conftest import content_of, drawn, read_back
from tests.outputs.svg_reading import Bounds, SvgDrawing

SLACK_MM = 0.1
"""Less than the width of a hairline."""


def clashes(sheet: Sheet, svg: SvgDrawing) -> list[str]:
    """Name every text that overlaps another, leaves its box or leaves the page."""
    lines = sorted(
        (
            (line, svg.bounds_by_id[name], text.box)
            for text in sheet.texts
            for name, line in zip(text.ids, text.fitted.lines, strict=True)
            if name in svg.bounds_by_id
        ),
        key=lambda item: item[1].left,
    )
    found = []
    for number, (line, ink, box) in enumerate(lines):
        if not ink.inside(Bounds(box.x, box.y, box.right, box.bottom), SLACK_MM):
            found.append(f"{line!r} leaves its box")
        if not ink.inside(svg.page, 0.0):
            found.append(f"{line!r} leaves the page")
        for other, at, _ in lines[number + 1 :]:
            if at.left > ink.right:  # and so are all that follow
                break
            if ink.overlaps(at, SLACK_MM):
                found.append(f"{line!r} overlaps {other!r}")
    return found


def test_no_text_overlaps_or_is_clipped(sample_name: str) -> None:
    for sheet, svg in drawn(sample_name):
        assert clashes(sheet, svg) == []


def test_no_text_vanishes(sample_name: str) -> None:
    for sheet, svg in drawn(sample_name):
        for text in sheet.texts:
            assert text.fitted.lines, text.wanted
            assert all(name in svg.bounds_by_id for name in text.ids), text.wanted


def test_what_is_shortened_says_so_and_only_on_drawings(sample_name: str) -> None:
    for sheet, _ in drawn(sample_name):
        for text in sheet.texts:
            assert text.fitted.shortened == text.fitted.lines[-1].endswith(ELLIPSIS)


def test_every_label_stands_in_full_somewhere(sample_name: str) -> None:
    content = content_of(sample_name)
    whole = {text.wanted for sheet, _ in drawn(sample_name) for text in sheet.texts if not text.fitted.shortened}
    for circuit in content.sized.requirements.circuits:
        need = content.sized.need_by_id[circuit.id]
        assert any(content.label(need) in text for text in whole), circuit.label


def test_type_is_large_enough_to_read(sample_name: str) -> None:
    """5 pt is 1.8 mm from the depth of "p" to the height of "d"."""
    assert LEAST_PT == 5.0
    for sheet, _ in drawn(sample_name):
        assert min(text.fitted.size_pt for text in sheet.texts) >= LEAST_PT


def test_wire_numbers_and_amounts_are_never_torn(sample_name: str) -> None:
    """Half a wire number is another wire's; half an amount is another amount."""
    whole = re.compile(r"(?:[CJLTW]\d+|[\d.]+(?: | )(?:A|mm²|AWG)|\+\d+)")
    for sheet, _ in drawn(sample_name):
        for text in sheet.texts:
            lines = [line.replace(NO_BREAK, " ") for line in text.fitted.lines]
            for amount in whole.findall(text.wanted):
                if not text.fitted.shortened:
                    pieces = amount.split(" ") if " " in amount else [amount.replace(NO_BREAK, " ")]
                    assert all(any(piece in line for line in lines) for piece in pieces), text.wanted


@pytest.mark.parametrize(
    ("second", "clash"),
    [
        (Box(12, 11, 30, 6), "overlaps"),
        (Box(285, 40, 40, 6), "leaves the page"),
    ],
)
def test_the_check_itself_sees_a_clash(second: Box, clash: str) -> None:
    sheet = Sheet(A4_MM)
    sheet.text(Box(10, 10, 30, 6), "Dipped beam")
    sheet.text(second, "Dipped beam left", size=12)
    assert any(clash in found for found in clashes(sheet, read_back(sheet)))


def test_the_check_itself_sees_text_outside_of_its_box() -> None:
    sheet = Sheet(A4_MM)
    sheet.text(Box(10, 10, 30, 6), "Dipped beam")
    svg = read_back(sheet)
    moved = Sheet(A4_MM)
    moved.text(Box(10, 30, 30, 6), "Dipped beam")
    assert clashes(moved, svg) == ["'Dipped beam' leaves its box"]


@pytest.mark.parametrize("name", ["small", "small-any-script"])
def test_the_picture_shows_ink_where_the_drawing_has_text(name: str, tmp_path: Path) -> None:
    """Pixels are drawn from outlines, SVG and PDF from glyphs: both must lie in one place."""
    sheet, svg = drawn(name)[0]
    sheet.save_png(tmp_path / "sheet.png")
    with Image.open(tmp_path / "sheet.png") as image:
        grey = np.asarray(image.convert("L"))
    per_mm = grey.shape[1] / sheet.width
    for text in sheet.texts:
        for line in text.ids:
            ink = svg.bounds_by_id[line]
            rows = slice(int(ink.top * per_mm), int(ink.bottom * per_mm) + 1)
            columns = slice(int(ink.left * per_mm), int(ink.right * per_mm) + 1)
            seen = grey[rows, columns]
            assert int(seen.max()) - int(seen.min()) > 60, text.wanted
