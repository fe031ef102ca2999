"""
The direct model: one yes-or-no variable for every circuit in every row on every feed, as one would write it first.

Comes in as a ``Sized`` of one panel with strip rows; goes out as a ``Linear`` for any solver, with the goals bays,
module types and strip pieces. It is written to be fast for what it is: copies of a type are used in order, no more of
them than counting allows, counting bounds are rows of the model, and branches, separations and spare ways are in it.
How a row's ways split into pieces it sees in sum only, which is to its advantage.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import floor, gcd
from typing import Any

from allocator.requirements.catalogue import Module
from allocator.requirements.scenario import Bond, Goal
from allocator.sizing.sized import Need, Sized
from tests.benchmarks.linear import Linear, Terms

Instance = tuple[str, int]
"""Module type and copy."""
Row = tuple[str, int, int]
"""Module type, copy and row."""
Key = tuple[Any, ...]
"""What a column stands for: its kind first, then names."""


@dataclass(frozen=True)
class Within:
    """What is known beforehand: copies of each type that can be of use, and a lower bound and a value of every goal."""

    copies: Mapping[str, int]
    bounds: Mapping[Goal, int]
    values: Mapping[Goal, int]


class Direct:
    """The model with its columns by what they stand for."""

    def __init__(self, sized: Sized, within: Within) -> None:
        self.sized, self.within = sized, within
        self.linear = Linear()
        self.columns: dict[Key, int] = {}
        self.site, *others = sized.requirements.scenario.panels
        rows = [row for module in sized.requirements.catalogue.modules for row in module.rows]
        assert not others and all(row.bus == "strip" for row in rows), "one panel, strip rows"
        assert not sized.requirements.scenario.rules.together and not any(need.pin for need in sized.needs)
        self.cases = range(len(sized.requirements.scenario.load_cases))
        # Small numbers are kinder to floating point: every load is so many times this current.
        self.unit_ma = gcd(*(load for need in sized.needs for load in need.load_ma_by_case))
        self.at: dict[tuple[str, Row, str], int] = {}
        self.pieces: dict[tuple[Row, str], list[int]] = defaultdict(list)
        self._modules_and_carriers()
        self._pieces()
        self._ways()
        self._relays()
        self._feeds()
        self._currents()
        for bond in sized.requirements.scenario.rules.apart:
            self._apart(bond)
        self.goals = self._goals()

    def _column(self, *key: Hashable, upper: int = 1, whole: bool = True) -> int:
        self.columns[key] = self.linear.column(upper, whole=whole)
        return self.columns[key]

    def _instances(self) -> Iterator[tuple[Instance, Module]]:
        for module in self.sized.requirements.catalogue.modules:
            for copy in range(self.within.copies[module.id]):
                yield (module.id, copy), module

    def _rows(self) -> Iterator[tuple[Row, Module]]:
        for instance, module in self._instances():
            for row in range(len(module.rows)):
                yield (*instance, row), module

    def _modules_and_carriers(self) -> None:
        """Copies in order, carriers with bays enough; a module of two bays lies in one carrier."""
        for module in self.sized.requirements.catalogue.modules:
            if self.within.copies[module.id]:
                self._column("type", module.id)
        filled: dict[int, int] = {}
        wide: dict[int, int] = {}
        for (name, copy), module in self._instances():
            used = self._column("used", name, copy)
            self.linear.add({used: 1, self.columns["type", name]: -1}, high=0)
            if copy:
                self.linear.add({used: 1, self.columns["used", name, copy - 1]: -1}, high=0)
            filled[used] = -module.bays
            if module.bays > 1:
                assert module.bays == 2, "modules of one bay or two"
                wide[used] = -1
        bays: dict[int, int] = {}
        pairs: dict[int, int] = {}
        for carrier in self.sized.requirements.catalogue.carriers:
            column = self._column("carrier", carrier.id, upper=self.site.max_bays // carrier.bays)
            bays[column], pairs[column] = carrier.bays, carrier.bays // 2
        self.linear.add(bays | filled, low=0)
        self.linear.add(pairs | wide, low=0)
        self.linear.add(bays, high=self.site.max_bays)

    def _pieces(self) -> None:
        """A feed has a piece in a row, and more where one could not carry a full row."""
        most_ma = max(max(need.load_ma_by_case) for need in self.sized.needs)
        branch_ma = max((floor(feed.allowed_ma) for feed in self.sized.feeds.values() if feed.source), default=0)
        for row, module in self._rows():
            for feed in self.sized.feeds:
                entry = self.sized.entries.get((self.site.name, module.id, row[2], feed))
                if entry is None:
                    continue
                ways = module.rows[row[2]].ways
                number = min(ways, -(-(ways * most_ma + branch_ma) // entry.limit_ma))
                for piece in range(number):
                    self.pieces[row, feed].append(self._column("piece", row, feed, piece))
                for first, second in pairwise(self.pieces[row, feed]):
                    self.linear.add({second: 1, first: -1}, high=0)

    def _ways(self) -> None:
        """Every need takes one way of its format, on one of its feeds, where that feed has a piece."""
        here: dict[tuple[Row, str], dict[int, int]] = defaultdict(dict)
        for need in self.sized.needs:
            assert need.takes_way, "feeds that enter at a socket"
            places: dict[int, int] = {}
            for row, module in self._rows():
                if any(o.fuse_format == module.rows[row[2]].fuse_format for o in need.options):
                    for feed in need.feeds:
                        if (row, feed) in self.pieces:
                            column = self._column("at", need.id, row, feed)
                            self.at[need.id, row, feed] = column
                            places[column] = 1
                            here[row, feed][column] = 1
            self.linear.add(places, low=1, high=1)
        in_row: dict[Row, dict[int, int]] = defaultdict(dict)
        for (row, feed), terms in here.items():
            ways = self.sized.module_by_id[row[0]].rows[row[2]].ways
            self.linear.add(terms | {self.pieces[row, feed][0]: -ways}, high=0)
            in_row[row] |= terms
        for row, terms in in_row.items():
            ways = self.sized.module_by_id[row[0]].rows[row[2]].ways
            self.linear.add(terms | {self.columns["used", row[0], row[1]]: -ways}, high=0)

    def _relays(self) -> None:
        """Every relay takes one socket of a class that serves."""
        taken: dict[tuple[Instance, str], dict[int, int]] = defaultdict(dict)
        for need in self.sized.needs:
            classes = sorted({option.relay_class for option in need.options if option.relay_class})
            formats = {option.fuse_format for option in need.options}
            assert len(need.options) == len(formats) * max(1, len(classes)), "formats and classes that depend"
            places: dict[int, int] = {}
            for instance, module in self._instances():
                for group in module.sockets:
                    if group.relay_class in classes:
                        column = self._column("relay", need.id, instance, group.relay_class)
                        places[column] = 1
                        taken[instance, group.relay_class][column] = 1
            if classes:
                self.linear.add(places, low=1, high=1)
        for (instance, relay_class), terms in taken.items():
            sockets = self.sized.module_by_id[instance[0]].sockets
            count = sum(group.count for group in sockets if group.relay_class == relay_class)
            self.linear.add(terms | {self.columns["used", *instance]: -count}, high=0)

    def _feeds(self) -> None:
        """The load of a feed, with all that branches from it, stays within its share."""
        for name, feed in self.sized.feeds.items():
            for case in self.cases:
                self._column("draw", name, case, upper=floor(feed.allowed_ma / self.unit_ma), whole=False)
        for case in self.cases:
            loads: dict[str, dict[int, int]] = {
                name: {self.columns["draw", name, case]: -1} for name in self.sized.feeds
            }
            for (name, _, source), column in self.at.items():
                loads[source][column] = self._load(self.sized.need_by_id[name], case)
            for need in self.sized.needs:
                if need.supplies is not None:
                    loads[need.feeds[0]][self.columns["draw", need.supplies, case]] = 1
            for terms in loads.values():
                self.linear.add(terms, low=0, high=0)

    def _currents(self) -> None:
        """Limits of pieces, rows and modules in every case; the way of a branch carries the whole branch."""
        for case in self.cases:
            by_piece: dict[tuple[Row, str], dict[int, int]] = defaultdict(dict)
            for (name, row, feed), column in self.at.items():
                need = self.sized.need_by_id[name]
                by_piece[row, feed][column] = self._load(need, case)
                if need.supplies is not None:
                    by_piece[row, feed][self._branch(need, row, column, case)] = 1
            by_row: dict[Row, dict[int, int]] = defaultdict(dict)
            by_module: dict[Instance, dict[int, int]] = defaultdict(dict)
            for (row, feed), terms in by_piece.items():
                limit_ma = self.sized.entries[self.site.name, row[0], row[2], feed].limit_ma
                self.linear.add(terms | dict.fromkeys(self.pieces[row, feed], -(limit_ma // self.unit_ma)), high=0)
                by_row[row] |= terms
                by_module[row[:2]] |= terms
            for row, terms in by_row.items():
                self._limit(terms, self.sized.row_limit_ma[self.site.name, row[0], row[2]])
            for instance, terms in by_module.items():
                self._limit(terms, self.sized.module_limit_ma[self.site.name, instance[0]])

    def _branch(self, need: Need, row: Row, at: int, case: int) -> int:
        """Return a column that is at least the branch's load if its way is in this row."""
        most = floor(self.sized.feeds[str(need.supplies)].allowed_ma / self.unit_ma)
        load = self._column("branch", need.id, row, case, upper=most, whole=False)
        self.linear.add({load: 1, self.columns["draw", need.supplies, case]: -1, at: -most}, low=-most)
        return load

    def _limit(self, terms: Terms, limit_ma: int | None) -> None:
        if limit_ma is not None:
            self.linear.add(terms, high=limit_ma // self.unit_ma)

    def _load(self, need: Need, case: int) -> int:
        return need.load_ma_by_case[case] // self.unit_ma

    def _apart(self, bond: Bond) -> None:
        """No two of the circuits on one feed, in one row, in one module."""
        shared: dict[Hashable, dict[int, int]] = defaultdict(dict)
        for (need, row, feed), column in self.at.items():
            if need in bond.circuits:
                shared[{"feed": feed, "row": row, "module": row[:2]}[bond.level]][column] = 1
        for terms in shared.values():
            self.linear.add(terms, high=1)

    def _goals(self) -> dict[Goal, Terms]:
        bays_of = {carrier.id: carrier.bays for carrier in self.sized.requirements.catalogue.carriers}
        goals: dict[Goal, dict[int, int]] = {"bays": {}, "module-types": {}, "strip-pieces": {}}
        for key, column in self.columns.items():
            kind, name = key[:2]
            if kind == "carrier":
                goals["bays"][column] = bays_of[name]
            elif kind == "type":
                goals["module-types"][column] = 1
            elif kind == "piece":
                goals["strip-pieces"][column] = 1
        for goal, bound in self.within.bounds.items():
            self.linear.add(goals[goal], low=bound)
        for goal, value in self.within.values.items():
            self.linear.add(goals[goal], high=value)
        return dict(goals)
