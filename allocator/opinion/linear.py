"""
A mixed-integer linear model as columns and rows, and HiGHS to solve it.

Comes in column by column and row by row; goes out as an ``Answer``, read from the solver's status.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Literal

import highspy
import numpy as np

Terms = Mapping[int, float]
"""Coefficient by column."""
Status = Literal["solved", "impossible", "unknown"]


class _Quiet(highspy.Highs):
    """HiGHS that is told to say nothing before it says its name on stdout, where results go."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the name is theirs
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


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
        highs = _Quiet()  # type: ignore[no-untyped-call]
        highs.setOptionValue("threads", 1)
        highs.setOptionValue("random_seed", 1)
        highs.setOptionValue("time_limit", max(0.05, limit_s))
        highs.setOptionValue("mip_feasibility_tolerance", 1e-7)
        highs.passModel(self._as_highs([*self.rows, *more]))
        highs.run()
        status = highs.getModelStatus()
        seconds = time.monotonic() - started
        if status == highspy.HighsModelStatus.kInfeasible:
            return Answer("impossible", (), seconds)
        found = highs.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        return Answer("solved" if found else "unknown", tuple(highs.getSolution().col_value) if found else (), seconds)

    def _as_highs(self, rows: list[tuple[Terms, float, float]]) -> highspy.HighsLp:
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.upper), len(rows)
        lp.col_cost_ = np.zeros(len(self.upper))
        lp.col_lower_, lp.col_upper_ = np.zeros(len(self.upper)), np.array(self.upper, dtype=float)
        lp.row_lower_ = np.array([low for _, low, _ in rows], dtype=float)
        lp.row_upper_ = np.array([high for *_, high in rows], dtype=float)
        kinds = {True: highspy.HighsVarType.kInteger, False: highspy.HighsVarType.kContinuous}
        lp.integrality_ = [kinds[whole] for whole in self.whole]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *(len(terms) for terms, _, _ in rows)]).astype(np.int32)
        lp.a_matrix_.index_ = np.array([column for terms, _, _ in rows for column in terms], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([float(value) for terms, _, _ in rows for value in terms.values()])
        return lp
