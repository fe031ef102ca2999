"""
The files of a change sheet: text, list, and paper whose drawing of the new panel has the changes marked.

Comes in as a ``ChangeSheet`` and a folder; goes out as files there.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from allocator.outputs.book import Book
from allocator.outputs.changes.marks import MEANINGS, marks_of
from allocator.outputs.changes.needs import NOTE, TITLE, need_rows
from allocator.outputs.changes.text import changes_text, count_rows
from allocator.outputs.changes.words import HEADINGS, ISOLATE, ChangeSheet
from allocator.outputs.fonts import clean, legible
from allocator.outputs.layout import panels_book
from allocator.outputs.lists import remarks_of
from allocator.outputs.marked_sheet import MarkedSheet
from allocator.outputs.records import Records, columns_of, records_csv
from allocator.outputs.schedule import cautions_table
from allocator.outputs.sheet import Sheet, save_pdf
from allocator.outputs.tables import Table
from allocator.units import MM_PER_M

CHANGE_FILES = ("changes.csv", "changes.pdf", "changes.png", "changes.svg", "changes.txt")
"""Of a drawing with more sheets the second is ``changes-2.svg``, ``changes-2.png`` and so on."""
COLUMNS = columns_of(
    "step", "do", "what", "circuit", "feed", "from", "to", "part", "was", "wire", "length_m", length_m=3
)


def draw_changes(sheet: ChangeSheet, folder: Path) -> list[Path]:
    """Write text, list and drawings of a revision into a folder; return the files."""
    texts = {"changes.txt": changes_text(sheet), "changes.csv": changes_csv(sheet)}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    book = _book(sheet)
    num_drawings = len(book.sheets)
    _add_tables(book, sheet)
    sheets = book.finish()
    title = f"{sheet.content.vehicle}, {sheet.content.issue_text}: changes"
    save_pdf(sheets, folder / "changes.pdf", title)
    for number, drawing in enumerate(sheets[:num_drawings], 1):
        stem = "changes" if number == 1 else f"changes-{number}"
        drawing.save_svg(folder / f"{stem}.svg")
        drawing.save_png(folder / f"{stem}.png")
    return sorted(path for path in folder.iterdir() if path.stem.split("-")[0] == "changes")


def change_sheets(sheet: ChangeSheet) -> tuple[Sheet, ...]:
    """Return the finished sheets: the panels with the changes marked, then the tables."""
    book = _book(sheet)
    _add_tables(book, sheet)
    return book.finish()


def _book(sheet: ChangeSheet) -> Book:
    marks = marks_of(sheet.changes)
    return panels_book(sheet.content, "changes", lambda size_mm: MarkedSheet(size_mm, marks))


def _add_tables(book: Book, sheet: ChangeSheet) -> None:
    marks = tuple((letter, meaning) for letter, meaning in MEANINGS.items())
    book.add(Table("Marks on ways, sockets, strips and modules", ("mark", "meaning"), marks))
    least = tuple(tuple(legible(cell) for cell in row) for row in sheet.change_rows())
    columns = ("least changes, in this order", "number", "how it is known", "what is counted")
    book.add(Table("How much is changed", columns, tuple((a, b, c, d) for a, b, c, d in least), right=("number",)))
    goals = tuple((legible(a), legible(b), legible(c), legible(d)) for a, b, c, d in sheet.goal_rows())
    numbers = ("as built", "revised", "afresh")
    book.add(Table(legible(sheet.fresh_text()), ("goal", *numbers), goals, right=numbers))
    kinds = count_rows(sheet)
    if kinds:
        book.add(Table("In all", ("do", "what"), tuple((head, legible(text)) for head, text in kinds)))
    needs = tuple((do, legible(what), "") for do, what in need_rows(sheet))
    if needs:
        book.add(Table(f"{TITLE}. {NOTE}", ("do", "what", "done"), needs, blank=("done",)))
    steps = tuple(
        (str(number), HEADINGS[step.doing], legible(sheet.sentence(step)), "") for number, step in sheet.numbered
    )
    if steps:
        book.add(
            Table(f"Steps. {ISOLATE}", ("step", "do", "what, from where to where", "done"), steps, blank=("done",))
        )
    book.add(cautions_table(sheet.content))


def changes_csv(sheet: ChangeSheet) -> str:
    """Return every step as a list."""
    rows = tuple(
        (
            number, step.doing, step.kind, step.need, step.feed, clean(step.old), clean(step.new), step.part, step.was,
            step.wire, Fraction(step.length_mm, MM_PER_M) if step.length_mm else None,
        )
        for number, step in sheet.numbered
    )  # fmt: skip
    return records_csv(Records("changes", COLUMNS, rows), remarks_of(sheet.content))
