"""
A model as a linear programme in whole numbers, minimised by HiGHS (in SciPy) instead of CP-SAT.

Comes in as a CP-SAT model whose rules are linear; goes out as a status that was read, a bound and a solution. A price
over whole counts has a strong linear relaxation: there branch and cut is quicker (docs/tradeoffs.md), and it finds
counts of hundreds of needs where the other solver finds none. HiGHS counts in floating point: what it finds is only a
proposal, which placing and checker judge; and "infeasible" is asked of caps with half a unit of room.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python.cp_model import CpModel, IntVar, LinearExprT
from scipy.optimize import Bounds, LinearConstraint, OptimizeWarning, milp
from scipy.sparse import csr_array

from allocator.solving.engine import Abandoned, Clock, Status

OPTIMAL, INFEASIBLE = 0, 2
"""Statuses of ``scipy.optimize.milp``."""
ROOM = 0.5
"""Added to every cap: a whole number is not above it, and rounding cannot make it seem so."""
NO_CAP = 2**50
Row = tuple[dict[int, float], float, float]
"""Coefficient by column, least and most."""
AtLeast = Mapping[int, int]
"""Numbers by the index of a variable, of which one at least must be reached."""


@dataclass(frozen=True)
class LinearSolved:
    """What one solve found; ``values`` by the index of the model's variable, empty without a solution."""

    status: Status
    bound: float
    values: tuple[int, ...] = field(repr=False)

    @property
    def has_solution(self) -> bool:
        """Whether there are values to read."""
        return bool(self.values)

    @property
    def all_values(self) -> Sequence[int]:
        """Values of all variables, by their index."""
        return self.values

    def value(self, variable: IntVar) -> int:
        """Return the value of a variable."""
        return self.values[variable.index]


class LinearModel:
    """The rules of a model, read once; every solve has caps and an objective of its own."""

    def __init__(self, model: CpModel, sums: Mapping[str, LinearExprT]) -> None:
        """
        Read a model.

        Parameters
        ----------
        model
            A model without an objective; the sums are added to it.
        sums
            Expressions that may be capped and minimised, by name.
        """
        bounds = {name: model.add(expression <= NO_CAP) for name, expression in sums.items()}
        proto = model.proto
        domains = [list(variable.domain) for variable in proto.variables]
        self._least = np.array([domain[0] for domain in domains], dtype=float)
        self._most = np.array([domain[-1] for domain in domains], dtype=float)
        self._sums = {name: _sum_of(proto.constraints[bound.index]) for name, bound in bounds.items()}
        self._rows = [row for constraint in proto.constraints for row in _rows_of(constraint, domains)]

    def minimise(
        self,
        weights: Mapping[str, float],
        caps: Mapping[str, int],
        caps_of_variables: Mapping[int, int],
        clock: Clock,
        *,
        nodes: int,
        gap: float,
        reached: Sequence[AtLeast] = (),
    ) -> LinearSolved:
        """
        Minimise weighted sums within caps.

        Parameters
        ----------
        weights, caps
            By the name of a sum.
        caps_of_variables
            By the index of a variable.
        nodes
            Nodes of the search after which it ends: an effort that every machine counts alike.
        gap
            Share of the value by which the best solution may be above the bound.
        reached
            Of each of these, one variable at least must reach its number.
        """
        if any(cap < self._least[index] for index, cap in caps_of_variables.items()):
            return LinearSolved("infeasible", float("inf"), ())
        either, columns = self._either(reached)
        least = np.concatenate([self._least, np.zeros(columns - len(self._least))])
        most = np.concatenate([self._most, np.ones(columns - len(self._most))])
        cost, constant = np.zeros(columns), 0.0
        for index, cap in caps_of_variables.items():
            most[index] = min(most[index], cap)
        for name, weight in weights.items():
            terms, shift = self._sums[name]
            constant += weight * shift
            for index, factor in terms.items():
                cost[index] += weight * factor
        rows = [*self._rows, *(self._capped(name, cap) for name, cap in caps.items()), *either]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", OptimizeWarning)  # that a limit was reached is read from the status
            result = milp(
                cost,
                integrality=np.ones(columns, dtype=int),
                bounds=Bounds(least, most),
                constraints=_matrix(rows, columns),
                options={"node_limit": nodes, "mip_rel_gap": gap, "time_limit": max(0.05, clock.left_s)},
            )
        if clock.abandoned:
            raise Abandoned
        if clock.left_s <= 0:
            clock.was_cut = True
        bound = -math.inf if result.mip_dual_bound is None else float(result.mip_dual_bound) + constant
        if result.status == INFEASIBLE:
            return LinearSolved("infeasible", math.inf, ())
        if result.x is None:
            return LinearSolved("unknown", bound, ())
        values = tuple(round(value) for value in result.x[: len(self._least)])
        return LinearSolved("optimal" if result.status == OPTIMAL else "feasible", bound, values)

    def _either(self, reached: Sequence[AtLeast]) -> tuple[list[Row], int]:
        """Return rows that say which number is reached, each in a column of its own, and how many columns there are."""
        rows: list[Row] = []
        columns = len(self._least)
        for numbers in reached:
            said: dict[int, float] = {}
            for index, number in numbers.items():
                if number <= self._most[index]:
                    rows.append(({index: 1.0, columns: self._least[index] - number}, self._least[index], math.inf))
                    said[columns] = 1.0
                    columns += 1
            rows.append((said, 1.0, math.inf))
        return rows, columns

    def _capped(self, name: str, cap: int) -> Row:
        """Return the row of a capped sum, its largest coefficient brought near 1000."""
        terms, shift = self._sums[name]
        unit = max(1.0, max(map(abs, terms.values()), default=1) / 1000)
        row = {index: factor / unit for index, factor in terms.items()}
        return row, -math.inf, (cap - shift + ROOM) / unit


