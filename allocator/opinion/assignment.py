"""
The panel as a linear model, written from docs/definitions.md and the rulebook, never from the first model.

Comes in as a ``Sized`` and the most bays that are looked at; goes out as columns by what they stand for. Equal needs
are counted together, and equal modules are used in order; or, ``pooled``, all modules of a type at a panel are one
large module. What it sees in sum only, or not at all, ``left_out`` names: it then admits more than a plan may do, so
that "impossible" still counts and "possible" does not.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import gcd

from allocator.opinion.linear import Linear
from allocator.requirements.catalogue import Module
from allocator.requirements.catalogue import Row as CatalogueRow
from allocator.sizing.sized import Entry, Need, Option, Sized

Instance = tuple[str, str, int]
"""Panel, module type, copy."""
Row = tuple[str, str, int, int]
"""Panel, module type, copy, row."""


@dataclass(frozen=True)
class Group:
    """Needs that are equal in all that the model knows of them."""

    needs: tuple[Need, ...]

    @property
    def one(self) -> Need:
        """Any of them."""
        return self.needs[0]


class Assignment:
    """What is bought, where needs go and how feeds enter; ``limits.py`` and ``wishes.py`` add what restricts them."""

    def __init__(self, sized: Sized, most_bays: int, *, pooled: bool = False) -> None:
        self.sized, self.linear, self.pooled = sized, Linear(), pooled
        self.scenario, self.catalogue = sized.requirements.scenario, sized.requirements.catalogue
        self.cases = range(len(self.scenario.load_cases))
        self.unit_ma = gcd(*(load for need in sized.needs for load in need.load_ma_by_case)) or 1
        self.groups = tuple(Group(tuple(needs)) for needs in self._equal_needs().values())
        self.used: dict[Instance, int] = {}
        self.type_used: dict[str, int] = {}
        self.carriers: dict[tuple[str, str], int] = {}
        self.option: dict[tuple[int, int], int] = {}
        self.at: dict[tuple[int, Row, str], int] = {}
        self.relay: dict[tuple[int, Instance, str], int] = {}
        self.entries: dict[tuple[Instance, int, str], int] = {}
        self.draw: dict[tuple[str, int], int] = {}
        """Load of a feed in a load case, as ``limits.py`` adds it."""
        self._carriers_and_modules(most_bays)
        self._needs()
        self._entries()

    @cached_property
    def left_out(self) -> tuple[str, ...]:
        """What this model sees in sum only, or not at all, of this vehicle."""
        found = ["which of several modules of a type it is"] if self.pooled else []
        if any(need.pin and "/" in need.pin for need in self.sized.needs):
            found.append("pins closer than the panel")
        if self.scenario.rules.hot_share is not None:
            found.append("hot ways")
        if not self.scenario.rules.one_piece_per_feed_and_row:
            found.append("how the ways of a row are divided between strip pieces of one feed")
        if max(module.bays for module in self.catalogue.modules) > 1:
            found.append("wide modules within their carriers")
        return tuple(found)

    # --- what is bought

    def _copies(self, panel_bays: int, most_bays: int, module: Module) -> int:
        rules = self.scenario.rules
        limits = [limit.most for limit in rules.modules if limit.module == module.id]
        if rules.use_stock and module.stock is not None:
            limits.append(module.stock)
        if "spare-ways" not in self.scenario.rules.goals:  # nothing else makes a module of use that holds no need
            limits.append(len(self.sized.needs))
        return min([min(panel_bays, most_bays) // module.bays, *limits])

    def _carriers_and_modules(self, most_bays: int) -> None:
        """Rules carrier-allowed, bays-within-panel, module-count, module-stock; a bay holds one module."""
        for module in self.catalogue.modules:
            self.type_used[module.id] = self.linear.column()
        all_copies: dict[str, dict[int, float]] = defaultdict(dict)
        for site in self.scenario.panels:
            bays: dict[int, float] = {}
            for carrier in self.catalogue.carriers:
                if not site.carriers or carrier.id in site.carriers:
                    column = self.linear.column(site.max_bays // carrier.bays)
                    self.carriers[site.name, carrier.id] = column
                    bays[column] = carrier.bays
            self.linear.add(bays, high=site.max_bays)
            filled: dict[int, float] = {}
            for module in self.catalogue.modules:
                copies = self._copies(site.max_bays, most_bays, module)
                each = [copies] if self.pooled and copies else [1] * copies
                columns = [self.linear.column(number) for number in each]
                for copy, (column, number) in enumerate(zip(columns, each, strict=True)):
                    self.used[site.name, module.id, copy] = column
                    self.linear.add({column: 1, self.type_used[module.id]: -number}, high=0)
                    filled[column] = -module.bays
                    all_copies[module.id][column] = 1
                for first, second in pairwise(columns):
                    self.linear.add({first: 1, second: -1}, low=0)
            self.linear.add(bays | filled, low=0)
        for limit in self.scenario.rules.modules:
            self.linear.add(all_copies[limit.module], high=limit.most)
        for module in self.catalogue.modules if self.scenario.rules.use_stock else ():
            if module.stock is not None:
                self.linear.add(all_copies[module.id], high=module.stock)

    def module(self, instance: Instance) -> Module:
        """Return the type of a copy."""
        return self.sized.module_by_id[instance[1]]

    def rows(self) -> Iterator[Row]:
        """Yield every row of every copy."""
        for instance in self.used:
            for row in range(len(self.module(instance).rows)):
                yield (*instance, row)

    # --- where needs go

    def _equal_needs(self) -> Mapping[object, list[Need]]:
        """Group needs; one that a rule, a feed or a pin names stays alone."""
        rules = self.scenario.rules
        named = {name for bond in (*rules.apart, *rules.together) for name in bond.circuits}
        found: dict[object, list[Need]] = defaultdict(list)
        for need in self.sized.needs:
            alone = need.supplies or need.pin or need.id in named
            options = tuple((*_place(option), self._worth(option)) for option in need.options)
            key = need.id if alone else (need.feeds, need.load_ma_by_case, options, need.takes_way)
            found[key].append(need)
        return found

    @staticmethod
    def _worth(option: Option) -> object:
        wires = tuple((cut.wire, cut.length_mm) for cut in option.wires)
        return (tuple(sorted(option.parts.items())), wires, option.jumper_wire, option.cavities, option.fuse_rating_a)

    def _needs(self) -> None:
        """Rules every-need-placed, way-exists, format-matches, panel-accepted, feed-accepted, relay-present."""
        in_row: dict[Row, dict[int, float]] = defaultdict(dict)
        in_sockets: dict[tuple[Instance, str], dict[int, float]] = defaultdict(dict)
        for number, group in enumerate(self.groups):
            need, count = group.one, len(group.needs)
            pinned = need.pin.split("/")[0] if need.pin else None
            chosen: dict[int, float] = {}
            by_way: dict[tuple[str, str], dict[int, float]] = defaultdict(dict)
            by_relay: dict[tuple[str, str], dict[int, float]] = defaultdict(dict)
            for index, option in enumerate(need.options):
                if pinned not in (None, option.panel):
                    continue
                column = self.option[number, index] = self.linear.column(count)
                chosen[column] = 1
                if need.takes_way:
                    by_way[option.panel, str(option.fuse_format)][column] = -1
                if option.relay_class is not None:
                    by_relay[option.panel, option.relay_class][column] = -1
            self.linear.add(chosen, low=count, high=count)
            for (panel, fuse_format), terms in by_way.items():
                ways: dict[int, float] = {}
                for row in self._rows_of(panel, fuse_format):
                    for feed in need.feeds:
                        if self.entry(row, feed) is not None:
                            column = self.linear.column(min(count, self._ways(row) * self._number(row[:3])))
                            self.at[number, row, feed] = column
                            ways[column] = in_row[row][column] = 1
                self.linear.add(terms | ways, low=0, high=0)
            for (panel, relay_class), terms in by_relay.items():
                sockets: dict[int, float] = {}
                for instance in self.used:
                    if instance[0] == panel and self._sockets(instance, relay_class):
                        room = self._sockets(instance, relay_class) * self._number(instance)
                        column = self.linear.column(min(count, room))
                        self.relay[number, instance, relay_class] = column
                        sockets[column] = in_sockets[instance, relay_class][column] = 1
                self.linear.add(terms | sockets, low=0, high=0)
        for row, terms in in_row.items():
            self.linear.add(terms | {self.used[row[:3]]: -self._ways(row)}, high=0)
        for (instance, relay_class), terms in in_sockets.items():
            self.linear.add(terms | {self.used[instance]: -self._sockets(instance, relay_class)}, high=0)

    def _number(self, instance: Instance) -> int:
        """Return of how many modules a copy may stand for."""
        return int(self.linear.upper[self.used[instance]])

    def _rows_of(self, panel: str, fuse_format: str) -> Iterator[Row]:
        for row in self.rows():
            if row[0] == panel and self.module(row[:3]).rows[row[3]].fuse_format == fuse_format:
                yield row

    def _ways(self, row: Row) -> int:
        return self.module(row[:3]).rows[row[3]].ways

    def _sockets(self, instance: Instance, relay_class: str) -> int:
        return sum(group.count for group in self.module(instance).sockets if group.relay_class == relay_class)

    # --- feed entries

    def supply_group(self, row: Row) -> int:
        """Return the supply group of a row."""
        return supply_group_of(self.module(row[:3]), row[3])

    def _rows_in(self, instance: Instance, group: int) -> list[CatalogueRow]:
        """Return the rows of a supply group."""
        rows = enumerate(self.module(instance).rows)
        return [row for number, row in rows if self.supply_group((*instance, number)) == group]

    def entry(self, row: Row, feed: str) -> Entry | None:
        """Return how a feed enters the supply group of a row; None where it cannot."""
        return self.sized.entries.get((row[0], row[1], self.supply_group(row), feed))

    def _entries(self) -> None:
        """Rules way-is-fed, one-feed-per-piece, one-piece-per-feed-and-row; one feed on a stud."""
        ways: dict[tuple[Instance, int, str], dict[int, float]] = defaultdict(dict)
        for (_, row, feed), column in self.at.items():
            ways[row[:3], self.supply_group(row), feed][column] = 1
        on_stud: dict[tuple[Instance, int], dict[int, float]] = defaultdict(dict)
        for (instance, group, feed), terms in ways.items():
            rows = self._rows_in(instance, group)
            total, bus = sum(row.ways for row in rows), rows[0].bus
            one = bus == "stud" or (bus == "strip" and self.scenario.rules.one_piece_per_feed_and_row)
            most = (1 if one else total) * self._number(instance)
            column = self.entries[instance, group, feed] = self.linear.column(most)
            if bus == "single":
                self.linear.add(terms | {column: -1}, low=0, high=0)
                continue
            self.linear.add(terms | {column: -total}, high=0)
            self.linear.add(terms | {column: -1}, low=0)
            if bus == "stud":
                on_stud[instance, group][column] = 1
            elif one:
                self.linear.add({column: 1, self.used[instance]: -1}, high=0)
        for (instance, _), terms in on_stud.items():
            self.linear.add(terms | {self.used[instance]: -1}, high=0)

    def in_module(self, number: int, instance: Instance) -> dict[int, float]:
        """Return the columns that say how many of a group have their way in a module."""
        return {column: 1 for (n, row, _), column in self.at.items() if n == number and row[:3] == instance}

    def sockets_entered(self) -> Sequence[tuple[str, str]]:
        """Return feed and panel of every relay socket that a feed enters directly."""
        return [(group.one.feeds[0], group.one.options[0].panel) for group in self.groups if not group.one.takes_way]


def supply_group_of(module: Module, row: int) -> int:
    """Return the supply group of a row: one for all rows on the stud, one for each other, numbered as they come."""
    through = [bus if bus == "stud" else f"row {number}" for number, bus in enumerate(r.bus for r in module.rows)]
    return list(dict.fromkeys(through)).index(through[row])


def _place(option: Option) -> tuple[str, str | None, str | None]:
    return option.panel, option.fuse_format, option.relay_class
