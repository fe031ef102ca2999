"""
What a part of an arrangement costs already, and what is still to come at least, so that the oracles visit less.

Comes in as who sits where so far; goes out as price, wire length and copper that no completion can be below. The sums
are those of ``arrangement.parts_and_wires``, kept by seat and by feed; accessories are left out, for they only add.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import lcm

from allocator.sizing.sized import Need, Option, Sized, Tail
from tests.oracles.arrangement import FeedEntry, Seat

Worth = tuple[int, int, int]
"""Price, wire length and copper, each as a whole number of its smallest share."""
NOTHING: Worth = (0, 0, 0)
SUMMED = ("price", "wire-length", "copper")


class Floors:
    """Floors of one sizing table; every sum that comes again is kept."""

    def __init__(self, sized: Sized) -> None:
        self.sized = sized
        catalogue = sized.requirements.catalogue
        self._prices = sized.price_by_part
        self._areas = {wire.id: Fraction(str(wire.area)) for wire in catalogue.wires}
        of_price = 1000 * lcm(*(price.denominator for price in self._prices.values()))
        self._shares = (of_price, 1, lcm(*(area.denominator for area in self._areas.values())))
        metres = (catalogue.short_jumper, catalogue.long_jumper, catalogue.tail_length)
        self._short_mm, self._long_mm, self._tail_mm = (round(Fraction(str(length)) * 1000) for length in metres)
        self._tails = {name: feed.tail for name, feed in sized.feeds.items()}
        self._kept: dict[object, Worth] = {}
        self._least = {need.id: self._least_of(need) for need in sized.needs}

    def above(
        self,
        base: Mapping[str, Fraction],
        seats: Sequence[Seat],
        left: Sequence[Need],
        feeds: Mapping[str, str],
        entries: Sequence[FeedEntry],
    ) -> dict[str, Fraction]:
        """
        Return the least of each sum.

        Parameters
        ----------
        base
            What carriers and modules come to.
        seats, left
            Needs that sit, and those that do not yet.
        feeds
            Feed of every need; each feed that is used enters at least once.
        entries
            Entries that are certain, in no particular order.
        """
        panels: dict[str, set[str]] = {}
        tails: dict[tuple[str, str], list[Tail]] = {}
        worths = [self._of_seat(seat) for seat in seats]
        worths += [self._least[need.id] for need in left]
        for entry in entries:
            panels.setdefault(entry.feed, set()).add(entry.panel)
            tail = entry.tail or self._tails[entry.feed]
            tails.setdefault((entry.feed, entry.panel), []).append(tail)
            worths.append(self._of_entry(entry))
        for feed in {*feeds.values()}:
            worths.append(self._of_main(feed))
            worths.append(self._of_cables(feed, panels.get(feed)))
        worths += [self._of_tails(feed, here) for (feed, _), here in tails.items()]
        return {
            goal: base.get(goal, Fraction(0)) + Fraction(number, share)
            for goal, number, share in zip(SUMMED, _sum(worths), self._shares, strict=True)
        }

    def _worth(self, parts: Iterable[str], wires: Iterable[tuple[str, int]] = ()) -> Worth:
        of_price, _, of_copper = self._shares
        price = sum((of_price * self._prices[part] for part in parts), Fraction(0))
        length, copper = 0, Fraction(0)
        for wire, mm in wires:
            price += of_price * self._prices[wire] * mm / 1000
            copper += of_copper * self._areas[wire] * mm
            length += mm
        assert price.denominator == copper.denominator == 1
        return int(price), length, int(copper)

    def _of_option(self, need: Need, option: Option, jumper_mm: int) -> Worth:
        parts = () if need.kind == "spare" else option.parts
        wires = [] if need.kind == "spare" else [(cut.wire, cut.length_mm) for cut in option.wires]
        return self._worth(parts, [*wires, (str(option.jumper_wire), jumper_mm)] if jumper_mm else wires)

    def _of_seat(self, seat: Seat) -> Worth:
        has_jumper = seat.module is not None and seat.socket_module is not None
        jumper_mm = (self._short_mm if seat.module == seat.socket_module else self._long_mm) if has_jumper else 0
        key = ("seat", seat.need.id, id(seat.option), jumper_mm)
        if key not in self._kept:
            self._kept[key] = self._of_option(seat.need, seat.option, jumper_mm)
        return self._kept[key]

    def _least_of(self, need: Need) -> Worth:
        return _least([self._of_option(need, option, 0) for option in need.options])

    def _of_entry(self, entry: FeedEntry) -> Worth:
        key = ("entry", entry.strip, entry.ways, entry.terminal)
        if key not in self._kept:
            strips = () if entry.strip is None else (entry.strip,) * entry.ways
            self._kept[key] = self._worth((*strips, *(() if entry.terminal is None else (entry.terminal,))))
        return self._kept[key]

    def _of_main(self, feed: str) -> Worth:
        main = self.sized.feeds[feed].main
        if main is None:
            return NOTHING
        if ("main", feed) not in self._kept:
            wire = (self.sized.feeds[feed].cable_wire, main.lead_mm)
            self._kept["main", feed] = self._worth((main.fuse, main.holder, *main.lead_rings), [wire])
        return self._kept["main", feed]

    def _of_cables(self, feed: str, panels: set[str] | None) -> Worth:
        """Return what the cables to panels come to; where no panel is known yet, one of those that are in reach."""
        sized = self.sized.feeds[feed]
        key = ("cables", feed, None if panels is None else frozenset(panels))
        if key not in self._kept:
            ring = () if sized.main is None else (sized.main.ring,)
            each = [
                self._worth(ring, [(sized.cable_wire, sized.cable_mm_by_panel[panel])])
                for panel in sorted(sized.panels if panels is None else panels)
            ]
            self._kept[key] = _least(each) if panels is None else _sum(each)
        return self._kept[key]

    def _of_tails(self, feed: str, tails: Sequence[Tail]) -> Worth:
        """Return what the tails at one panel and the studs that join them come to."""
        if len(tails) < 2 and not any(tail.fuse for tail in tails):
            return NOTHING
        key = ("tails", feed, frozenset(Counter(tails).items()))
        if key not in self._kept:
            sized = self.sized.feeds[feed]
            studs = max(1, -(-(len(tails) - 1) // (sized.stud_stack - 2)))
            parts = [str(sized.cable_ring)] * (1 + 2 * (studs - 1)) + [str(sized.stud)] * studs
            parts += [part for tail in tails for part in (tail.ring, tail.fuse, tail.holder) if part is not None]
            wires = [(sized.cable_wire, (studs - 1) * self._short_mm)]
            self._kept[key] = self._worth(parts, [*wires, *((tail.wire, self._tail_mm) for tail in tails)])
        return self._kept[key]


def _least(worths: Sequence[Worth]) -> Worth:
    price, length, copper = (min((worth[at] for worth in worths), default=0) for at in range(3))
    return price, length, copper


def _sum(worths: Sequence[Worth]) -> Worth:
    price, length, copper = (sum(worth[at] for worth in worths) for at in range(3))
    return price, length, copper
