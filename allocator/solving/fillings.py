"""
Weights of needs that say how dear their modules must be at the least: the dual of a linear programme over fillings.

Comes from a frame; goes to ``models.py``, which hangs each as a rule (``model/fillings.py``) on every count. Fillings
of modules of several limits and prices are made as the programme asks for them (Gilmore and Gomory, "A linear
programming approach to the cutting-stock problem", 1961). Its prices of needs are rounded to whole weights, and the
most that a module can hold of these is then found exactly: rounding can make a rule weaker, never wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import reduce
from math import gcd

import numpy as np
from scipy.optimize import linprog

from allocator.model.fillings import Filling
from allocator.model.frame import Frame

FINE = 2**20
"""Weights are whole numbers of this fineness, the dearest module being 1."""
FINE_ENOUGH = 1e-7
MOST_FILLINGS = 400
STEPS = 1000
"""Into how many steps a limit is divided at the most; loads are rounded down to steps, so that what fits still fits."""
BETTER = 1.001
"""By how much weights must say more than the sum of all loads to be worth a rule."""


def fillings(frame: Frame) -> Iterator[Filling]:
    """Yield weights for the panels where every type of module has an ampere limit, a case and a cost at a time."""
    sized = frame.sized
    goals = sized.requirements.scenario.rules.goals
    for site in frame.panels:
        types = sorted(
            {i.module for i in frame.instances if i.panel == site.name and frame.sized.module_by_id[i.module].rows}
        )
        limits = {module: sized.module_limit_ma.get((site.name, module)) for module in types}
        known = {module: limit for module, limit in limits.items() if limit}
        if not types or len(known) < len(types):
            continue
        costs: list[dict[str, Fraction]] = []
        if "price" in goals:
            costs.append({module: Fraction(sized.price_by_part[module]) for module in types})
        if "bays" in goals:
            costs.append({module: Fraction(sized.module_by_id[module].bays) for module in types})
        for case in frame.cases:
            loads = {
                index: members.load_ma_by_case[case]
                for index, members in enumerate(frame.classes)
                if members.takes_way
                and members.supplies is None
                and 0 < members.load_ma_by_case[case] <= max(known.values())
                and all(choice.option.panel == site.name for choice in members.choices)
            }
            for cost in costs:
                if loads and all(cost.values()):
                    weights = _Fillings(frame, loads, known, cost).weights()
                    if weights is not None:
                        others = {m.id: 0 for m in sized.requirements.catalogue.modules}
                        yield Filling(site.name, weights[0], others | weights[1])


class _Fillings:
    """The linear programme of one panel and case."""

    def __init__(
        self, frame: Frame, loads: Mapping[int, int], limits: Mapping[str, int], cost: Mapping[str, Fraction]
    ) -> None:
        self.numbers = {index: len(frame.classes[index].needs) for index in loads}
        unit = max(reduce(gcd, loads.values()), -(-max(limits.values()) // STEPS))
        self.loads = {index: load // unit for index, load in loads.items() if load >= unit}
        self.limits = {module: limit // unit for module, limit in limits.items()}
        self.ways = {m: sum(row.ways for row in frame.sized.module_by_id[m].rows) for m in limits}
        dearest = max(cost.values())
        self.cost = {module: float(value / dearest) for module, value in cost.items()}
        cheapest = min(self.cost[module] / limit for module, limit in limits.items())
        self.divisible = cheapest * sum(load * self.numbers[index] for index, load in loads.items())

    def weights(self) -> tuple[dict[int, int], dict[str, int]] | None:
        """Return weights by class and the most by module; None if they say no more than the sum of all loads."""
        if not self.loads:
            return None
        cheapest_way = min(self.cost[module] / ways for module, ways in self.ways.items())
        if sum(self.numbers.values()) * cheapest_way > self.divisible:
            return None  # ways run out before amperes
        order = list(self.loads)
        columns: list[tuple[str, list[int]]] = [
            (module, [int(other == index) for other in order])
            for index in order
            for module, limit in self.limits.items()
            if self.loads[index] <= limit
        ]
        best: list[int] = []
        while len(columns) < MOST_FILLINGS + len(order) * len(self.limits):
            solved = linprog(
                [self.cost[module] for module, _ in columns],
                A_ub=-np.array([held for _, held in columns], dtype=float).T,
                b_ub=[-self.numbers[index] for index in order],
                method="highs",
            )
            if solved.status != 0:
                return None
            best = [max(0, int(-price * FINE)) for price in solved.ineqlin.marginals]
            found = [(module, *self._fullest(module, order, best)) for module in self.limits]
            new = [(m, held) for m, worth, held in found if worth > (self.cost[m] + FINE_ENOUGH) * FINE + len(order)]
            new = [column for column in new if column not in columns]
            if not new:
                break
            columns += new
        most = {module: self._fullest(module, order, best)[0] for module in self.limits}
        total = sum(weight * self.numbers[index] for weight, index in zip(best, order, strict=True))
        bound = total * min(self.cost[module] / most[module] for module in self.limits if most[module])
        if bound <= self.divisible * BETTER:
            return None
        return dict(zip(order, best, strict=True)), most

    def _fullest(self, module: str, order: list[int], weights: list[int]) -> tuple[int, list[int]]:
        """Return the most that a module can hold of the weights, exactly, and a filling that has it."""
        limit = self.limits[module]
        worth = np.zeros(limit + 1, dtype=np.int64)
        steps: list[tuple[int, int, np.ndarray]] = []
        for place, index in enumerate(order):
            load = self.loads[index]
            for _ in range(min(self.numbers[index], limit // load) if weights[place] else 0):
                more = worth[: limit + 1 - load] + weights[place]
                better = more > worth[load:]
                worth[load:] = np.where(better, more, worth[load:])
                steps.append((place, load, better))
        held, room = [0] * len(order), limit
        for place, load, better in reversed(steps):
            if room >= load and better[room - load]:
                held[place] += 1
                room -= load
        return int(worth[limit]), held