def _matrix(rows: Sequence[Row], columns: int) -> LinearConstraint:
    starts = np.cumsum([0, *(len(row) for row, _, _ in rows)])
    indices = np.array([index for row, _, _ in rows for index in row])
    factors = np.array([factor for row, _, _ in rows for factor in row.values()], dtype=float)
    matrix = csr_array((factors, indices, starts), shape=(len(rows), columns))
    return LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows])


def _sum_of(constraint) -> tuple[dict[int, int], int]:  # type: ignore[no-untyped-def]
    """Return the coefficients of the sum that a rule caps at ``NO_CAP``, and its constant."""
    terms: dict[int, int] = {}
    for index, factor in zip(constraint.linear.vars, constraint.linear.coeffs, strict=True):
        terms[index] = terms.get(index, 0) + factor
    return terms, NO_CAP - list(constraint.linear.domain)[-1]


def _rows_of(constraint, domains: list[list[int]]) -> Iterator[Row]:  # type: ignore[no-untyped-def]
    """Yield the rows of one rule of a model; a rule under a condition gets the largest room that it can need."""
    conditions = list(constraint.enforcement_literal)
    if constraint.has_linear():
        linear = constraint.linear
        row: dict[int, int] = {}
        for index, factor in zip(linear.vars, linear.coeffs, strict=True):
            row[index] = row.get(index, 0) + factor
        domain = list(linear.domain)
        if len(domain) != 2:
            raise RuntimeError("a rule with gaps in its domain is not linear")
        yield from _under(conditions, row, domain[0], domain[1], domains)
    elif constraint.has_bool_or():
        row, shift = _literals(constraint.bool_or.literals)
        yield from _under(conditions, row, 1 - shift, None, domains)
    elif constraint.has_bool_and():
        for literal in constraint.bool_and.literals:
            row, shift = _literals([literal])
            yield from _under(conditions, row, 1 - shift, None, domains)
    elif constraint.has_at_most_one():
        row, shift = _literals(constraint.at_most_one.literals)
        yield from _under(conditions, row, None, 1 - shift, domains)
    elif constraint.has_exactly_one():
        row, shift = _literals(constraint.exactly_one.literals)
        yield from _under(conditions, row, 1 - shift, 1 - shift, domains)
    else:
        raise RuntimeError("a rule of the model is not linear")


def _literals(literals) -> tuple[dict[int, int], int]:  # type: ignore[no-untyped-def]
    """Return the sum of literals as coefficients and a constant; a negative literal is one less its variable."""
    row: dict[int, int] = {}
    shift = 0
    for literal in literals:
        index, sign = (literal, 1) if literal >= 0 else (-literal - 1, -1)
        row[index] = row.get(index, 0) + sign
        shift += literal < 0
    return row, shift


def _under(
    conditions: list[int], row: dict[int, int], least: int | None, most: int | None, domains: list[list[int]]
) -> Iterator[Row]:
    """Yield a row twice: its lower side and its upper side, each loosened by what the conditions leave open."""
    lowest = sum(min(factor * domains[index][0], factor * domains[index][-1]) for index, factor in row.items())
    highest = sum(max(factor * domains[index][0], factor * domains[index][-1]) for index, factor in row.items())
    for side, limit, extreme in ((1, most, highest), (-1, least, lowest)):
        if limit is None or side * (extreme - limit) <= 0:
            continue
        loosened: dict[int, float] = dict(row)
        constant = 0
        for literal in conditions:  # row <= most + (highest - most) x (conditions that do not hold)
            index, sign = (literal, 1) if literal >= 0 else (-literal - 1, -1)
            loosened[index] = loosened.get(index, 0) + sign * (extreme - limit)
            constant += (extreme - limit) * (1 if literal >= 0 else 0)
        bound = float(limit + constant)
        yield (loosened, -math.inf, bound) if side == 1 else (loosened, bound, math.inf)
