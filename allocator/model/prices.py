"""
The price, the wire length and the copper of a count, as linear expressions with whole coefficients.

Comes from ``Sums`` (and the jumpers of ``placing.py``); goes to ``goals.py``. Written from docs/definitions.md,
"Parts and wires of a plan"; the checker counts the same parts from a plan on its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.variables import Sums
from allocator.requirements.catalogue import Catalogue, Module
from allocator.sizing.sized import OWN_WAY, Option, SizedFeed, Tail
from allocator.units import MM_PER_M, whole_mm

Worth = Callable[[str, int], Fraction]
"""What so many of a part (or millimetres of a wire) are worth: cents, millimetres of wire, or mm3 of copper."""


@dataclass(frozen=True)
class Bill:
    """Coefficients of everything a plan orders, for one kind of worth, scaled to whole numbers."""

    counts: Sums
    part_worth: Worth
    wire_worth: Worth

    def option(self, option: Option) -> Fraction:
        """Return the worth of all that an option brings, its short jumper included."""
        worth = sum((self.part_worth(part, number) for part, number in option.parts.items()), Fraction(0))
        worth += sum((self.wire_worth(cut.wire, cut.length_mm) for cut in option.wires), Fraction(0))
        worth -= self._accessory("unused-cavity") * option.cavities
        worth += self._accessory("relay") * (option.relay is not None)
        if option.jumper_wire is not None:
            worth += self.wire_worth(option.jumper_wire, whole_mm(self._catalogue.short_jumper))
        return worth

    def long_jumper(self, option: Option) -> Fraction:
        """Return what a jumper across modules costs more than a short one, and the coil's lead beside it."""
        if option.jumper_wire is None:
            return Fraction(0)
        short_mm, long_mm = (whole_mm(m) for m in (self._catalogue.short_jumper, self._catalogue.long_jumper))
        wires = (option.jumper_wire, *(cut.wire for cut in option.wires if cut.end == OWN_WAY))
        return sum((self.wire_worth(wire, long_mm) - self.wire_worth(wire, short_mm) for wire in wires), Fraction(0))

    @property
    def _catalogue(self) -> Catalogue:
        return self.counts.frame.sized.requirements.catalogue

    def _accessory(self, per: str) -> Fraction:
        return sum(
            (self.part_worth(a.id, a.quantity) for a in self._catalogue.accessories if a.per == per), Fraction(0)
        )

    @cached_property
    def _cavities_by_class(self) -> Mapping[str, int]:
        tabs: dict[str, int] = {}
        for socket in self._catalogue.relay_tabs:
            tabs[socket.relay_class] = max(tabs.get(socket.relay_class, 0), len(socket.tabs))
        return tabs

    def module(self, module: Module) -> Fraction:
        """Return the worth of a module with all its accessories and with every cavity still unused."""
        sockets = sum(group.count for group in module.sockets)
        cavities = sum(row.ways * (1 if row.bus == "stud" else 2) for row in module.rows)
        cavities += sum(group.count * self._cavities_by_class.get(group.relay_class, 0) for group in module.sockets)
        return (
            self.part_worth(module.id, 1)
            + self._accessory("module")
            + self._accessory("row") * len(module.rows)
            + self._accessory("socket") * sockets
            + self._accessory("unused-cavity") * cavities
            - self._accessory("empty-bay") * module.bays
        )

    def _terms(self) -> list[tuple[Fraction, IntVar]]:
        x = self.counts
        frame = x.frame
        terms = [(self.module(frame.sized.module_by_id[module]), number) for _, module, number in x.modules]
        carriers = {carrier.id: carrier for carrier in frame.sized.requirements.catalogue.carriers}
        per_bay = self._accessory("bay") + self._accessory("empty-bay")
        for (_, carrier), number in x.carriers.items():
            terms.append(
                (self.part_worth(carrier, 1) + self._accessory("carrier") + per_bay * carriers[carrier].bays, number)
            )
        for (index, choice), number in x.chosen.items():
            terms.append((self.option(frame.classes[index].choices[choice].option), number))
        for name, index, ways in x.fed_ways:
            row = frame.sized.module_by_id[name].rows[index]
            worth = Fraction(0) if row.bus == "stud" else -self._accessory("unused-cavity")
            if row.strip is not None:
                worth += self.part_worth(row.strip, 1)
            terms.append((worth, ways))
        terms += [(self.part_worth(entry.terminal, 1), entries) for _, _, entry, entries in x.fed_entries]
        return terms + self._tails()

    def _tails(self) -> list[tuple[Fraction, IntVar]]:
        x = self.counts
        terms: list[tuple[Fraction, IntVar]] = []
        somewhere: dict[str, list[IntVar]] = defaultdict(list)
        for (name, panel), number in x.entries_at.items():
            feed = x.frame.sized.feeds[name]
            most = len(x.frame.sized.needs)
            present = x.model.new_bool_var(f"present {name} {panel}")
            x.model.add(number <= most * present)
            self._none_without(name, panel, present)
            cable = self.wire_worth(feed.cable_wire, feed.cable_mm_by_panel[panel])
            if feed.main is not None:
                cable += self.part_worth(feed.main.ring, 1)
                somewhere[name].append(present)
            terms += [(cable, present), (self._accessory("feed-tail"), number)]
            terms += self._studs(name, panel, feed, number, present)
        return terms + [self._main_fuse(name, present) for name, present in somewhere.items()]

    def _none_without(self, feed: str, panel: str, present: IntVar) -> None:
        """Say of each need that it is on no feed that is absent: said of all in sum, it binds a relaxation far less."""
        for (index, choice), chosen in self.counts.chosen.items():
            members = self.counts.frame.classes[index]
            taken = members.choices[choice]
            if (taken.feed, taken.option.panel) == (feed, panel):
                self.counts.model.add(chosen <= len(members.needs) * present)

    def _main_fuse(self, name: str, present_by_panel: list[IntVar]) -> tuple[Fraction, IntVar]:
        """Return what the main fuse of a root feed is worth, with its lead, where the feed enters anywhere."""
        feed, model = self.counts.frame.sized.feeds[name], self.counts.model
        used = model.new_bool_var(f"main fuse {name}")
        for present in present_by_panel:
            model.add_implication(present, used)
        main = feed.main
        if main is None:
            return Fraction(0), used
        worth = self.wire_worth(feed.cable_wire, main.lead_mm)
        return worth + sum(self.part_worth(part, 1) for part in (main.fuse, main.holder, *main.lead_rings)), used

    def _studs(
        self, name: str, panel: str, feed: SizedFeed, number: IntVar, present: IntVar
    ) -> list[tuple[Fraction, IntVar]]:
        x, most = self.counts, len(self.counts.frame.sized.needs)
        joined = x.model.new_bool_var(f"joined {name} {panel}")
        tails = x.model.new_int_var(0, most, f"tails {name} {panel}")
        studs = x.model.new_int_var(0, most, f"studs {name} {panel}")
        if feed.tail_fuse is not None:
            x.model.add_implication(present, joined)
        own = self._own_tails(name, panel, joined)
        x.model.add(number <= 1 + most * joined)
        x.model.add(tails >= number - 1 + joined)
        if feed.stud is None:
            x.model.add(joined == 0)
            return []
        x.model.add(studs * (feed.stud_stack - 2) >= tails - joined)
        x.model.add(studs >= joined)
        plain = self._tail(feed.tail)
        ring = self.part_worth(feed.cable_ring, 1) if feed.cable_ring is not None else Fraction(0)
        link = self.wire_worth(feed.cable_wire, whole_mm(self._catalogue.short_jumper)) + 2 * ring
        # Every tail is counted as the feed's; one of its own costs the difference.
        return [
            (ring - link, joined),
            (plain, tails),
            (self.part_worth(feed.stud, 1) + link, studs),
            *((self._tail(tail) - plain, entries) for tail, entries in own),
        ]

    def _own_tails(self, name: str, panel: str, joined: IntVar) -> list[tuple[Tail, IntVar]]:
        """Return the entries of a feed at a panel that have tails of their own; with one of them there is a stud."""
        found = []
        for feed, at, entry, entries in self.counts.fed_entries:
            if (feed, at) == (name, panel) and entry.tail is not None:
                self.counts.model.add(entries <= len(self.counts.frame.sized.needs) * joined)
                found.append((entry.tail, entries))
        return found

    def _tail(self, tail: Tail) -> Fraction:
        worth = self.wire_worth(tail.wire, whole_mm(self._catalogue.tail_length))
        return worth + sum(self.part_worth(part, 1) for part in (tail.ring, tail.fuse, tail.holder) if part is not None)

    @cached_property
    def _scaled(self) -> tuple[LinearExprT, int]:
        terms = self._terms()
        jumpers = [self.long_jumper(c.option) for m in self.counts.frame.classes for c in m.choices]
        scale = lcm(*(worth.denominator for worth, _ in terms), *(worth.denominator for worth in jumpers))
        return LinearExpr.sum([int(worth * scale) * variable for worth, variable in terms if worth]), scale

    @property
    def total(self) -> LinearExprT:
        """Worth of the whole plan with short jumpers only, times ``scale``."""
        return self._scaled[0]

    @property
    def scale(self) -> int:
        """The whole number by which every worth was multiplied."""
        return self._scaled[1]


def price_of(counts: Sums) -> Bill:
    """Return the bill in cents."""
    price = counts.frame.sized.price_by_part
    return Bill(
        counts, lambda part, number: price[part] * number, lambda wire, mm: price[wire] * Fraction(mm, MM_PER_M)
    )


def wire_length_of(counts: Sums) -> Bill:
    """Return the bill in millimetres of wire."""
    return Bill(counts, lambda part, number: Fraction(0), lambda wire, mm: Fraction(mm))


def copper_of(counts: Sums) -> Bill:
    """Return the bill in cubic millimetres of copper: length x conductor area of every wire."""
    area_mm2 = counts.frame.sized.area_mm2_by_wire
    return Bill(counts, lambda part, number: Fraction(0), lambda wire, mm: area_mm2[wire] * mm)
