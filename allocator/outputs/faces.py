"""
Draw one side of a stretch of a panel: carriers and bays, supply bars with their feeds and cuts, ways, empty places.

Comes in as a View of an arrangement and the Content of a plan; goes out as marks on a Sheet. Each mark is explained in
``docs/drawing-conventions.md``. Sockets have a room of their own (``sockets.py``).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from allocator.outputs.arrangement import CarrierArea, ModuleArea, RowArea, View
from allocator.outputs.content import Content
from allocator.outputs.lettering import clean, drawable, fit
from allocator.outputs.marks import INK, PALE, PAPER, SOFT, WASH, fuse_colour
from allocator.outputs.sheet import Align, Box, Sheet
from allocator.outputs.sockets import draw_socket
from allocator.outputs.wiring import INLET, OUTPUT
from allocator.plan.address import ROW_LETTERS, Place, SocketPlace
from allocator.plan.index import EntryAt, ModuleAt, NeedAt

NUMBER_MM, FUSE_MM, CHIP_MM = 3.4, 9.0, 3.4
SMALLEST_PT, SHORT_PT = 5.0, 4.0
LEVEL_TEXT_MM = 18.0
"""A way at least this wide has its label written level."""


class Face:
    """Draws one view."""

    def __init__(self, sheet: Sheet, content: Content, view: View) -> None:
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
            self.sheet.text(self.view.at(head), f"bay {bay}", size=6.5, colour=SOFT, align="centre")
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
        self.sheet.text(self.view.at(carrier.foot), text, size=6, colour=SOFT, align="centre")

    def _module(self, area: ModuleArea) -> None:
        box = self.view.at(area.box)
        name = f"{area.at.panel}/{area.at.bay}"
        self.sheet.rectangle(box, fill=PAPER, weight=0.7, radius=0.8, name=self._id("module", name))
        label = drawable(area.at.module.label, area.at.module.id)
        self.sheet.text(self.view.at(area.head), label, size=6.5, bold=True, align="centre")
        for row in area.rows:
            self._row(area.at, row)
        for number, socket in enumerate(area.sockets, 1):
            place = SocketPlace(area.at.panel, area.at.bay, number)
            draw_socket(self.sheet, self.content, self.view.at(socket), place, front=self.is_front)

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
            self._entry(at, row, entry)
        self._cuts(row, entries)
        for way, cell in enumerate(row.cells, 1):
            self._way(Place(at.panel, at.bay, row.number, way), spec.fuse_format, self.view.at(cell))

    def _covers(self, entry: EntryAt, row: int) -> bool:
        on_stud = entry.piece.kind == "stud" and entry.at.module.rows[row].bus == "stud"
        return entry.row == row or on_stud

    def _span(self, row: RowArea, entry: EntryAt) -> Box:
        """The bar over the ways of an entry; a stud's bus runs the whole row, a single way's bar is shorter."""
        ways = entry.ways or tuple(range(1, len(row.cells) + 1))
        first, last = row.cells[ways[0] - 1], row.cells[ways[-1] - 1]
        box = Box(first.x, row.bar.y, last.right - first.x, row.bar.h)
        return self.view.at(box.inset(box.w * 0.22, 0) if entry.piece.kind == "single" else box)

    def _entry(self, at: ModuleAt, row: RowArea, entry: EntryAt) -> None:
        mark = self.content.marks[entry.piece.feed]
        bar = self._span(row, entry)
        self.sheet.rectangle(
            bar,
            fill=mark.colour,
            pattern=mark.pattern,
            weight=0.7,
            name=self._id("entry", f"{entry.piece.at} {row.number}"),
        )
        if entry.piece.kind == "stud":
            bolt = Box(bar.x if self.is_front else bar.right - 3.2, bar.y, 3.2, bar.h)
            self.sheet.rectangle(bolt.inset(0.2), fill=PAPER, weight=0.9, radius=1.3)
            if row.number != min(n for n, spec in enumerate(at.module.rows) if spec.bus == "stud"):
                return
        self._inlet(row, entry, bar)

    def _inlet(self, row: RowArea, entry: EntryAt, bar: Box) -> None:
        """Draw the feed tail coming in at the lowest way, with the feed's code; on the wiring side with its number."""
        zone = self.view.at(row.inlets)
        ways = entry.ways or tuple(range(1, len(row.cells) + 1))
        cells = [self.view.at(row.cells[way - 1]) for way in (ways[0], ways[-1])]
        room = Box(min(cell.x for cell in cells), zone.y + 0.3, 0, zone.h - 0.5)
        width = max(cell.right for cell in cells) - room.x
        tip = room.x + 1.1 if self.is_front else room.x + width - 1.1
        self.sheet.line([(tip, room.y), (tip, bar.y - 1.6)], weight=1.1)
        self.sheet.polygon([(tip - 1.0, bar.y - 1.8), (tip + 1.0, bar.y - 1.8), (tip, bar.y - 0.1)])
        text = Box(room.x + (2.4 if self.is_front else 0), room.y, width - 2.4, room.h)
        mark = self.content.marks[entry.piece.feed]
        name = self.content.feed_name(entry.piece.feed)
        long = f"{mark.code} {name}" if self.is_front else f"{self._tail_text(entry, with_size=True)} {mark.code}"
        short = mark.code if self.is_front else f"{self._tail_text(entry, with_size=False)} {mark.code}"
        self._first_that_fits(text, (long, short, mark.code), align="left" if self.is_front else "right", lines=2)

    def _tail_text(self, entry: EntryAt, *, with_size: bool) -> str:
        runs = self.content.runs_at.get((entry.piece.at, INLET), ())
        sizes = (f" {self.content.area_text(run.wire)}" if with_size else "" for run in runs)
        return " ".join(f"{run.number}{size}" for run, size in zip(runs, sizes, strict=True))

    def _first_that_fits(self, box: Box, texts: Sequence[str], *, align: Align, lines: int = 1) -> None:
        """Write the first text that fits without a torn word, else the last one, shortened."""
        bold = self.is_front or lines == 1
        for text in texts:
            fitted = fit(clean(text), box.w, box.h, largest_pt=6.5, smallest_pt=SMALLEST_PT, bold=bold, max_lines=lines)
            if not fitted.torn or text == texts[-1]:
                smallest = SMALLEST_PT if text != texts[-1] else SHORT_PT
                self.sheet.text(box, text, size=6.5, smallest=smallest, bold=bold, align=align, max_lines=lines)
                return

    def _cuts(self, row: RowArea, entries: list[EntryAt]) -> None:
        """Mark where the strip is cut: between two pieces that lie side by side."""
        strips = sorted((entry for entry in entries if entry.piece.kind == "strip"), key=lambda entry: entry.ways)
        for left, right in itertools.pairwise(strips):
            if left.ways[-1] + 1 == right.ways[0]:
                gap = self.view.at(Box(row.cells[left.ways[-1] - 1].right, row.bar.y, 0.5, row.bar.h))
                x = gap.x + gap.w / 2
                self.sheet.line([(x, gap.y - 0.3), (x, gap.bottom + 0.3)], colour=PAPER, weight=3.6)
                self.sheet.line([(x, gap.y - 0.9), (x, gap.bottom + 0.5)], weight=1.2)

    def _way(self, place: Place, fuse_format: str, cell: Box) -> None:
        used = self.index.way_by_place.get(place)
        number = Box(cell.x, cell.y + 0.3, cell.w, NUMBER_MM)
        if used is None:
            self.sheet.rectangle(cell, edge=PALE, weight=0.5, dashed=True, name=self._id("way", str(place)))
            self.sheet.text(number, str(place.first), size=6.5, colour=SOFT, align="centre")
            self.sheet.text(
                Box(cell.x, number.bottom, cell.w, 4), fuse_format, size=6, smallest=4, colour=SOFT, align="centre"
            )
            return
        item = self.index.need_by_id[used.need]
        is_spare = used.kind == "spare"
        self.sheet.rectangle(cell, fill=PAPER, weight=0.6, dashed=is_spare, name=self._id("way", str(place)))
        self.sheet.text(number, str(place.first), size=7, bold=True, align="centre")
        below = Box(cell.x, number.bottom, cell.w, cell.bottom - number.bottom)
        if self.is_front:
            self._front_of_way(item, below)
        else:
            self._back_of_way(item, below)

    def _front_of_way(self, item: NeedAt, box: Box) -> None:
        option = item.option
        fuse = Box(box.x + max(0.5, (box.w - 8) / 2), box.y, min(box.w - 1.0, 8.0), FUSE_MM)
        colour = fuse_colour(str(option.fuse_format), option.fuse_rating_a) if option.fuse else None
        self.sheet.rectangle(fuse, fill=PAPER, weight=0.6, radius=0.5, dashed=option.fuse is None)
        if colour is not None:
            self.sheet.rectangle(Box(fuse.x + 0.5, fuse.y + 0.5, fuse.w - 1, 1.9), fill=colour.colour, weight=0.3)
        rating = f"{option.fuse_rating_a:g}" if option.fuse else "–"
        self.sheet.text(
            Box(fuse.x + 0.35, fuse.y + 2.6, fuse.w - 0.7, 3.4), rating, size=8, smallest=4.5, bold=True, align="centre"
        )
        letter = Box(fuse.x, fuse.y + 6.0, fuse.w, 2.6)
        self.sheet.text(letter, str(option.fuse_format), size=5.5, smallest=4, colour=SOFT, align="centre")
        chip = Box(box.x + 0.2, box.bottom - CHIP_MM, box.w - 0.4, CHIP_MM - 0.3)
        label = Box(box.x + 0.5, fuse.bottom + 0.7, box.w - 1.0, box.bottom - fuse.bottom - 1.4)
        if item.socket is not None:
            label = Box(label.x, label.y, label.w, label.h - CHIP_MM)
            self.sheet.text(chip, self._relay_text(item), size=6, smallest=4, bold=True, align="centre")
        spare = item.need.kind == "spare"
        self._label(label, self.content.label(item.need), soft=spare)

    def _relay_text(self, item: NeedAt) -> str:
        socket = item.socket
        if socket is None:
            return ""
        return f"S{socket.socket}" if item.jumper == "short" else f"{socket.bay}/S{socket.socket}"

    def _back_of_way(self, item: NeedAt, box: Box) -> None:
        """Draw the output cavity: wire number and size, and where the wire goes."""
        runs = sorted(self.content.runs_at.get((str(item.way), OUTPUT), ()), key=lambda run: run.need != item.need.id)
        slot = Box(box.x + max(0.6, (box.w - 4) / 2), box.y + 0.2, min(box.w - 1.2, 4.0), 1.6)
        self.sheet.rectangle(slot, fill=INK if runs else PAPER, weight=0.6)
        if not runs:
            self._label(
                Box(box.x + 0.5, slot.bottom + 1, box.w - 1, box.bottom - slot.bottom - 2), "spare, no wire", soft=True
            )
            return
        numbers = " ".join(run.number for run in runs), f"{runs[0].number} +{len(runs) - 1}", runs[0].number
        at = Box(box.x + 0.2, slot.bottom + 0.3, box.w - 0.4, 3.2)
        self._first_that_fits(at, numbers[: 2 if len(runs) > 1 else 1], align="centre")
        area = self.content.area_text(runs[0].wire).removesuffix(" mm²").replace(" AWG", " ga")
        self.sheet.text(Box(box.x + 0.2, slot.bottom + 3.5, box.w - 0.4, 2.8), area, size=6, smallest=4, align="centre")
        label = Box(box.x + 0.5, slot.bottom + 6.6, box.w - 1, box.bottom - slot.bottom - 7.2)
        name = self.content.label(item.need)
        goes_to = f"to {self._relay_text(item)}: " if item.socket is not None else ""
        self._label(label, goes_to + name)

    def _label(self, box: Box, text: str, *, soft: bool = False) -> None:
        upright = box.w < LEVEL_TEXT_MM
        self.sheet.text(
            box,
            text,
            size=7 if upright else 8,
            smallest=SMALLEST_PT,
            upright=upright,
            align="left" if upright else "centre",
            middle=upright,
            max_lines=4,
            colour=SOFT if soft else INK,
        )
