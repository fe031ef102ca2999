"""
The modules of one panel, filled with the needs that lie there: several kinds of bin, as cheaply as may be.

Comes from a frame and the choice of every need; goes to ``module_fillings.py`` as modules with their needs. Limits and
prices differ from type to type, and not every feed enters every type. A load case is packed (``patterns.py``); the
others, fuse formats and what must be apart are seen to filling by filling.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from math import gcd

from allocator.model.classes import Choice
from allocator.model.frame import Frame
from allocator.model.housing import carrier_cents, module_cents
from allocator.requirements.catalogue import Module
from allocator.requirements.scenario import Goal
from allocator.solving.engine import Clock
from allocator.solving.patterns import Kind, Pattern, Patterns, Thing

LOOKS, LOOKS_OF_CASES = 100, 30
"""Steps of the dive (``patterns.py``), and where several load cases matter: then it is far from exact."""
FINEST = 2000
"""Into how many units a limit is divided at the most; loads are rounded up to units, so that what fits does fit."""
INSIDE = ("row", "module")
"""Levels at which needs that are bound together share a module."""
Ways = tuple[tuple[tuple[str, str], int], ...]
"""Ways by (format, feed)."""
Chosen = Mapping[tuple[int, int], int]
"""Needs of a class that take a choice, by (class index, choice index)."""


@dataclass(frozen=True)
class _Sort:
    """Things that a filling cannot tell apart: needs, or needs that are bound to share a module, as one thing."""

    things: tuple[tuple[int, ...], ...]
    """Classes of the needs of each."""
    load_ma_by_case: tuple[int, ...]
    """Of one of them; likewise ``ways``, by (format, feed)."""
    ways: Counter[tuple[str, str]]
    apart: frozenset[int]
    """Numbers of the rules that keep it out of the modules of others."""


class PanelFilling:
    """The modules of one panel, and the needs that lie in them."""

    def __init__(self, frame: Frame, name: str, chosen: Chosen, types: Sequence[str], goals: Sequence[Goal]) -> None:
        self.frame, self.name, self.chosen, self.goals = frame, name, chosen, goals
        modules = [frame.sized.module_by_id[module] for module in types]
        self.modules = [m for m in modules if m.rows and all(row.bus != "stud" for row in m.rows)]
        self.sorts = list(self._sorts())
        totals = [sum(s.load_ma_by_case[case] * len(s.things) for s in self.sorts) for case in range(len(frame.cases))]
        self.case = totals.index(max(totals))
        """The case with the highest load; the others are seen to when a filling is mended."""

    @cached_property
    def _draws(self) -> Mapping[str, tuple[int, ...]]:
        """Load of every feed in every case that matters."""
        on_feed: dict[str, list[tuple[int, int]]] = defaultdict(list)
        for (index, number), count in self.chosen.items():
            on_feed[self.frame.classes[index].choices[number].feed].append((index, count))
        draws: dict[str, tuple[int, ...]] = {}

        def draw(feed: str) -> tuple[int, ...]:
            if feed not in draws:
                loads = [[load * count for load in self._load(index, draw)] for index, count in on_feed[feed] if count]
                draws[feed] = tuple(map(sum, zip(*loads, strict=True))) or (0,) * len(self.frame.cases)
            return draws[feed]

        return {feed: draw(feed) for feed in self.frame.sized.feeds}

    def _load(self, index: int, draw: Callable[[str], tuple[int, ...]]) -> tuple[int, ...]:
        """Return what a need of a class draws in every case, a branch with all that is behind it."""
        members = self.frame.classes[index]
        own = [members.load_ma_by_case[case] for case in self.frame.cases]
        behind = draw(members.supplies) if members.supplies else [0] * len(own)
        return tuple(map(sum, zip(own, behind, strict=True)))

    def _sorts(self) -> Iterator[_Sort]:
        rules = self.frame.sized.requirements.scenario.rules
        bundles = {c: n for n, bond in enumerate(rules.together) if bond.level in INSIDE for c in bond.circuits}
        apart: dict[str, set[int]] = defaultdict(set)
        for number, bond in enumerate(rules.apart):
            for circuit in bond.circuits if bond.level == "module" else ():
                apart[circuit].add(number)
        things: dict[object, list[tuple[int, Choice]]] = defaultdict(list)
        for (index, number), count in self.chosen.items():
            members = self.frame.classes[index]
            choice = members.choices[number]
            if members.takes_way and choice.option.panel == self.name:
                for copy in range(count):
                    things[bundles.get(members.needs[0], (index, number, copy))].append((index, choice))
        sorts: dict[tuple[tuple[int, ...], Ways, frozenset[int]], list[tuple[int, ...]]] = defaultdict(list)
        for held in things.values():
            each = (self._load(index, self._draws.__getitem__) for index, _ in held)
            loads = tuple(map(sum, zip(*each, strict=True)))
            ways = Counter((str(choice.option.fuse_format), choice.feed) for _, choice in held)
            kept_apart = frozenset().union(*(apart[self.frame.classes[index].needs[0]] for index, _ in held))
            sorts[loads, tuple(sorted(ways.items())), kept_apart].append(tuple(index for index, _ in held))
        for (loads, taken, kept_apart), alike in sorts.items():
            yield _Sort(tuple(alike), loads, Counter(dict(taken)), kept_apart)

    @cached_property
    def _limits_ma(self) -> Mapping[str, int]:
        """What a module carries, in itself or in all of its rows; 0: it has no limit."""
        sized, found = self.frame.sized, {}
        for module in self.modules:
            rows = [sized.row_limit_ma.get((self.name, module.id, row)) for row in range(len(module.rows))]
            own = sized.module_limit_ma.get((self.name, module.id))
            in_rows = None if None in rows else sum(limit or 0 for limit in rows)
            found[module.id] = min((limit for limit in (own, in_rows) if limit is not None), default=0)
        return found

    @cached_property
    def _cost(self) -> Mapping[str, int]:
        """What a module costs in the goals that modules decide; the first one outweighs the other."""
        catalogue = self.frame.sized.requirements.catalogue
        per_bay = min(carrier_cents(catalogue, carrier) // carrier.bays for carrier in catalogue.carriers)
        cents = {module.id: module_cents(catalogue, module) + per_bay * module.bays for module in self.modules}
        worths = {"bays": {module.id: module.bays for module in self.modules}, "price": cents}
        asked = [worths[goal] for goal in self.goals if goal in worths] or [worths["bays"]]
        most = 1 + max(asked[-1].values()) * len(self.frame.sized.needs)
        both = {module: asked[0][module] * (most if asked[1:] else 1) for module in cents}
        return {module: cost + (asked[1][module] if asked[1:] else 0) for module, cost in both.items()}

    @property
    def amperes_run_out(self) -> bool:
        """Whether every module has a limit, and modules are dearer by amperes than by ways."""
        if not self.sorts or not self.modules or not all(self._limits_ma.values()):
            return False
        load_ma = sum(sort.load_ma_by_case[self.case] * len(sort.things) for sort in self.sorts)
        ways = sum(sort.ways.total() * len(sort.things) for sort in self.sorts)
        by_amperes = min(self._cost[m.id] * load_ma / self._limits_ma[m.id] for m in self.modules)
        return by_amperes >= min(self._cost[m.id] * ways / _ways(m) for m in self.modules)

    def fill(self, clock: Clock, enough: int) -> list[tuple[str, Counter[int]]]:
        """Return modules with the needs of each class in them, of a cost that is enough or not; nothing: none found."""
        unit = reduce(gcd, (sort.load_ma_by_case[self.case] for sort in self.sorts)) or 1
        unit = max(unit, -(-max(self._limits_ma.values()) // FINEST))
        sizes = [-(-sort.load_ma_by_case[self.case] // unit) for sort in self.sorts]
        ways = [sort.ways.total() if self._ways_may_run_out else 0 for sort in self.sorts]
        common = reduce(gcd, self._cost.values()) or 1
        kinds = [
            Kind(
                self._limits_ma[module.id] // unit,
                self._cost[module.id] // common,
                _ways(module) if self._ways_may_run_out else 0,
                frozenset(number for number, sort in enumerate(self.sorts) if self._takes(module, sort)),
            )
            for module in self.modules
        ]
        numbers = [len(sort.things) for sort in self.sorts]
        patterns = Patterns(list(map(Thing, sizes, numbers, ways)), kinds, clock, self._surplus)
        held, _ = patterns.cheapest(None, enough // common, (LOOKS_OF_CASES if self.frame.cases[1:] else LOOKS,))
        left = [list(sort.things) for sort in self.sorts]
        return [
            (
                self.modules[pattern.kind].id,
                Counter(
                    index for of, n in zip(left, pattern.held, strict=True) for _ in range(n) for index in of.pop(0)
                ),
            )
            for pattern in sorted(held or (), key=lambda pattern: (pattern.kind, pattern.held))
        ]

    @cached_property
    def _ways_may_run_out(self) -> bool:
        """Whether the smallest loads that a module carries need more ways than it has."""
        loads = sorted(
            sort.load_ma_by_case[self.case] / sort.ways.total()
            for sort in self.sorts
            for _ in range(sort.ways.total() * len(sort.things))
        )
        return any(sum(loads[: _ways(m) + 1]) <= self._limits_ma[m.id] and len(loads) > _ways(m) for m in self.modules)

    def _takes(self, module: Module, sort: _Sort) -> bool:
        """Whether a module has a row for every way of a sort, which its feed may enter and which carries it."""
        sized, groups = self.frame.sized, enumerate(self.frame.groups_of(module.id))
        least_ma = max(sort.load_ma_by_case) if sort.ways.total() == 1 else 0
        limits_ma = {
            (str(module.rows[rows[0]].fuse_format), feed): sized.entry_limit_ma(self.name, module.id, group, feed) or 0
            for group, rows in groups
            for _, feed in sort.ways
            if (self.name, module.id, group, feed) in sized.entries
        }
        return all(limits_ma.get(way, -1) >= least_ma for way in sort.ways)

    def _surplus(self, pattern: Pattern) -> int | None:
        """Name what is too much for a load case or a format, or must be apart."""
        module, held = self.modules[pattern.kind], pattern.held
        inside = [number for number, count in enumerate(held) if count]
        for case in range(len(self.frame.cases)):
            loads = {number: self.sorts[number].load_ma_by_case[case] for number in inside}
            if sum(load * held[number] for number, load in loads.items()) > self._limits_ma[module.id]:
                return max(inside, key=loads.__getitem__)
        for row_format in sorted({row.fuse_format for row in module.rows}):
            ways = {n: sum(w for (f, _), w in self.sorts[n].ways.items() if f == row_format) for n in inside}
            there = sum(row.ways for row in module.rows if row.fuse_format == row_format)
            if sum(taken * held[number] for number, taken in ways.items()) > there:
                return min((n for n in inside if ways[n]), key=lambda n: self.sorts[n].load_ma_by_case[self.case])
        for rule in sorted(frozenset().union(*(self.sorts[number].apart for number in inside))):
            of_rule = [number for number in inside if rule in self.sorts[number].apart]
            if sum(held[number] for number in of_rule) > 1:
                return of_rule[-1]
        return None


def _ways(module: Module) -> int:
    return sum(row.ways for row in module.rows)
