"""
Draw one side of a stretch of a panel: carriers and bays, supply bars with their feeds and cuts, empty places.

Comes in as a View of an arrangement and the Content of a plan; goes out as marks on a Sheet. Each mark is explained in
``docs/drawing-conventions.md``. Ways and sockets have rooms of their own
(``ways.py``, ``sockets.py``).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from allocator.address import ROW_LETTERS, Place, SocketPlace
from allocator.explaining.accounts.account import counted
from allocator.outputs.arrangement import INLET_MM, CarrierArea, ModuleArea, RowArea, View
from allocator.outputs.content import Content
from allocator.outputs.fonts import drawable
from allocator.outputs.marks import INK, PALE, PAPER, SOFT, WASH
from allocator.outputs.paper import Box, Paper
from allocator.outputs.sockets import draw_socket
from allocator.outputs.ways import draw_way
from allocator.plan.index import EntryAt, ModuleAt
from allocator.plan.wiring import INLET

CODED_BAR_MM = 26.0
"""A bar at least this long has the code of its feed written into it too."""


class Face:
    """Draws one view."""

    def __init__(self, sheet: Paper, content: Content, view: View) -> None:
        self.sheet, self.content, self.view = sheet, content, view
        self.index = content.index

    @property
    def is_front(self) -> bool:
        """Whether this is the front, not the wiring side."""
        return self.view.side == "front"

    def draw(self) -> None:
        """Draw everything of the view."""
        for carrier in self.view.area.carriers:
            self._carrier(carrier)
        for bay, head in self.view.area.bay_heads:
            self.sheet.text(self.view.at(head), f"bay {bay}", size=7, colour=SOFT, align="centre")
        for blank in self.view.area.blanks:
            box = self.view.at(blank)
            self.sheet.rectangle(box, edge=PALE, dashed=True, radius=0.8)
            self.sheet.text(box.inset(2), "empty bay", size=7, colour=SOFT, align="centre")
        for module in self.view.area.modules:
            self._module(module)

    def _carrier(self, carrier: CarrierArea) -> None:
        box = self.view.at(carrier.box)
        self.sheet.rectangle(box, fill=WASH, edge=INK, weight=0.9, radius=1.6)
        mirrored = not self.is_front
        for is_open, x in ((carrier.open_left, box.x), (carrier.open_right, box.right)):
            if is_open:
                x = box.x + box.right - x if mirrored else x
                self.sheet.line([(x, box.y + 1.8), (x, box.bottom - 1.8)], colour=PAPER, weight=2.0)
                self.sheet.line([(x, box.y + 1.8), (x, box.bottom - 1.8)], dashed=True, weight=0.9)
        for x in (box.x + 3, box.right - 3):
            for y in (box.bottom - 2,):
                self.sheet.rectangle(Box(x - 0.9, y - 0.9, 1.8, 1.8), edge=SOFT, weight=0.5, radius=0.9)
        bays = f"bays {carrier.at.bays[0]} to {carrier.at.bays[-1]}" if carrier.at.carrier.bays > 1 else "one bay"
        text = f"{drawable(carrier.at.carrier.label, carrier.at.carrier.id)} ({bays})"
        self.sheet.text(self.view.at(carrier.foot), text, size=6.5, colour=SOFT, align="centre")

    def _module(self, area: ModuleArea) -> None:
        box = self.view.at(area.box)
        name = f"{area.at.panel}/{area.at.bay}"
        self.sheet.rectangle(box, fill=PAPER, weight=0.7, radius=0.8, name=self._id("module", name))
        label = drawable(area.at.module.label, area.at.module.id)
        texts = (*self._with_load(area.at, label), label)
        self.sheet.first_text(self.view.at(area.head), texts, size=7.5, bold=True, align="centre")
        for row in area.rows:
            self._row(area.at, row)
        for number, socket in enumerate(area.sockets, 1):
            place = SocketPlace(area.at.panel, area.at.bay, number)
            box = self.view.at(socket)
            with self.sheet.part("socket", str(place), box):
                draw_socket(self.sheet, self.content, box, place, front=self.is_front)

    def _with_load(self, at: ModuleAt, label: str) -> Sequence[str]:
        """Say in front what a module carries at most, of what it may carry in all."""
        amounts = self.content.module_amounts(at) if self.is_front else None
        if amounts is None:
            return ()
        peak, limit = (self.content.amperes(amount) for amount in amounts)
        return (f"{label}: {peak} of {limit} in all", f"{label}: {peak} of {limit}")

    def _id(self, kind: str, address: str) -> str:
        return f"{'front' if self.is_front else 'wiring'} {kind} {address}"

    def _row(self, at: ModuleAt, row: RowArea) -> None:
        spec = at.module.rows[row.number]
        letter = self.view.at(row.letter)
        self.sheet.text(
            Box(letter.x, letter.y, letter.w, 4), ROW_LETTERS[row.number], size=8, bold=True, align="centre"
        )
        bar = self.view.at(row.bar)
        y = bar.y + bar.h / 2
        self.sheet.line([(bar.x, y), (bar.right, y)], colour=PALE, weight=0.5, dashed=True)
        entries = [entry for entry in self.index.entries if entry.at == at and self._covers(entry, row.number)]
        for entry in entries:
            whole = self._over_ways(row, entry)
            reach = Box(whole.x, whole.y - INLET_MM, whole.w, whole.h + INLET_MM)
            with self.sheet.part("piece", entry.piece.at, self.view.at(reach)):
                self._entry(at, row, entry)
        self._cuts(row, entries)
        for way, cell in enumerate(row.cells, 1):
            place, box = Place(at.panel, at.bay, row.number, way), self.view.at(cell)
            with self.sheet.part("way", str(place), box):
                draw_way(self.sheet, self.content, place, spec.fuse_format, box, front=self.is_front)

    def _covers(self, entry: EntryAt, row: int) -> bool:
        on_stud = entry.piece.kind == "stud" and entry.at.module.rows[row].bus == "stud"
        return entry.row == row or on_stud

    def _over_ways(self, row: RowArea, entry: EntryAt) -> Box:
        """Return the room for a bar over the ways of an entry; a stud's bus runs the whole row."""
        ways = entry.ways or tuple(range(1, len(row.cells) + 1))
        first, last = row.cells[ways[0] - 1], row.cells[ways[-1] - 1]
        return Box(first.x, row.bar.y, last.right - first.x, row.bar.h)

    def _span(self, row: RowArea, entry: EntryAt) -> Box:
        """The bar of an entry; that of a single way is shorter."""
        box = self._over_ways(row, entry)
        return self.view.at(box.inset(box.w * 0.22, 0) if entry.piece.kind == "single" else box)

    def _entry(self, at: ModuleAt, row: RowArea, entry: EntryAt) -> None:
        mark = self.content.marks[entry.piece.feed]
        bar = self._span(row, entry)
        self.sheet.feed_bar(bar, mark, weight=0.7, name=self._id("entry", f"{entry.piece.at} {row.number}"))
        self._code(bar, mark.code)
        if entry.piece.kind == "stud":
            bolt = Box(bar.x if self.is_front else bar.right - 3.2, bar.y, 3.2, bar.h)
            self.sheet.rectangle(bolt.inset(0.2), fill=PAPER, weight=0.9, radius=1.3)
            if row.number != min(n for n, spec in enumerate(at.module.rows) if spec.bus == "stud"):
                return
        self._inlet(row, entry, bar)

    def _code(self, bar: Box, code: str) -> None:
        """Write the code of the feed into a long bar as well, at the end where no tail enters."""
        if bar.w >= CODED_BAR_MM:
            at = Box(bar.right - 8.5 if self.is_front else bar.x + 1.5, bar.y + 0.35, 7, bar.h - 0.7)
            self.sheet.rectangle(at, fill=PAPER, weight=0.4, radius=0.5)
            self.sheet.text(at, code, size=6.5, bold=True, align="centre")

    def _inlet(self, row: RowArea, entry: EntryAt, bar: Box) -> None:
        """Draw the feed tail coming in at the lowest way: its feed and load in front, its number and size behind."""
        zone = self.view.at(row.inlets)
        ways = entry.ways or tuple(range(1, len(row.cells) + 1))
        cells = [self.view.at(row.cells[way - 1]) for way in (ways[0], ways[-1])]
        room = Box(min(cell.x for cell in cells), zone.y + 0.3, 0, zone.h - 0.5)
        width = max(cell.right for cell in cells) - room.x
        tip = room.x + 1.1 if self.is_front else room.x + width - 1.1
        self.sheet.line([(tip, room.y), (tip, bar.y - 1.6)], weight=1.1)
        self.sheet.polygon([(tip - 1.0, bar.y - 1.8), (tip + 1.0, bar.y - 1.8), (tip, bar.y - 0.1)])
        text = Box(room.x + (2.4 if self.is_front else 0), room.y, width - 2.4, room.h)
        if self.is_front:
            self.sheet.first_text(text, self._front_texts(entry), size=7, bold=True, max_lines=2)
        else:
            self.sheet.first_text(text, self._back_texts(entry), size=7, align="right", max_lines=2)

    def _front_texts(self, entry: EntryAt) -> Sequence[str]:
        code = self.content.marks[entry.piece.feed].code
        name = f"{code} {self.content.feed_name(entry.piece.feed)}"
        peak, limit = (self.content.amperes(amount) for amount in self.content.entry_amounts(entry))
        ways = counted(len(entry.ways), "way")
        what = "solid bus" if entry.piece.kind == "stud" else ways
        in_line = self._in_tail(entry)
        fuse = f", {in_line} in its tail" if in_line else ""
        amounts = f"{peak} of {limit}"
        whole = (
            f"{name}: {what}, {amounts}{fuse}", f"{code}: {what}, {amounts}{fuse}", f"{code}: {amounts}{fuse}",
            f"{name}: {what}{fuse}",
        )  # fmt: skip
        brief = f"{code}{fuse.removesuffix(' in its tail')}", f"{code} {_amperes(in_line)}".strip()
        short = (f"{name}{fuse}", f"{code}{fuse}", *brief)
        return short if entry.piece.kind == "single" else (*whole, *short)

    def _in_tail(self, entry: EntryAt) -> str:
        """Return rating and type of the in-line fuse of an entry's tail; nothing where it has none."""
        runs = self.content.runs_at.get((entry.piece.at, INLET), ())
        return ", ".join(filter(None, map(self.content.inline_text, runs)))

    def _back_texts(self, entry: EntryAt) -> Sequence[str]:
        code = self.content.marks[entry.piece.feed].code
        runs = self.content.runs_at.get((entry.piece.at, INLET), ())
        numbers = " ".join(run.number for run in runs)
        sized = " ".join(
            f"{run.number} {self.content.area_text(run.wire)} {self.content.look_by_run[run.number].code}"
            for run in runs
        )
        in_line = self._in_tail(entry)
        fuse = f", {in_line} in line" if in_line else ""
        letters = " ".join(self.content.letter_by_terminal.get(run.end.terminal, "") for run in runs)
        terminals = ", ".join(self.content.terminal_text(run.end.terminal) for run in runs)
        return (
            f"{sized} {code}{fuse}, {terminals}", f"{sized} {code}{fuse}, {letters}", f"{sized}{fuse}, {letters}",
            f"{numbers} {code}{fuse}, {letters}", f"{numbers} {letters}{fuse.removesuffix(' in line')}",
            f"{numbers}{fuse}", f"{numbers} {_amperes(in_line) or code}", code,
        )  # fmt: skip

    def _cuts(self, row: RowArea, entries: list[EntryAt]) -> None:
        """Mark where the strip is cut: between two pieces that lie side by side."""
        strips = sorted((entry for entry in entries if entry.piece.kind == "strip"), key=lambda entry: entry.ways)
        for left, right in itertools.pairwise(strips):
            if left.ways[-1] + 1 == right.ways[0]:
                gap = self.view.at(Box(row.cells[left.ways[-1] - 1].right, row.bar.y, 0.5, row.bar.h))
                x = gap.x + gap.w / 2
                self.sheet.line([(x, gap.y - 0.3), (x, gap.bottom + 0.3)], colour=PAPER, weight=3.6)
                self.sheet.line([(x, gap.y - 0.9), (x, gap.bottom + 0.5)], weight=1.2)


def _amperes(in_line: str) -> str:
    """Return the rating of an in-line fuse without its type, for places with little room."""
    return in_line.partition(" ")[0]
