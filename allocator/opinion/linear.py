"""
A mixed-integer linear model as columns and rows, and HiGHS (in SciPy) to solve it.

Comes in column by column and row by row; goes out as an ``Answer``, read from the solver's status.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Literal

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

Terms = Mapping[int, float]
"""Coefficient by column."""
Status = Literal["solved", "impossible", "unknown"]


INFEASIBLE = 2
"""A status of ``scipy.optimize.milp``."""


@dataclass(frozen=True, slots=True)
class Answer:
    """How a solve ended: a solution was found, none exists, or time was up first."""

    status: Status
    values: tuple[float, ...]
    seconds: float


@dataclass
class Linear:
    """Columns from 0 to an upper bound, and rows of terms between two bounds."""

    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, upper: float = 1, *, whole: bool = True) -> int:
        """Add a column and return its index; one that is not whole may take any value."""
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.upper) - 1

    def add(self, terms: Terms, low: float = -inf, high: float = inf) -> None:
        """Add the row ``low <= terms <= high``."""
        self.rows.append(({column: value for column, value in terms.items() if value}, low, high))

    def solved(self, more: list[tuple[Terms, float, float]], limit_s: float) -> Answer:
        """
        Look for any solution.

        Parameters
        ----------
        more
            Rows that hold for this question only.
        limit_s
            Wall time, s.
        """
        started = time.monotonic()
        rows = [*self.rows, *more]
        result = milp(
            np.zeros(len(self.upper)),
            integrality=np.array(self.whole, dtype=int),
            bounds=Bounds(0, np.array(self.upper, dtype=float)),
            constraints=self._matrix(rows),
            options={"time_limit": max(0.05, limit_s)},
        )
        seconds = time.monotonic() - started
        if result.status == INFEASIBLE:
            return Answer("impossible", (), seconds)
        return Answer("unknown" if result.x is None else "solved", () if result.x is None else tuple(result.x), seconds)

    def _matrix(self, rows: list[tuple[Terms, float, float]]) -> LinearConstraint:
        starts = np.cumsum([0, *(len(terms) for terms, _, _ in rows)])
        indices = np.array([column for terms, _, _ in rows for column in terms], dtype=np.int32)
        factors = np.array([float(value) for terms, _, _ in rows for value in terms.values()])
        matrix = csr_array((factors, indices, starts), shape=(len(rows), len(self.upper)))
        return LinearConstraint(matrix, [low for _, low, _ in rows], [high for *_, high in rows])
