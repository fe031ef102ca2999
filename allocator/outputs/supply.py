"""
The supply drawing: every feed from its source over cable, distribution stud and tails to where it enters the panel.

Comes in as the Content of a plan; goes out as a Listing with one row for each feed and panel, and its marks on a Sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from allocator.address import ROW_LETTERS
from allocator.outputs.content import Content
from allocator.outputs.fonts import NO_BREAK
from allocator.outputs.marks import INK, PALE, PAPER, SOFT, WASH
from allocator.outputs.paper import Box, Paper
from allocator.plan.index import EntryAt
from allocator.plan.parts import Supply, supplies
from allocator.plan.wiring import INLET, Run
from allocator.requirements.vehicle import Feed
from allocator.units import MM_PER_M

HEAD_MM, ENTRY_MM, GAP_MM = 5.2, 5.4, 1.6
SHARES = (0.3, 0.19, 0.03, 0.18, 0.3)
HEADS = ("feed and its protection", "cable", "", "tail", "enters the panel at")
STUD_MM = 1.5


@dataclass(frozen=True, slots=True)
class _Block:
    """A feed at a panel, or a feed that enters nowhere."""

    feed: str
    supply: Supply | None
    entries: tuple[EntryAt, ...] = ()


@dataclass(frozen=True)
class SupplyListing:
    """The supply drawing of a plan, as rows that pages can be cut from."""

    content: Content

    @property
    def title(self) -> str:
        """Title."""
        return "From the supply to the strips"

    @property
    def head_mm(self) -> float:
        """Height of the head, mm."""
        return HEAD_MM

    @cached_property
    def _blocks(self) -> tuple[_Block, ...]:
        index = self.content.index
        found = {feed: [_Block(feed, None)] for feed in index.sized.feeds}
        for supply in supplies(index):
            name = supply.feed.name
            block = _Block(name, supply, index.entries_of(name, supply.panel))
            found[name] = [*(item for item in found[name] if item.supply), block]
        return tuple(block for blocks in found.values() for block in blocks)

    def side_by_side(self, width_mm: float) -> int:
        """Return how many parts go beside each other: one."""
        return 1

    def heights(self, width_mm: float) -> tuple[float, ...]:
        """Return the height of every row, mm."""
        return tuple(max(1, len(block.entries)) * ENTRY_MM + GAP_MM for block in self._blocks)

    def draw_head(self, sheet: Paper, box: Box) -> None:
        """Draw what stands in each column."""
        sheet.rectangle(box, fill=WASH, edge=None)
        for at, head in zip(_columns(box), HEADS, strict=True):
            if head:
                sheet.text(at.inset(1.1, 0.4), head, bold=True, colour=SOFT)
        sheet.line([(box.x, box.bottom), (box.right, box.bottom)], weight=0.8)

    def draw_row(self, sheet: Paper, number: int, box: Box) -> None:
        """Draw one feed at one panel."""
        _BlockDrawing(sheet, self.content, self._blocks[number], box).draw()
        sheet.line([(box.x, box.bottom), (box.right, box.bottom)], colour=PALE, weight=0.4)


def _columns(box: Box) -> Iterator[Box]:
    x = box.x
    for share in SHARES:
        yield Box(x, box.y, share * box.w, box.h)
        x += share * box.w


class _BlockDrawing:
    """Draws one block."""

    def __init__(self, sheet: Paper, content: Content, block: _Block, box: Box) -> None:
        self.sheet, self.content, self.block = sheet, content, block
        self.feed_box, self.cable_box, self.stud_box, self.tail_box, self.entry_box = _columns(box)
        self.top = box.y + GAP_MM / 2
        self.mark = content.marks[block.feed]

    def draw(self) -> None:
        """Draw the feed, then what leads from it to each entry."""
        at = Box(self.feed_box.x + 1.1, self.top + 0.9, 8, ENTRY_MM - 1.8)
        self.sheet.feed_bar(at, self.mark)
        room = Box(at.right + 1, self.top + 0.2, self.feed_box.right - at.right - 2, ENTRY_MM - 0.4)
        self.sheet.text(Box(room.x, room.y, 7, room.h), self.mark.code, size=7.5, bold=True)
        self.sheet.text(Box(room.x + 7, room.y, room.w - 7, room.h), self._source(), max_lines=2)
        supply = self.block.supply
        if supply is None:
            at = Box(self.cable_box.x + 1.1, self.top, self.entry_box.right - self.cable_box.x, ENTRY_MM)
            self.sheet.text(at, "nothing is on it: led nowhere", colour=SOFT)
            return
        first = self._line_y(0)
        end = self.stud_box.x + self.stud_box.w / 2
        self.sheet.line([(self.cable_box.x, first), (end, first)], weight=1.4)
        self._over(self.cable_box, self._cable(supply), 0)
        for number, entry in enumerate(self.block.entries):
            self._entry(number, entry, end if supply.num_studs else first)
        if supply.num_studs:
            self._studs(supply.num_studs, end, first)

    def _line_y(self, number: int) -> float:
        return self.top + number * ENTRY_MM + ENTRY_MM - 1.2

    def _over(self, box: Box, text: str, number: int) -> None:
        """Write a text over the line of an entry."""
        at = Box(box.x + 1.1, self.top + number * ENTRY_MM + 0.4, box.w - 2.2, ENTRY_MM - 2.0)
        self.sheet.text(at, text)

    def _studs(self, num_studs: int, x: float, y: float) -> None:
        last = self._line_y(len(self.block.entries) - 1)
        self.sheet.line([(x, y), (x, last)], weight=1.4)
        self.sheet.rectangle(
            Box(x - STUD_MM, y - STUD_MM, 2 * STUD_MM, 2 * STUD_MM), fill=PAPER, weight=1.0, radius=STUD_MM - 0.05
        )
        if num_studs > 1:
            self.sheet.text(Box(x - 5, y + STUD_MM + 0.2, 4.4, 3), f"x{NO_BREAK}{num_studs}", bold=True, align="right")

    def _source(self) -> str:
        """Say where a feed begins and what protects it."""
        feed = next(item for item in self.content.sized.requirements.scenario.feeds if item.name == self.block.feed)
        name = self.content.feed_name(feed.name)
        if feed.source is None:
            return f"{name}: {feed.rating:g}{NO_BREAK}A main fuse{self._main_fuse(feed)}"
        item = self.content.index.need_by_id[feed.name]
        parts = [f"{name}: from {self.content.marks[feed.source].code}"]
        if item.way is not None:
            fuse = f"{feed.rating:g}{NO_BREAK}A {self.content.fuse_type(str(item.option.fuse))}"
            parts.append(f"fuse {fuse} in {self.content.place_name(str(item.way))}")
        if item.socket is not None:
            parts.append(f"relay in {self.content.place_name(str(item.socket))}")
        return ", ".join(parts)

    def _main_fuse(self, feed: Feed) -> str:
        """Say of what format a main fuse is, and where."""
        main = self.content.sized.feeds[feed.name].main
        fuses = {fuse.id: fuse.fuse_format for fuse in self.content.sized.requirements.catalogue.fuses}
        letter = "" if main is None else f" {fuses[main.fuse]}"
        if feed.main_fuse_distance is None:
            return f"{letter}, at the source"
        if feed.main_fuse_distance == 0:
            return f"{letter} on the source"
        sheath = ", sheathed" if feed.main_fuse_sheathed else ""
        return f"{letter}, {feed.main_fuse_distance:g}{NO_BREAK}m from the source{sheath}"

    def _cable(self, supply: Supply) -> str:
        """Say number, size and length of the cable, and how many studs it ends on."""
        cable = next(
            run
            for run in self.content.runs
            if run.role == "cable"
            and run.feed == self.block.feed
            and (run.end.place.startswith(f"{supply.panel}/") or run.end.place.startswith(f"{supply.panel},"))
        )
        return self._wire(cable)

    def _wire(self, run: Run) -> str:
        return f"{run.number} {self.content.area_text(run.wire)}, {run.length_mm / MM_PER_M:.2f}{NO_BREAK}m"

    def _entry(self, number: int, entry: EntryAt, start: float) -> None:
        y = self._line_y(number)
        runs = [
            run
            for cavity in (INLET, "30", "49")
            for run in self.content.runs_at.get((entry.piece.at, cavity), ())
            if run.role in ("tail", "cable")
        ]
        bar = Box(self.entry_box.x, y - 1.6, 7, 3.2)
        self.sheet.line([(self.stud_box.x + self.stud_box.w / 2, y), (bar.x - 0.2, y)], weight=1.0, colour=INK)
        if runs and runs[0].role == "tail":
            tail = self.content.index.tail_of(entry)
            fuse = f", {tail.protection_a:g}{NO_BREAK}A {self.content.fuse_type(tail.fuse)}" if tail.fuse else ""
            self._over(self.tail_box, self._wire(runs[0]) + fuse, number)
        self.sheet.feed_bar(bar, self.mark)
        at = Box(bar.right + 1.2, y - 2.3, self.entry_box.right - bar.right - 1.8, 4.6)
        terminal = runs[0].end.terminal if runs else ""
        self.sheet.text(
            at,
            ", ".join(
                part for part in (*self._place(entry), terminal and self.content.terminal_text(terminal)) if part
            ),
        )

    def _place(self, entry: EntryAt) -> Iterator[str]:
        """Say where an entry is, over how many ways, and its load of what it may carry."""
        peak, limit = self.content.entry_amounts(entry)
        place = self.content.place_name(entry.piece.at)
        if entry.socket is not None:
            yield f"{place}, relay terminal"
        elif entry.row is None:
            yield f"{place}: solid bus"
        else:
            ways = f"{len(entry.ways)}{NO_BREAK}way{'s' if len(entry.ways) > 1 else ''}"
            row = f"row {ROW_LETTERS[entry.row]}"
            yield f"{place}: {'strip of ' if entry.piece.kind == 'strip' else row + ', '}{ways}"
        yield f"{self.content.amperes(peak)} of {self.content.amperes(limit)}" if limit else self.content.amperes(peak)
