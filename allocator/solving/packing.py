"""
Fewest holders of one capacity for things of given sizes: strip pieces for loads, stock lengths for pieces.

Comes in as sizes and a capacity; goes out as groups with a bound that is exact. Best-fit and a counting bound close
most cases at once. Else patterns (what one holder takes) are made one after the other as a linear programme asks for
them (Gilmore and Gomory, "A linear programming approach to the cutting-stock problem", 1961); its value, rounded up, is
nearly always the fewest. Whole solutions come from fixing patterns one by one and asking anew for what is left.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from math import gcd

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
Pattern = tuple[int, ...]
"""How many things of each size a holder takes."""


@dataclass(frozen=True)
class Packing:
    """Sizes by holder, and the number below which no packing can be."""

    holders: tuple[tuple[int, ...], ...]
    fewest: int

    @property
    def is_fewest(self) -> bool:
        """Whether no packing takes fewer holders."""
        return len(self.holders) == self.fewest


def pack(sizes: Iterable[int], capacity: int, clock: Clock) -> Packing:
    """
    Pack things into holders, as few as the clock allows to find.

    Parameters
    ----------
    sizes
        Size of each thing, at least 1; none is larger than ``capacity``.
    capacity
        What one holder takes.

    Returns
    -------
    Packing
        The best packing found; the same for the same input unless the clock ran out.
    """
    ordered = sorted(sizes, reverse=True)
    unit = reduce(gcd, ordered, 0) or 1
    whole = [size // unit for size in ordered]
    room = capacity // unit
    holders = best_fit(whole, room)
    fewest = fewest_holders(whole, room)
    if len(holders) > fewest:
        holders, fewest = _Patterns(Counter(whole), room, clock).solve(holders, fewest)
    return Packing(tuple(tuple(size * unit for size in holder) for holder in holders), fewest)


def best_fit(ordered: Iterable[int], capacity: int) -> list[list[int]]:
    """Put each thing, largest first, where it leaves the least room; into a new holder where none has room."""
    holders: list[list[int]] = []
    room: list[int] = []
    for size in ordered:
        fitting = [number for number, left in enumerate(room) if left >= size]
        if fitting:
            best = min(fitting, key=room.__getitem__)
            holders[best].append(size)
            room[best] -= size
        else:
            holders.append([size])
            room.append(capacity - size)
    return holders


def fewest_holders(sizes: Sequence[int], capacity: int) -> int:
    """
    Return how many holders any packing takes at the least.

    Notes
    -----
    The larger of the sizes in all, and L2 of Martello and Toth, "Lower bounds and reduction procedures for the bin
    packing problem" (1990), which counts things that cannot share a holder.
    """
    best = -(-sum(sizes) // capacity)
    for small in sorted({0, *(size for size in sizes if 2 * size <= capacity)}):
        alone = sum(size > capacity - small for size in sizes)
        halves = [size for size in sizes if capacity < 2 * size and size <= capacity - small]
        light = sum(size for size in sizes if small <= size and 2 * size <= capacity)
        spill = light - sum(capacity - size for size in halves)
        best = max(best, alone + len(halves) + max(0, -(-spill // capacity)))
    return best


class _Programme:
    """The linear programme: cover a demand with as few patterns as may be, fractions allowed."""

    def __init__(self, demand: Sequence[int]) -> None:
        self.demand = demand
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.rows = [self.solver.Constraint(number, self.solver.infinity()) for number in demand]
        self.columns: dict[Pattern, pywraplp.Variable] = {}
        self.solver.Objective().SetMinimization()

    def add(self, pattern: Pattern) -> bool:
        """Add what a pattern covers of the demand; say whether that was new."""
        useful = tuple(map(min, pattern, self.demand))
        if useful in self.columns or not any(useful):
            return False
        self.columns[useful] = column = self.solver.NumVar(0, self.solver.infinity(), "")
        self.solver.Objective().SetCoefficient(column, 1)
        for row, count in zip(self.rows, useful, strict=True):
            if count:
                row.SetCoefficient(column, count)
        return True

    def solve(self) -> tuple[list[int], float]:
        """Return the price of a thing of each size, in units of ``1 / FINE``, and the value."""
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            raise RuntimeError("the linear programme over patterns did not end")
        return [max(0, int(row.dual_value() * FINE)) for row in self.rows], self.solver.Objective().Value()

    def weights(self) -> dict[Pattern, float]:
        """Return how much of each pattern is taken."""
        return {pattern: column.solution_value() for pattern, column in self.columns.items()}


@dataclass
class _Patterns:
    """The linear programme over patterns, which grows as they are found."""

    demands: Mapping[int, int]
    capacity: int
    clock: Clock
    known: dict[Pattern, None] = field(default_factory=dict)
    looks: int = 0

    def __post_init__(self) -> None:
        self.sizes = sorted(self.demands, reverse=True)

    def solve(self, holders: list[list[int]], fewest: int) -> tuple[list[list[int]], int]:
        """Return better holders and a better bound, as far as there are any."""
        for holder in holders:
            self._know(holder)
        for size in self.sizes:
            self._know([size] * min(self.demands[size], self.capacity // size))
        demand = [self.demands[size] for size in self.sizes]
        bound = max(fewest, self._relax(demand)[1])
        for looks in LOOKS:
            self.looks = looks
            while len(holders) > bound and self.clock.left_s > 0:
                found = self._dive(demand, [], len(holders) - 1) or self._choice(demand, len(holders) - 1)
                if found is None:
                    break
                holders = found
        return holders, bound

    def _know(self, holder: Iterable[int]) -> None:
        held = Counter(holder)
        self.known[tuple(held[size] for size in self.sizes)] = None

    def _relax(self, demand: Sequence[int]) -> tuple[dict[Pattern, float], int]:
        """Return how much of each pattern covers a demand, and a bound on the number of holders for it."""
        programme, bound = _Programme(demand), 0
        for pattern in self.known:
            programme.add(pattern)
        while True:
            prices, value = programme.solve()
            worth, pattern = self._best_pattern(prices, demand)
            # Farley, "A note on bounding a class of linear programming problems, including cutting stock" (1990).
            total = sum(price * number for price, number in zip(prices, demand, strict=True))
            if worth > 0:
                bound = max(bound, -(-total // worth))
            if worth <= FINE + FINE // 2**14 or bound >= value - 1e-6 or self.clock.left_s <= 0:
                return programme.weights(), bound
            if not programme.add(pattern):
                return programme.weights(), bound
            self.known[pattern] = None

    def _best_pattern(self, prices: Sequence[int], demand: Sequence[int]) -> tuple[int, Pattern]:
        """Return the dearest pattern that a holder takes, and what it is worth, exactly: one thing after the other."""
        worth = np.zeros(self.capacity + 1, dtype=np.int64)
        steps: list[tuple[int, int, np.ndarray]] = []
        for index, (size, price) in enumerate(zip(self.sizes, prices, strict=True)):
            for _ in range(min(demand[index], self.capacity // size) if price else 0):
                more = worth[: self.capacity + 1 - size] + price
                better = more > worth[size:]
                worth[size:] = np.where(better, more, worth[size:])
                steps.append((index, size, better))
        held, place = [0] * len(self.sizes), self.capacity
        for index, size, better in reversed(steps):
            if place >= size and better[place - size]:
                held[index] += 1
                place -= size
        return int(worth[self.capacity]), tuple(held)

    def _dive(self, left: list[int], holders: list[list[int]], most: int) -> list[list[int]] | None:
        """
        Fix the weightiest pattern and ask anew for what is left, until nothing is; turn back where a bound forbids.

        Returns at most ``most`` holders, or None where ``looks`` ran out or there are none on the ways tried.
        """
        if not any(left):
            return holders
        self.looks -= 1
        weights, bound = self._relax(left)
        if len(holders) + bound > most:
            return None
        for pattern in sorted(weights, key=lambda held: (-round(weights[held], 6), -self._fill(held), held))[:WIDTH]:
            if self.looks <= 0 or self.clock.left_s <= 0:
                return None
            taken, rest = list(holders), left
            for _ in range(max(1, int(weights[pattern] + 1e-6))):
                rest = self._take(pattern, rest, taken)
            found = self._dive(rest, taken, most)
            if found is not None:
                return found
        return None

    def _choice(self, demand: Sequence[int], most: int) -> list[list[int]] | None:
        """Choose whole patterns among those known; return at most so many holders, or None."""
        model = CpModel()
        number = {pattern: model.new_int_var(0, most, "") for pattern in self.known}
        for index, wanted in enumerate(demand):
            model.add(LinearExpr.sum([pattern[index] * number[pattern] for pattern in number]) >= wanted)
        model.add(LinearExpr.sum(list(number.values())) <= most)
        solved = solve(model, self.clock, effort=CHOICE_EFFORT)
        if not solved.has_solution:
            return None
        left, holders = list(demand), list[list[int]]()
        for pattern, variable in number.items():
            for _ in range(solved.value(variable)):
                left = self._take(pattern, left, holders)
        return holders

    def _take(self, pattern: Pattern, left: list[int], holders: list[list[int]]) -> list[int]:
        """Add a holder with what is left of a pattern's sizes; return what is left then."""
        take = list(map(min, pattern, left))
        if any(take):
            holders.append([size for size, count in zip(self.sizes, take, strict=True) for _ in range(count)])
        return [rest - count for rest, count in zip(left, take, strict=True)]

    def _fill(self, pattern: Pattern) -> int:
        return sum(size * count for size, count in zip(self.sizes, pattern, strict=True))
