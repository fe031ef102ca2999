"""
A second, independent model of the mid-size problem: mixed-integer, solved by scipy's HiGHS, level by level.

Comes in as the sizing table of one panel whose modules have strip rows and sockets; goes out as the exact values of
bays, module types, strip pieces and peak utilisation, or None if no plan exists. Equal circuits are counted, not told
apart. It knows no spares, bonds, pins, feed trees, single or stud rows; it needs carriers of every size and at most one
strip piece a feed and row; it refuses what it does not know.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from allocator.sizing.sized import Need, Sized, supply_groups

LEVELS = ("bays", "module-types", "strip-pieces", "peak-utilisation")
Terms = Mapping[int, float]


def best_levels(sized: Sized) -> dict[str, Fraction] | None:
    """Return the lexicographic optimum of the four levels, exact, or None if there is no plan."""
    assert_known(sized)
    return _Panel(sized).solve()


def assert_known(sized: Sized) -> None:
    """Refuse a panel with anything this model leaves out."""
    scenario, catalogue = sized.requirements.scenario, sized.requirements.catalogue
    rules = scenario.rules
    assert rules.objective == LEVELS, "other goals"
    assert len(scenario.panels) == 1 and all(feed.source is None for feed in scenario.feeds), "panels or branches"
    assert not (rules.spares or rules.apart or rules.together or rules.use_stock), "wishes"
    assert rules.one_piece_per_feed_and_row, "several pieces of a feed in a row"
    assert all(row.bus == "strip" for module in catalogue.modules for row in module.rows), "single or stud rows"
    assert not any(need.pin for need in sized.needs), "pins"
    assert not any(circuit.key_out for circuit in sized.requirements.circuits), "key-out circuits"
    sizes = {carrier.bays for carrier in catalogue.carriers}
    assert sizes >= set(range(1, scenario.panels[0].max_bays + 1)), "carriers of every size"


@dataclass(frozen=True)
class _Kind:
    """Circuits that are equal in everything this model knows."""

    feeds: tuple[str, ...]
    formats: tuple[str, ...]
    classes: tuple[str, ...]
    load_ma_by_case: tuple[int, ...]


def _kind(need: Need) -> _Kind:
    formats = tuple(sorted({str(option.fuse_format) for option in need.options}))
    classes = tuple(sorted({option.relay_class for option in need.options if option.relay_class}))
    assert len(need.options) == len(formats) * max(1, len(classes)), "formats and classes that depend on each other"
    return _Kind(tuple(sorted(need.feeds)), formats, classes, need.load_ma_by_case)


@dataclass
class _Model:
    """Columns and rows as they are written down."""

    upper: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, upper: float, whole: bool = True) -> int:
        self.upper.append(upper)
        self.whole.append(int(whole))
        return len(self.upper) - 1

    def add(self, terms: Terms, low: float = -np.inf, high: float = np.inf) -> None:
        self.rows.append((terms, low, high))

    def minimise(self, goal: Terms) -> np.ndarray | None:
        cost = np.zeros(len(self.upper))
        for column, weight in goal.items():
            cost[column] = weight
        entries = [(i, column, value) for i, (terms, _, _) in enumerate(self.rows) for column, value in terms.items()]
        i, j, values = zip(*entries, strict=True)
        matrix = coo_matrix((values, (i, j)), shape=(len(self.rows), len(self.upper)))
        result = milp(
            cost,
            integrality=self.whole,
            bounds=Bounds(0, self.upper),
            constraints=LinearConstraint(
                matrix.tocsc(), [low for _, low, _ in self.rows], [high for *_, high in self.rows]
            ),
            options={"mip_rel_gap": 0.0, "time_limit": 120.0},
        )
        assert result.status in (0, 2), result.message  # 0 optimal, 2 infeasible: anything else proves nothing
        return None if result.status == 2 else np.asarray(result.x)


class _Panel:
    def __init__(self, sized: Sized) -> None:
        self.sized, self.model = sized, _Model()
        self.site = sized.requirements.scenario.panels[0]
        self.kinds = Counter(_kind(need) for need in sized.needs)
        self.used: dict[tuple[str, int], int] = {}
        self.type_used: dict[str, int] = {}
        self.number: dict[tuple[_Kind, str, str, int, int], int] = {}
        self.piece: dict[tuple[str, str, int, int], int] = {}
        self.peak = self.model.column(1.0, whole=False)
        self._modules()
        self._circuits()
        self._currents()
        self._sockets()

    def solve(self) -> dict[str, Fraction] | None:
        """Minimise level after level, each with those before it fixed."""
        bays = {column: float(self.sized.module_by_id[name].bays) for (name, _), column in self.used.items()}
        goals: dict[str, Terms] = {
            "bays": bays,
            "module-types": dict.fromkeys(self.type_used.values(), 1.0),
            "strip-pieces": dict.fromkeys(self.piece.values(), 1.0),
        }
        values: dict[str, Fraction] = {}
        for name, terms in goals.items():
            found = self.model.minimise(terms)
            if found is None:
                return None
            value = round(sum(weight * found[column] for column, weight in terms.items()))
            self.model.add(terms, high=value)
            values[name] = Fraction(value)
        found = self.model.minimise({self.peak: 1.0})
        assert found is not None
        return values | {"peak-utilisation": self._exact_peak(found)}

    def _exact_peak(self, found: np.ndarray) -> Fraction:
        """Recompute the peak from the rounded counts; the solver's own figure must agree with it."""
        loads = [
            sum(
                need.load_ma_by_case[case] * round(found[column])
                for (need, f, *_), column in self.number.items()
                if f == name
            )
            / feed.allowed_ma
            for name, feed in self.sized.feeds.items()
            for case in range(len(self.sized.requirements.scenario.load_cases))
        ]
        assert abs(float(max(loads)) - found[self.peak]) < 1e-6
        return Fraction(max(loads))

    def _modules(self) -> None:
        for name, module in self.sized.module_by_id.items():
            most = [limit.most for limit in self.sized.requirements.scenario.rules.modules if limit.module == name]
            count = min([self.site.max_bays // module.bays, len(self.sized.needs), *most])
            self.type_used[name] = self.model.column(1)
            columns = [self.model.column(1) for _ in range(count)]
            self.used |= {(name, index): column for index, column in enumerate(columns)}
            for first, second in pairwise(columns):
                self.model.add({first: 1, second: -1}, low=0)
            if columns:
                self.model.add({self.type_used[name]: 1, columns[0]: -1}, low=0)
        self.model.add(
            {column: self.sized.module_by_id[name].bays for (name, _), column in self.used.items()},
            high=self.site.max_bays,
        )

    def _circuits(self) -> None:
        for (name, index), used in self.used.items():
            for row_index, row in enumerate(self.sized.module_by_id[name].rows):
                for feed in self.sized.feeds:
                    self.piece[feed, name, index, row_index] = self.model.column(1)
                for kind, count in self.kinds.items():
                    if row.fuse_format in kind.formats:
                        for feed in kind.feeds:
                            self.number[kind, feed, name, index, row_index] = self.model.column(min(count, row.ways))
                here = [column for key, column in self.number.items() if key[2:] == (name, index, row_index)]
                self.model.add({used: row.ways} | dict.fromkeys(here, -1), low=0)
        for kind, count in self.kinds.items():
            places = [column for key, column in self.number.items() if key[0] == kind]
            self.model.add(dict.fromkeys(places, 1), low=count, high=count)

    def _loads(self, case: int, keys: Iterable[tuple[_Kind, str, str, int, int]]) -> dict[int, float]:
        return {self.number[key]: float(key[0].load_ma_by_case[case]) for key in keys}

    def _currents(self) -> None:
        panel, cases = self.site.name, range(len(self.sized.requirements.scenario.load_cases))
        for (feed, name, index, row_index), piece in self.piece.items():
            keys = [key for key in self.number if key[1:] == (feed, name, index, row_index)]
            group = next(g for g, rows in enumerate(supply_groups(self.sized.module_by_id[name])) if row_index in rows)
            entry = self.sized.entries.get((panel, name, group, feed))
            ways = self.sized.module_by_id[name].rows[row_index].ways if entry else 0
            self.model.add({piece: ways} | {self.number[key]: -1 for key in keys}, low=0)
            for case in cases if entry else ():
                self.model.add(self._loads(case, keys) | {piece: -entry.limit_ma if entry else 0}, high=0)
        for case in cases:
            for (name, index), _ in self.used.items():
                inside = [key for key in self.number if key[2:4] == (name, index)]
                self._limit(self._loads(case, inside), self.sized.module_limit_ma[panel, name])
                for row_index in range(len(self.sized.module_by_id[name].rows)):
                    row = [key for key in inside if key[4] == row_index]
                    self._limit(self._loads(case, row), self.sized.row_limit_ma[panel, name, row_index])
            for feed, sized_feed in self.sized.feeds.items():
                terms = self._loads(case, [key for key in self.number if key[1] == feed])
                self.model.add(terms | {self.peak: -float(sized_feed.allowed_ma)}, high=0)

    def _limit(self, terms: dict[int, float], limit_ma: int | None) -> None:
        if limit_ma is not None and terms:
            self.model.add(terms, high=limit_ma)

    def _sockets(self) -> None:
        taken: dict[str, dict[int, float]] = {}
        for kind, count in self.kinds.items():
            columns = {name: self.model.column(count) for name in kind.classes}
            if columns:
                self.model.add(dict.fromkeys(columns.values(), 1), low=count, high=count)
            for name, column in columns.items():
                taken.setdefault(name, {})[column] = -1
        for name, terms in taken.items():
            room = {
                column: float(sum(s.count for s in self.sized.module_by_id[module].sockets if s.relay_class == name))
                for (module, _), column in self.used.items()
            }
            self.model.add(terms | room, low=0)
