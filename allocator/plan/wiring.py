"""
Every wire of a plan with both of its ends: cables, feed tails, links, jumpers, and the wires of every circuit.

Comes in as an indexed plan; goes out as numbered runs, for lists, drawings and the count of crimps. Lengths add up to
those of the bill (``parts.py``); what runs where is "Parts and wires of a plan" in ``docs/definitions.md``.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from allocator.plan.index import EntryAt, NeedAt, PlanIndex
from allocator.plan.parts import Supply, jumper_mm, need_mm, supplies
from allocator.sizing.sized import OWN_WAY, SWITCHED_SIDE, InlineFuse, SizedFeed
from allocator.units import whole_mm

Role = Literal["lead", "cable", "link", "tail", "jumper", "wire"]
PREFIX: Mapping[Role, str] = {"lead": "S", "cable": "C", "link": "L", "tail": "T", "jumper": "J", "wire": "W"}
OUTPUT, INLET, STUD = "output", "inlet", "stud"
MAKE = "87"
COIL_LEADS = ("86", "85")
SOURCE = "supply"
LOAD = "load"
"""Far end of the wires of a circuit, as sizing names it."""
JOINS = "spliced to the wire that leaves there"
_ON_STUD, _OF_FEED = ", distribution stud", " of "
OPEN_LENGTH = "length to be measured by the builder; not in the parts list"


@dataclass(frozen=True, slots=True)
class WireEnd:
    """
    One end of a wire.

    ``place`` is an address of the panel or words for a far end, ``cavity`` the position there (``output`` of a way, a
    DIN 72552 designation of a socket, ``inlet`` of a strip piece), ``terminal`` the part crimped on; empty where not
    known.
    """

    place: str
    cavity: str = ""
    terminal: str = ""

    @property
    def at(self) -> str:
        """Place and position in words; a stud says all with its place."""
        return self.place if self.cavity == STUD else f"{self.place} {self.cavity}".strip()


@dataclass(frozen=True, slots=True)
class Run:
    """One wire: its number, what it does, both ends, catalogue wire, length, and the need and feed it belongs to."""

    number: str
    role: Role
    start: WireEnd
    end: WireEnd
    wire: str
    length_mm: int
    need: str
    feed: str
    """Feed whose potential it has: of a coil lead that of what its control, or its own fuse, draws from."""
    note: str = ""
    inline: InlineFuse | None = None
    """The fuse in it: of a tail at its start, the stud; of a coil lead at its end, where it meets its supply."""


def runs_of(index: PlanIndex) -> tuple[Run, ...]:
    """Return every wire of a plan: supplies first, then needs in listing order; numbered within each kind."""
    runs = [*_lead_runs(index), *_supply_runs(index), *_need_runs(index)]
    counts = dict.fromkeys(PREFIX, 0)
    numbered = []
    for run in runs:
        counts[run.role] += 1
        numbered.append(replace(run, number=f"{PREFIX[run.role]}{counts[run.role]}"))
    return tuple(numbered)


def _lead_runs(index: PlanIndex) -> Iterator[Run]:
    """The wires from the source to main fuses that do not stand at the source itself."""
    for feed in {supply.feed.name: supply.feed for supply in supplies(index)}.values():
        if feed.main is not None and feed.main.lead_rings:
            at_source, at_holder = feed.main.lead_rings
            start, end = WireEnd(SOURCE, "", at_source), WireEnd(f"supply, main fuse of {feed.name}", "", at_holder)
            note = "nothing protects it: keep it short, sheathed and clear of everything"
            yield Run("", "lead", start, end, feed.cable_wire, feed.main.lead_mm, "", feed.name, note)


def _supply_runs(index: PlanIndex) -> Iterator[Run]:
    catalogue = index.sized.requirements.catalogue
    cables: Counter[str] = Counter()
    for supply in supplies(index):
        feed, panel = supply.feed, supply.panel
        entries = [_entry_end(entry, index) for entry in index.entries_of(feed.name, panel)]
        studs = [_stud_end(supply, number) for number in range(1, supply.num_studs + 1)]
        source = _source_end(feed, index, cables[feed.name])
        cables[feed.name] += 1
        cable_end = replace(studs[0], terminal=feed.cable_ring or "") if studs else entries[0]
        cable_mm = feed.cable_mm_by_panel[panel]
        need = feed.name if feed.source is not None else ""
        note = JOINS if is_spliced(source) else _main_note(feed)
        yield Run("", "cable", source, cable_end, feed.cable_wire, cable_mm, need, feed.name, note)
        for left, right in itertools.pairwise(studs):
            first, second = (replace(end, terminal=feed.cable_ring or "") for end in (left, right))
            yield Run("", "link", first, second, feed.cable_wire, whole_mm(catalogue.short_jumper), need, feed.name)
        if studs:
            for number, (entry, tail) in enumerate(zip(entries, supply.tails, strict=True)):
                start = replace(studs[min(number // (feed.stud_stack - 2), len(studs) - 1)], terminal=tail.ring or "")
                mm = whole_mm(catalogue.tail_length)
                note = _inline_note(tail.inline, "at the stud")
                yield Run("", "tail", start, entry, tail.wire, mm, need, feed.name, note, tail.inline)


def _main_note(feed: SizedFeed) -> str:
    return "" if feed.main is None else f"{feed.main.fuse} in {feed.main.holder} where it starts"


def _inline_note(inline: InlineFuse | None, where: str) -> str:
    return "" if inline is None else f"{inline.fuse} in {inline.holder} {where}"


def _stud_end(supply: Supply, number: int) -> WireEnd:
    suffix = f" {number}" if supply.num_studs > 1 else ""
    return WireEnd(f"{supply.panel}{_ON_STUD}{suffix}{_OF_FEED}{supply.feed.name}", STUD)


def standing(end: WireEnd) -> tuple[str, str]:
    """Return place and cavity of an end, as they stay when studs come or go: the only one of a feed is its first."""
    if end.cavity != STUD:
        return end.place, end.cavity
    return end.place.replace(f"{_ON_STUD} 1{_OF_FEED}", f"{_ON_STUD}{_OF_FEED}"), STUD


def _entry_end(entry: EntryAt, index: PlanIndex) -> WireEnd:
    """The panel's end of a feed tail."""
    if entry.group is not None:
        sizing = index.sized.entries[entry.at.panel, entry.at.module.id, entry.group, entry.piece.feed]
        return WireEnd(entry.piece.at, INLET, sizing.terminal)
    fed = next(item for item in index.needs if item.socket is not None and str(item.socket) == entry.piece.at)
    cavity = _contact(fed)
    return WireEnd(entry.piece.at, cavity, fed.option.terminal_by_designation.get(cavity, ""))


