"""
The files of a comparison: text, list, data, and paper with the layouts of two plans next to each other.

Comes in as a ``Comparison`` and a folder; goes out as files there. Each sheet has the front of one panel in A above,
and in another plan below; the tables follow in the PDF.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path

from allocator.outputs.arrangement import CARRIER_GAP_MM, FRAME_MM, View, arrange, stretches
from allocator.outputs.cautions import cautions_line
from allocator.outputs.comparing.lists import comparison_csv, comparison_data
from allocator.outputs.comparing.marks import MEANINGS, marks_of
from allocator.outputs.comparing.side import Comparison, Side
from allocator.outputs.comparing.words import comparison_text, tables
from allocator.outputs.content import Content
from allocator.outputs.faces import Face
from allocator.outputs.fonts import legible
from allocator.outputs.layout import BAY_MM, HEADING_MM, MOST_BAYS_IN_LINE
from allocator.outputs.marked_sheet import MarkedSheet
from allocator.outputs.marks import INK, PAPER, SOFT
from allocator.outputs.paper import Box
from allocator.outputs.sheet import A3_MM, Sheet, save_pdf
from allocator.outputs.tables import Table, draw_parts, parts_of
from allocator.outputs.titleblock import MARGIN_MM, Foot, SheetTitle, body_of

COMPARE_FILES = ("compare.csv", "compare.json", "compare.pdf", "compare.png", "compare.svg", "compare.txt")
"""Of a drawing with more sheets the second is ``compare-2.svg``, ``compare-2.png`` and so on."""
_GAP_MM = 4.0
MOST_BESIDE, BESIDE_MM = 3, 150.0
"""Stretches of so few bays stand beside each other, so high, mm."""


def draw_comparison(comparison: Comparison, folder: Path) -> None:
    """Write every file of a comparison into a folder that is there."""
    texts = {
        "compare.txt": comparison_text(comparison),
        "compare.csv": comparison_csv(comparison),
        "compare.json": json.dumps(comparison_data(comparison), indent=2, ensure_ascii=False) + "\n",
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    sheets, num_drawings = comparison_sheets(comparison)
    save_pdf(sheets, folder / "compare.pdf", "Comparison: " + "; ".join(side.name for side in comparison.sides))
    for number, drawing in enumerate(sheets[:num_drawings], 1):
        stem = "compare" if number == 1 else f"compare-{number}"
        drawing.save_svg(folder / f"{stem}.svg")
        drawing.save_png(folder / f"{stem}.png")


def comparison_sheets(comparison: Comparison) -> tuple[tuple[Sheet, ...], int]:
    """Return the finished sheets, drawings first, and how many of them are drawings."""
    book = _Pairs(comparison)
    for other in range(1, len(comparison.sides)):
        book.draw_panels(other)
    num_drawings = len(book.sheets)
    for table in tables(comparison):
        if table.rows:
            book.add(table)
    book.finish()
    return tuple(book.sheets), num_drawings


class _Pairs:
    """The sheets of a comparison in the making."""

    def __init__(self, comparison: Comparison) -> None:
        self.comparison = comparison
        self.sheets: list[Sheet] = []
        self.titles: list[str] = []
        self.used_mm = 0.0
        names = Foot(30.0, ((0.34, self._names), (0.3, _meanings), (0.36, _cautions)))
        self.foot = names

    def draw_panels(self, other: int) -> None:
        """Draw every panel that the first plan or another one uses, a stretch of bays of both on each sheet."""
        pair = (0, other)
        indices = [self.comparison.sides[side].content.index for side in pair]
        panels = dict.fromkeys(panel for index in indices for panel in index.panels)
        for panel in panels:
            lines = [stretches(index, panel, MOST_BAYS_IN_LINE) for index in indices]
            for first, second in zip_longest(*lines, fillvalue=()):
                sheet = MarkedSheet(A3_MM)
                self.sheets.append(sheet)
                letters = " and ".join(self.comparison.letters[side] for side in pair)
                self.titles.append(f"panel {self.comparison.sides[0].content.place_name(panel)}: {letters}")
                body = body_of(sheet, self.foot)
                for side, bays, box in zip(pair, (first, second), _boxes(body, first, second), strict=True):
                    self._draw(sheet, side, other, panel, bays, box)

    def _draw(self, sheet: MarkedSheet, side: int, other: int, panel: str, bays: Sequence[int], box: Box) -> None:
        found = self.comparison.sides[side]
        content = found.content
        name = f"{self.comparison.letters[side]}  {legible(found.name)}"
        heading = Box(box.x, box.y, box.w, HEADING_MM - 1.5)
        if not bays:
            is_used = any(item.panel == panel for item in content.index.carriers)
            nothing = f"no more bays at panel {panel}" if is_used else f"no panel {panel}"
            sheet.text(heading, f"{name}: {legible(nothing)}", size=10, bold=True)
            return
        span = f"bays {bays[0]} to {bays[-1]}" if len(bays) > 1 else f"bay {bays[0]}"
        sheet.text(heading, f"{name}: panel {content.place_name(panel)}, front, {span}", size=10, bold=True)
        sheet.marks = {key: mark.text for key, mark in marks_of(self.comparison, side, other).items()}
        num_carriers = sum(
            item.panel == panel and any(bay in item.bays for bay in bays) for item in content.index.carriers
        )
        frames = num_carriers * 2 * FRAME_MM + (num_carriers - 1) * CARRIER_GAP_MM
        bay_mm = min(BAY_MM, (box.w - frames) / len(bays))
        area = arrange(content.index, panel, bays, bay_mm, box.h - HEADING_MM)
        Face(sheet, content, View(area, "front", box.x, box.y + HEADING_MM)).draw()
        sheet.marks = {}

    def add(self, table: Table) -> None:
        """Put a table below what is there, and on as many sheets as it takes."""
        legible_rows = tuple(tuple(legible(cell) for cell in row) for row in table.rows)
        listing = Table(table.title, table.columns, legible_rows, table.right)
        width = A3_MM[0] - 2 * MARGIN_MM
        for parts in parts_of(listing, width, self._room):
            body = body_of(self.sheets[-1], self.foot)
            room = Box(body.x, body.y + self.used_mm, width, body.h - self.used_mm)
            self.used_mm += draw_parts(self.sheets[-1], parts, room) + _GAP_MM

    def _room(self, least_mm: float) -> float:
        body = body_of(self.sheets[-1], self.foot) if self.sheets else Box(0, 0, 0, 0)
        left = body.h - self.used_mm if self.used_mm else 0.0
        if left < max(30.0, least_mm):
            self.sheets.append(Sheet(A3_MM))
            self.titles.append("tables")
            self.used_mm = 0.0
            left = body_of(self.sheets[-1], self.foot).h
        return left

    def finish(self) -> None:
        """Draw the foot of every sheet."""
        content = self.comparison.sides[0].content
        for number, (sheet, title) in enumerate(zip(self.sheets, self.titles, strict=True), 1):
            self.foot.draw(sheet, content, SheetTitle(title, "compare", number, len(self.sheets)))

    def _names(self, sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
        text = f"{title.text}; {title.document}, sheet {title.number} of {title.of}"
        sheet.text(Box(box.x, box.y, box.w, 4.4), text, size=8.5, smallest=5.5, bold=True)
        height = (box.h - 5) / len(self.comparison.sides)
        for number, (letter, side) in enumerate(zip(self.comparison.letters, self.comparison.sides, strict=True)):
            at = Box(box.x, box.y + 5 + number * height, box.w, min(height, 9.0))
            sheet.text(at, _side_text(letter, side), size=7, smallest=4.5, max_lines=2)


def _boxes(body: Box, first: Sequence[int], second: Sequence[int]) -> tuple[Box, Box]:
    """Return the room for each of two stretches: beside each other where both are short, else one above the other."""
    if max(len(first), len(second)) <= MOST_BESIDE:
        left = Box(body.x, body.y, (body.w - _GAP_MM) / 2, min(body.h, BESIDE_MM))
        return left, left.moved(left.w + _GAP_MM, 0)
    upper = Box(body.x, body.y, body.w, (body.h - _GAP_MM) / 2)
    return upper, upper.moved(0, upper.h + _GAP_MM)


def _side_text(letter: str, side: Side) -> str:
    return legible(f"{letter}  {side.name}: {side.content.vehicle}, {side.content.issue_text}")


def _meanings(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    height = box.h / len(MEANINGS)
    for number, (letter, meaning) in enumerate(MEANINGS.items()):
        at = Box(box.x, box.y + number * height, box.w, height)
        frame = Box(at.x, at.y + 0.8, 9, height - 1.8)
        sheet.rectangle(frame, weight=1.6, dashed=letter == "C")
        sheet.rectangle(Box(frame.x, frame.y, frame.w, 3.6), fill=INK, edge=INK, weight=0.4)
        sheet.text(Box(frame.x, frame.y, frame.w, 3.6), f"{letter}7", size=6.5, bold=True, colour=PAPER, align="centre")
        text = Box(at.x + 11, at.y, at.w - 11, at.h)
        sheet.text(text, f"{meaning}{'; with its number in the table' if letter == 'M' else ''}", size=6.5, max_lines=2)


def _cautions(sheet: Sheet, content: Content, box: Box, title: SheetTitle) -> None:
    sheet.text(Box(box.x, box.y, box.w, 3.6), "Cautions; not to scale, places are panel/bay/row/way", size=7, bold=True)
    sheet.text(
        Box(box.x, box.y + 4, box.w, box.h - 4), cautions_line(), size=6.5, max_lines=20, middle=False, colour=SOFT
    )
