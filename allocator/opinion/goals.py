"""
What every goal is worth in the linear model: terms by column, and a constant.

Comes in as an ``Assignment``; goes out as ``Worth``: a cost, so that where more is better the sign is turned. Written
from "Goals" and "Parts and wires of a plan" in docs/definitions.md; the numbers in the comments are its paragraphs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from allocator.opinion.assignment import Assignment
from allocator.requirements.catalogue import Module
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import OWN_WAY, Option, SizedFeed, Tail

PartWorth = Callable[[str], Fraction]
WireWorth = Callable[[str, int], Fraction]
"""Of so many mm of a wire."""


@dataclass
class Worth:
    """A linear sum: a constant, and what one of each column adds to it."""

    terms: dict[int, float] = field(default_factory=lambda: defaultdict(float))
    constant: float = 0.0

    def add(self, column: int, worth: Fraction | float) -> None:
        """Let one of a column add so much more."""
        self.terms[column] += float(worth)


def worth_of(goal: Goal, panel: Assignment) -> Worth:
    """
    Return what a goal is worth; columns and rows that it needs are added to the model.

    Raises
    ------
    KeyError
        For the peak utilisation, which is no sum: ask for it by ``peak_rows``.
    """
    if goal in ("price", "wire-length", "copper"):
        return _Bill(panel, goal).worth
    worth = Worth()
    carrier_by_id = {carrier.id: carrier for carrier in panel.catalogue.carriers}
    if goal == "module-types":
        for column in panel.type_used.values():
            worth.add(column, 1)
    elif goal == "strip-pieces":
        for column in panel.entries.values():
            worth.add(column, 1)
        worth.constant = len(panel.sockets_entered())
    elif goal == "spare-ways":
        for instance, column in panel.used.items():
            worth.add(column, -sum(row.ways for row in panel.module(instance).rows))
        worth.constant = sum(need.takes_way and need.kind != "spare" for need in panel.sized.needs)
    elif goal == "long-jumpers":
        for column in _long_jumpers(panel).values():
            worth.add(column, 1)
    elif goal == "panels":
        for site in panel.scenario.panels:
            used = panel.linear.column()
            for (name, carrier_id), column in panel.carriers.items():
                if name == site.name:
                    most = site.max_bays // carrier_by_id[carrier_id].bays
                    panel.linear.add({column: 1, used: -most}, high=0)
            worth.add(used, 1)
    else:
        for (_, name), column in panel.carriers.items():
            carrier = carrier_by_id[name]
            size = Fraction(repr(carrier.width)) * Fraction(repr(carrier.height))
            worth.add(column, {"bays": Fraction(carrier.bays), "carriers": Fraction(1), "footprint": size}[goal])
    return worth


def peak_rows(panel: Assignment, peak: Fraction, *, below: bool) -> list[tuple[dict[int, float], float, float]]:
    """Return rows that keep every feed in every case at a peak utilisation, or below it, in whole units of current."""
    rows = []
    for (name, _), column in panel.draw.items():
        most = peak * panel.sized.feeds[name].allowed_ma / panel.unit_ma
        whole = most.numerator // most.denominator
        if below and most.denominator == 1:
            whole -= 1
        rows.append(({column: 1.0}, 0.0, float(whole)))
    return rows


def _long_jumpers(panel: Assignment) -> dict[int, int]:
    """Return a column for each group that counts its needs whose way and socket are in different modules."""
    found = {}
    for number, group in enumerate(panel.groups):
        if not (group.one.takes_way and group.one.takes_socket):
            continue
        found[number] = panel.linear.column(len(group.needs))
        apart: dict[int, float] = {found[number]: -1}
        for instance in panel.used:
            ways = panel.in_module(number, instance)
            relays = {c: -1.0 for (n, i, _), c in panel.relay.items() if n == number and i == instance}
            if ways:  # ways of the module beyond its relays
                beyond = panel.linear.column(len(group.needs))
                panel.linear.add(ways | relays | {beyond: -1}, high=0)
                apart[beyond] = 1
        panel.linear.add(apart, high=0)
    return found


class _Bill:
    """Everything a plan orders, for one kind of worth."""

    def __init__(self, panel: Assignment, goal: Goal) -> None:
        self.panel, self.worth, self.catalogue = panel, Worth(), panel.catalogue
        price, area = panel.sized.price_by_part, panel.sized.area_mm2_by_wire
        self.part: PartWorth = (lambda part: price[part]) if goal == "price" else lambda part: Fraction(0)
        self.wire: WireWorth = {
            "price": lambda wire, mm: price[wire] * Fraction(mm, 1000),
            "wire-length": lambda wire, mm: Fraction(mm),
            "copper": lambda wire, mm: area[wire] * mm,
        }[goal]
        self._carriers_and_modules()
        self._needs()
        self._ways_and_entries()
        self._supplies()

    def _accessory(self, per: str) -> Fraction:  # 6
        return sum((self.part(a.id) * a.quantity for a in self.catalogue.accessories if a.per == per), Fraction(0))

    def _parts(self, parts: Iterable[str | None]) -> Fraction:
        return sum((self.part(part) for part in parts if part is not None), Fraction(0))

    def _carriers_and_modules(self) -> None:  # 1
        carrier_by_id = {carrier.id: carrier for carrier in self.catalogue.carriers}
        for (_, name), column in self.panel.carriers.items():
            bays = carrier_by_id[name].bays
            per_bay = self._accessory("bay") + self._accessory("empty-bay")
            self.worth.add(column, self.part(name) + self._accessory("carrier") + per_bay * bays)
        for instance, column in self.panel.used.items():
            module = self.panel.module(instance)
            sockets = sum(group.count for group in module.sockets)
            worth = self.part(module.id) + self._accessory("module") + self._accessory("row") * len(module.rows)
            worth += self._accessory("socket") * sockets - self._accessory("empty-bay") * module.bays
            self.worth.add(column, worth + self._accessory("unused-cavity") * self._cavities(module))

    def _cavities(self, module: Module) -> int:
        tabs = dict.fromkeys(("micro", "standard", "heavy"), 0)
        for item in self.catalogue.relay_tabs:
            tabs[item.relay_class] = max(tabs[item.relay_class], len(item.tabs))
        ways = sum(row.ways if row.bus == "stud" else 2 * row.ways for row in module.rows)
        return ways + sum(group.count * tabs[group.relay_class] for group in module.sockets)

    def _needs(self) -> None:  # 2, 3
        short_mm, long_mm = (round(m * 1000) for m in (self.catalogue.short_jumper, self.catalogue.long_jumper))
        jumpers = _long_jumpers(self.panel)
        for (number, index), column in self.panel.option.items():
            option = self.panel.groups[number].one.options[index]
            worth = sum((self.part(part) * count for part, count in option.parts.items()), Fraction(0))
            worth += sum((self.wire(cut.wire, cut.length_mm) for cut in option.wires), Fraction(0))
            worth -= self._accessory("unused-cavity") * option.cavities
            if option.relay is not None:
                worth += self._accessory("relay")
            if option.jumper_wire is not None:
                worth += self.wire(option.jumper_wire, short_mm)
            self.worth.add(column, worth)
        for number, column in jumpers.items():
            # The least of what its options would cost more: which of them has the long jumper is not said.
            options: tuple[Option, ...] = self.panel.groups[number].one.options
            wires = [(o.jumper_wire, *(cut.wire for cut in o.wires if cut.end == OWN_WAY)) for o in options]
            more = [sum(self.wire(one, long_mm - short_mm) for one in all_of if one is not None) for all_of in wires]
            self.worth.add(column, max(Fraction(0), min(more, default=Fraction(0))))

    def _ways_and_entries(self) -> None:  # 4
        for (_, place, _), column in self.panel.at.items():
            row = self.panel.module(place[:3]).rows[place[3]]
            if row.bus != "stud":
                self.worth.add(column, -self._accessory("unused-cavity"))
            if row.bus == "strip" and row.strip is not None:
                self.worth.add(column, self.part(row.strip))
        for (instance, group, feed), column in self.panel.entries.items():
            entry = self.panel.sized.entries[instance[0], instance[1], group, feed]
            self.worth.add(column, self.part(entry.terminal))

    def _supplies(self) -> None:  # 5
        linear = self.panel.linear
        for feed in self.panel.sized.feeds.values():
            present_anywhere = linear.column()
            if feed.main is not None:
                main = self._parts((feed.main.fuse, feed.main.holder, *feed.main.lead_rings))
                self.worth.add(present_anywhere, main + self.wire(feed.cable_wire, feed.main.lead_mm))
            for site in self.panel.scenario.panels:
                tails = self._tails(feed, site.name)
                direct = sum(place == (feed.name, site.name) for place in self.panel.sockets_entered())
                if tails or direct:
                    present = self._supply(feed, site.name, tails, direct)
                    linear.add({present: 1, present_anywhere: -1}, high=0)

    def _tails(self, feed: SizedFeed, panel: str) -> dict[int, Tail]:
        """Return the tail of every column of entries of a feed at a panel."""
        return {
            column: self.panel.sized.entries[panel, instance[1], group, name].tail or feed.tail
            for (instance, group, name), column in self.panel.entries.items()
            if name == feed.name and instance[0] == panel
        }

    def _supply(self, feed: SizedFeed, panel: str, tails: dict[int, Tail], direct: int) -> int:
        linear = self.panel.linear
        number = dict.fromkeys(tails, 1.0)
        most = sum(linear.upper[column] for column in tails) + direct
        present, joined = linear.column(), linear.column()
        studs = linear.column(most + 1)
        linear.add(number | {present: -most}, high=-direct)
        linear.add(number | {joined: -most}, high=1 - direct)
        cable = self.wire(feed.cable_wire, feed.cable_mm_by_panel[panel])
        self.worth.add(present, cable + (self.part(feed.main.ring) if feed.main is not None else 0))
        self.worth.constant += float(self._accessory("feed-tail") * direct)
        for column, tail in tails.items():
            self.worth.add(column, self._accessory("feed-tail"))
            if tail.fuse is not None:
                linear.add({column: 1, joined: -linear.upper[column]}, high=0)
        if direct and feed.tail.fuse is not None:
            linear.add({joined: 1}, low=1)
        if feed.stud is None:
            linear.add({joined: 1}, high=0)
            return present
        linear.add(number | {studs: -(feed.stud_stack - 2), joined: most}, high=1 - direct + most)
        linear.add({studs: 1, joined: -1}, low=0)
        ring = self._parts((feed.cable_ring,))
        link = self.wire(feed.cable_wire, round(self.catalogue.short_jumper * 1000)) + 2 * ring
        self.worth.add(joined, ring - link)
        self.worth.add(studs, self.part(feed.stud) + link)
        if direct:
            worth = self._tail(feed.tail)
            self.worth.add(joined, worth * direct)
        for column, tail in tails.items():
            # A tail is there only behind a stud; without one there is a single entry.
            behind = linear.column(linear.upper[column])
            linear.add({behind: 1, column: -1, joined: -most}, low=-most)
            self.worth.add(behind, self._tail(tail))
        return present

    def _tail(self, tail: Tail) -> Fraction:
        worth = self.wire(tail.wire, round(self.catalogue.tail_length * 1000))
        return worth + self._parts((tail.ring, tail.fuse, tail.holder))