def _source_end(feed: SizedFeed, index: PlanIndex, num_before: int) -> WireEnd:
    """
    Where a cable of a feed begins: at the supply, or at the branch's own relay or fuse.

    That has one terminal for the cables to all panels; what it does not take beside ``num_before`` others is spliced.
    """
    if feed.source is None:
        return WireEnd(f"supply, main fuse of {feed.name}", "", "" if feed.main is None else feed.main.ring)
    need = index.need_by_id[feed.name]
    place, cavity, position = (str(need.way), OUTPUT, "way") if need.socket is None else (str(need.socket), MAKE, MAKE)
    terminal = need.option.terminal_by_designation.get(position, "")
    takes = _most_wires(terminal, feed.cable_wire, index)
    return WireEnd(place, cavity, terminal if num_before < takes else "")


def _most_wires(terminal: str, wire: str, index: PlanIndex) -> int:
    """Return how many wires of one kind a terminal takes together, by their area; one at least."""
    largest = next(
        (item.largest_wire for item in index.sized.requirements.catalogue.terminals if item.id == terminal), 0
    )
    return max(1, int(Fraction(repr(largest)) / index.sized.area_mm2_by_wire[wire]))


def _contact(need: NeedAt) -> str:
    """Designation at which the current enters a relay: 49 for a flasher, else 30."""
    return "49" if "49" in need.option.terminal_by_designation else "30"


def _need_runs(index: PlanIndex) -> Iterator[Run]:
    catalogue = index.sized.requirements.catalogue
    for item in index.needs:
        option = item.option
        if item.jumper and option.jumper_wire:
            ends = _own_end(item, "way"), _own_end(item, _contact(item))
            yield Run(
                "",
                "jumper",
                *ends,
                option.jumper_wire,
                jumper_mm(item, catalogue),
                item.need.id,
                item.feed,
                item.jumper,
            )
        coil_feed = _coil_feed(index, item)
        for cut in option.wires:
            feed = coil_feed if cut.start in COIL_LEADS else item.feed
            start = _own_end(item, cut.start) if cut.start else WireEnd(LOAD)
            end = _far_end(item, cut.end)
            inline = option.coil_fuse if cut.start == "86" else None
            length = need_mm(item, cut, catalogue)
            notes = (
                JOINS if is_spliced(end) else "",
                _inline_note(inline, f"at {end.place}, where its supply comes from"),
                "" if length else OPEN_LENGTH,
            )
            note = "; ".join(filter(None, notes))
            yield Run("", "wire", start, end, cut.wire, length, item.need.id, feed, note, inline)


def _coil_feed(index: PlanIndex, item: NeedAt) -> str:
    """Return the feed that the coil of a need's relay is on: that of its control circuit, else the need's own."""
    far = next((cut.end for cut in item.option.wires if cut.start == "86"), "")
    return index.need_by_id[far.removeprefix(SWITCHED_SIDE)].feed if far.startswith(SWITCHED_SIDE) else item.feed


def _far_end(item: NeedAt, words: str) -> WireEnd:
    """Turn sizing's words for a far end into a place of the panel, where it is one."""
    return WireEnd(str(item.way), OUTPUT) if words == OWN_WAY and item.way is not None else WireEnd(words)


def is_spliced(end: WireEnd) -> bool:
    """Whether an end has no terminal of its own at a way or contact: it joins the wire that leaves there."""
    return end.cavity in (OUTPUT, MAKE) and not end.terminal


def _own_end(item: NeedAt, position: str) -> WireEnd:
    """An end at the need's own way or socket."""
    terminal = item.option.terminal_by_designation.get(position, "")
    if position == "way":
        return WireEnd(str(item.way), OUTPUT, terminal)
    return WireEnd(str(item.socket), position, terminal)
