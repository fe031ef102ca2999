"""
What lid legends and the cards beside them share: letters to be read at arm's length, a fuse as a box, a sheet's ruler.

Comes in as a Sheet or Book; goes out as marks there.
"""

from __future__ import annotations

from allocator.outputs.book import Book
from allocator.outputs.fonts import MM_PER_PT
from allocator.outputs.marks import SOFT
from allocator.outputs.paper import Box
from allocator.outputs.sheet import Sheet

CAPITAL_EM = 0.729
"""Height of a capital letter of the base font at size 1."""
READ_AT_MM, LEAST_ANGLE = 600.0, 0.00465
"""
Arm's length (common practice), and the angle of the smallest letter, rad: 16 minutes of arc; ISO 9241-3 asks for that
at least and prefers 20 to 22.
"""
SIZE_PT, LEAST_SIZE_PT = 12.0, 11.0
"""Type of ways and sockets: a longer label takes two lines or ends in an ellipsis before it gets any smaller."""
BAND_MM, LINE_GAP_MM, FUSE_MM = 1.3, 0.5, 6.0
LOWERED_MM = 0.45
"""Type stands so much lower in its line: most letters and all figures have more room below them than above."""
GAP_MM, RULER_MM = 5.0, 100.0
WARNING = "Never fit a larger fuse: find the cause."


def letter_mm(size_pt: float) -> float:
    """Return the height of a capital letter at a size of type, mm."""
    return size_pt * MM_PER_PT * CAPITAL_EM


def least_letter_mm() -> float:
    """Return the height of a capital letter that can be read at arm's length, mm."""
    return READ_AT_MM * LEAST_ANGLE


def draw_fuse(sheet: Sheet, box: Box, rating_a: float, colour: str | None) -> None:
    """Draw a fuse as a small box: its body colour as a band at the left, its amperes in it."""
    box = Box(box.x, box.y + max(0.0, box.h - FUSE_MM) / 2, box.w, min(box.h, FUSE_MM))
    sheet.rectangle(box, weight=0.5, radius=0.4)
    if colour is not None:
        sheet.rectangle(Box(box.x, box.y, BAND_MM, box.h), fill=colour, weight=0.3)
    sheet.text(
        Box(box.x + BAND_MM, box.y + LOWERED_MM - LINE_GAP_MM / 2, box.w - BAND_MM, box.h),
        f"{rating_a:g}",
        size=SIZE_PT,
        bold=True,
        align="centre",
    )


def begin_sheet(book: Book) -> None:
    """Begin a sheet to cut from, with a line that shows whether it was printed at 100 %."""
    body = book.new("lid legends at real size")
    _ruler(book.sheets[-1], Box(body.x, body.y, body.w, 4))
    book.used_mm = GAP_MM


def _ruler(sheet: Sheet, box: Box) -> None:
    y = box.y + box.h / 2
    sheet.line([(box.x, y), (box.x + RULER_MM, y)], weight=0.8)
    for x in (box.x, box.x + RULER_MM):
        sheet.line([(x, y - 1.4), (x, y + 1.4)], weight=0.8)
    room = Box(box.x + RULER_MM + 3, box.y, box.w - RULER_MM - 3, box.h)
    letters = (
        f"Capitals of ways and sockets are {letter_mm(LEAST_SIZE_PT):.1f} mm high or more, to be read at "
        f"{READ_AT_MM / 10:g} cm; labels that end in … are in full in layout.pdf."
    )
    sheet.text(room, f"Print at 100 %: this line is {RULER_MM:g} mm long. {letters}", size=7, colour=SOFT)
