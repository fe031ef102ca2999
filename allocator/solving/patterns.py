"""
Cheapest holders of several kinds for things: what one holder takes is a pattern, and patterns are chosen.

Comes in as things, demands and kinds of holder; goes out as patterns in use, with a bound that is exact. Patterns are
made one after the other as a linear programme asks for them (Gilmore and Gomory, "A linear programming approach to the
cutting-stock problem", 1961); its value, rounded up, is nearly always the least cost. Whole solutions come from fixing
patterns one by one and asking anew for what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from ortools.linear_solver import pywraplp
from ortools.sat.python.cp_model import CpModel, LinearExpr

from allocator.solving.engine import Clock, solve

FINE = 2**20
"""Prices of the linear programme are whole numbers of this fineness, so that the bound is exact."""
LOOKS = (100, 1000, 4000)
"""Steps of a dive, one linear programme each, before whole patterns are chosen among those known by then."""
WIDTH = 3
"""Patterns tried at a step, one after the other."""
CHOICE_EFFORT = 1.0
Counts = tuple[int, ...]
"""How many things of each sort."""


@dataclass(frozen=True, slots=True)
class Thing:
    """Things of one sort: the size of each, how many there are, and how many places each takes."""

    size: int
    number: int
    places: int = 0


@dataclass(frozen=True, slots=True)
class Kind:
    """Holders of one kind; ``takes`` are the sorts of thing that may lie in one, none: all."""

    capacity: int
    cost: int = 1
    places: int = 0
    takes: frozenset[int] | None = None


@dataclass(frozen=True, slots=True)
class Pattern:
    """What a holder of a kind holds."""

    kind: int
    held: Counts


Surplus = Callable[[Pattern], int | None]
"""Names a sort of which a pattern holds too many, for a reason that sizes and places do not see; None: it may be."""


class _Programme:
    """The linear programme: cover a demand as cheaply as may be, fractions allowed."""

    def __init__(self, demand: Sequence[int], kinds: Sequence[Kind]) -> None:
        self.demand, self.kinds = demand, kinds
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.rows = [self.solver.Constraint(number, self.solver.infinity()) for number in demand]
        self.columns: dict[Pattern, pywraplp.Variable] = {}
        self.solver.Objective().SetMinimization()

    def add(self, pattern: Pattern) -> bool:
        """Add what a pattern covers of the demand; say whether that was new."""
        useful = Pattern(pattern.kind, tuple(map(min, pattern.held, self.demand)))
        if useful in self.columns or not any(useful.held):
            return False
        self.columns[useful] = column = self.solver.NumVar(0, self.solver.infinity(), "")
        self.solver.Objective().SetCoefficient(column, self.kinds[pattern.kind].cost)
        for row, count in zip(self.rows, useful.held, strict=True):
            if count:
                row.SetCoefficient(column, count)
        return True

    def solve(self) -> tuple[list[int], float]:
        """Return the price of a thing of each sort, in units of ``1 / FINE``, and the value."""
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            raise RuntimeError("the linear programme over patterns did not end")
        return [max(0, int(row.dual_value() * FINE)) for row in self.rows], self.solver.Objective().Value()

    def weights(self) -> dict[Pattern, float]:
        """Return how much of each pattern is taken."""
        return {pattern: column.solution_value() for pattern, column in self.columns.items()}


@dataclass
class Patterns:
    """The linear programme over patterns, which grows as they are found."""

    things: Sequence[Thing]
    kinds: Sequence[Kind]
    clock: Clock
    surplus: Surplus = lambda pattern: None
    known: dict[Pattern, None] = field(default_factory=dict)
    looks: int = 0

    @cached_property
    def demand(self) -> Counts:
        """How many things of each sort there are."""
        return tuple(thing.number for thing in self.things)

    def cheapest(
        self, held: list[Pattern] | None, bound: int, stages: Sequence[int] = LOOKS
    ) -> tuple[list[Pattern] | None, int]:
        """
        Return cheaper holders and a better bound, as far as there are any; none where a thing fits into no holder.

        Parameters
        ----------
        held
            The best holders so far, if any.
        bound
            What is known to be the least cost.
        stages
            Steps of a dive, for one stage after the other.
        """
        self.known |= dict.fromkeys(held or ())
        for index, thing in enumerate(self.things):
            for number, kind in enumerate(self.kinds):
                as_many = self._most(index, thing, kind)
                alone = self._mended(Pattern(number, tuple(as_many * (index == i) for i in range(len(self.things)))))
                self.known |= {alone: None} if any(alone.held) else {}
        if not all(any(pattern.held[index] for pattern in self.known) for index in range(len(self.things))):
            return None, bound
        bound = max(bound, self._relax(self.demand)[1])
        for looks in stages:
            self.looks = looks
            while (held is None or self.cost(held) > bound) and self.clock.left_s > 0:
                less = None if held is None else self.cost(held) - 1
                found = self._dive(list(self.demand), [], less) or self._choice(less)
                if found is None:
                    break
                held = found
        return held, bound

    def cost(self, held: Sequence[Pattern]) -> int:
        """Return what holders cost."""
        return sum(self.kinds[pattern.kind].cost for pattern in held)

    @staticmethod
    def _most(index: int, thing: Thing, kind: Kind) -> int:
        """Return how many things of a sort a holder takes."""
        if thing.size > kind.capacity or thing.places > kind.places or not _takes(kind, index):
            return 0
        most = min(thing.number, kind.capacity // thing.size) if thing.size else thing.number
        return min(most, kind.places // thing.places) if thing.places else most

    def _relax(self, demand: Sequence[int]) -> tuple[dict[Pattern, float], int]:
        """Return how much of each pattern covers a demand, and a bound on the cost of holders for it."""
        programme, bound = _Programme(demand, self.kinds), 0
        for pattern in self.known:
            programme.add(pattern)
        while True:
            prices, value = programme.solve()
            best = self._best_patterns(prices, demand)
            # Farley, "A note on bounding a class of linear programming problems, including cutting stock" (1990).
            total = sum(price * number for price, number in zip(prices, demand, strict=True))
            ratios = [-(-total * self.kinds[pattern.kind].cost // worth) for worth, pattern in best if worth > 0]
            bound = max(bound, min(ratios, default=0))
            if bound >= value - 1e-6 or self.clock.left_s <= 0:
                return programme.weights(), bound
            dear = [
                pattern for worth, pattern in best if worth > self.kinds[pattern.kind].cost * (FINE + FINE // 2**14)
            ]
            added = [may for may in (self._mended(pattern, prices, demand) for pattern in dear) if programme.add(may)]
            if not added:
                return programme.weights(), bound
            self.known |= dict.fromkeys(added)

    def _mended(self, pattern: Pattern, prices: Sequence[int] = (), demand: Sequence[int] = ()) -> Pattern:
        """Take out what is too much; where that was anything, put in what there is a price and still room for."""
        mended, out = pattern, set[int]()
        while (index := self.surplus(mended)) is not None:
            mended = _more_of(mended, index, -1)
            out.add(index)
        for index in sorted(range(len(prices)), key=lambda index: -prices[index]) if out else ():
            may = prices[index] > 0 and index not in out and _takes(self.kinds[pattern.kind], index)
            while may and mended.held[index] < demand[index] and self._fits(_more_of(mended, index, 1)):
                mended = _more_of(mended, index, 1)
        return mended

    def _fits(self, pattern: Pattern) -> bool:
        kind = self.kinds[pattern.kind]
        places = sum(thing.places * count for thing, count in zip(self.things, pattern.held, strict=True))
        return self._size(pattern) <= kind.capacity and places <= kind.places and self.surplus(pattern) is None

    def _best_patterns(self, prices: Sequence[int], demand: Sequence[int]) -> list[tuple[int, Pattern]]:
        """Return the dearest pattern of each kind of holder, and what it is worth, exactly."""
        known: dict[tuple[int, int, frozenset[int] | None], tuple[int, Counts]] = {}
        best: list[tuple[int, Pattern]] = []
        for number, kind in enumerate(self.kinds):
            key = kind.capacity, kind.places, kind.takes
            if key not in known:
                known[key] = self._fullest(kind, prices, demand)
            worth, held = known[key]
            best.append((worth, Pattern(number, held)))
        return best

    def _fullest(self, kind: Kind, prices: Sequence[int], demand: Sequence[int]) -> tuple[int, Counts]:
        """Find the dearest filling of a holder: one thing after the other."""
        capacity, places = kind.capacity, kind.places
        worth = np.zeros((places + 1, capacity + 1), dtype=np.int64)
        steps: list[tuple[int, np.ndarray]] = []
        for index, (thing, price) in enumerate(zip(self.things, prices, strict=True)):
            most = min(demand[index], self._most(index, thing, kind)) if price else 0
            for _ in range(most):
                more = worth[: places + 1 - thing.places, : capacity + 1 - thing.size] + price
                there = worth[thing.places :, thing.size :]
                better = more > there
                worth[thing.places :, thing.size :] = np.where(better, more, there)
                steps.append((index, better))
        held, place, room = [0] * len(self.things), places, capacity
        for index, better in reversed(steps):
            thing = self.things[index]
            if place >= thing.places and room >= thing.size and better[place - thing.places, room - thing.size]:
                held[index] += 1
                place, room = place - thing.places, room - thing.size
        return int(worth[places, capacity]), tuple(held)

    def _dive(self, left: list[int], taken: list[Pattern], most: int | None) -> list[Pattern] | None:
        """
        Fix the weightiest pattern and ask anew for what is left, until nothing is; turn back where a bound forbids.

        Returns holders that cost at most ``most``, or None where ``looks`` ran out or there are none on the ways tried.
        """
        if not any(left):
            return taken
        self.looks -= 1
        weights, bound = self._relax(left)
        if most is not None and self.cost(taken) + bound > most:
            return None
        for pattern in sorted(weights, key=lambda p: (-round(weights[p], 6), -self._fill(p), p.held, p.kind))[:WIDTH]:
            if self.looks <= 0 or self.clock.left_s <= 0:
                return None
            more, rest = list(taken), left
            for _ in range(max(1, int(weights[pattern] + 1e-6))):
                rest = _take(pattern, rest, more)
            found = self._dive(rest, more, most)
            if found is not None:
                return found
        return None

    def _choice(self, most: int | None) -> list[Pattern] | None:
        """Choose whole patterns among those known; return holders that cost at most ``most``, or None."""
        model = CpModel()
        number = {pattern: model.new_int_var(0, sum(self.demand), "") for pattern in self.known}
        for index, wanted in enumerate(self.demand):
            model.add(LinearExpr.sum([pattern.held[index] * number[pattern] for pattern in number]) >= wanted)
        if most is not None:
            model.add(LinearExpr.sum([self.kinds[p.kind].cost * chosen for p, chosen in number.items()]) <= most)
        solved = solve(model, self.clock, effort=CHOICE_EFFORT)
        if not solved.has_solution:
            return None
        left, held = list(self.demand), list[Pattern]()
        for pattern, variable in number.items():
            for _ in range(solved.value(variable)):
                left = _take(pattern, left, held)
        return held

    def _fill(self, pattern: Pattern) -> float:
        return self._size(pattern) / self.kinds[pattern.kind].capacity

    def _size(self, pattern: Pattern) -> int:
        return sum(thing.size * count for thing, count in zip(self.things, pattern.held, strict=True))


def _takes(kind: Kind, index: int) -> bool:
    return kind.takes is None or index in kind.takes


def _more_of(pattern: Pattern, index: int, more: int) -> Pattern:
    held = pattern.held
    return Pattern(pattern.kind, (*held[:index], held[index] + more, *held[index + 1 :]))


def _take(pattern: Pattern, left: list[int], held: list[Pattern]) -> list[int]:
    """Add a holder with what is left of a pattern's things; return what is left then."""
    take = tuple(map(min, pattern.held, left))
    if any(take):
        held.append(Pattern(pattern.kind, take))
    return [rest - count for rest, count in zip(left, take, strict=True)]
