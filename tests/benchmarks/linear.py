"""
A linear model, written once and given to two solvers: CP-SAT, and HiGHS.

Comes in as columns and rows of whole numbers; goes out as an ``Answer``. Nothing of the package's models is used, so
what is written here can stand against them.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import inf

import highspy
import numpy as np
from ortools.sat.python import cp_model

from allocator.requirements.scenario import Goal
from allocator.solving.engine import INCLUSION_WORK

Terms = Mapping[int, int]


@dataclass(frozen=True)
class Answer:
    """How a solve ended; ``value`` is None and ``values`` is empty where no solution was found."""

    proven: bool
    infeasible: bool
    value: int | None
    values: tuple[int, ...]
    seconds: float


@dataclass
class Linear:
    """Columns (from 0 to an upper bound) and rows (terms between two bounds)."""

    upper: list[int] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, upper: int = 1, *, whole: bool = True) -> int:
        """Add a variable from 0 on and return its index; ``whole`` may be False where the rows make it whole."""
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.upper) - 1

    def add(self, terms: Terms, low: float = -inf, high: float = inf) -> None:
        """Add ``low <= terms <= high``."""
        self.rows.append((terms, low, high))


Solver = Callable[[Linear, Terms, Mapping[int, int], float, int], Answer]
"""Model, goal, hint, limit in seconds, threads."""


def by_cp_sat(linear: Linear, goal: Terms, hint: Mapping[int, int], limit_s: float, threads: int) -> Answer:
    """Minimise a goal with CP-SAT."""
    started = time.monotonic()
    model = cp_model.CpModel()
    columns = [model.new_int_var(0, upper, str(index)) for index, upper in enumerate(linear.upper)]

    def total(terms: Terms) -> cp_model.LinearExprT:
        return cp_model.LinearExpr.weighted_sum([columns[c] for c in terms], list(terms.values()))

    for terms, low, high in linear.rows:
        domain = cp_model.Domain(-(2**60) if low == -inf else int(low), 2**60 if high == inf else int(high))
        model.add_linear_expression_in_domain(total(terms), domain)
    if goal:
        model.minimize(total(goal))
    for column, start in hint.items():
        model.add_hint(columns[column], start)
    solver = cp_model.CpSolver()
    solver.parameters.presolve_inclusion_work_limit = INCLUSION_WORK
    solver.parameters.num_workers = threads
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = max(0.05, limit_s - (time.monotonic() - started))
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    proven = status == cp_model.OPTIMAL
    value = round(solver.objective_value) if found and goal else None
    return Answer(
        proven=proven,
        infeasible=status == cp_model.INFEASIBLE,
        value=value,
        values=tuple(solver.value(column) for column in columns) if found else (),
        seconds=time.monotonic() - started,
    )


def by_highs(linear: Linear, goal: Terms, hint: Mapping[int, int], limit_s: float, threads: int) -> Answer:
    """
    Minimise a goal with HiGHS.

    The hint becomes a cut-off, a row that asks for its value or better: given as a starting point, HiGHS 1.16 calls it
    optimal where it is not (its presolve takes the point for one of value 0).
    """
    started = time.monotonic()
    highspy.Highs.resetGlobalScheduler(True)  # else the threads of the first solve of the process stay
    highs = highspy.Highs()
    highs.silent()
    highs.setOptionValue("threads", threads)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("time_limit", max(0.05, limit_s))
    highs.passModel(_as_highs(_cut_off(linear, goal, hint), goal))
    assert highs.run() != highspy.HighsStatus.kError, "a model that HiGHS refuses"
    status, info = highs.getModelStatus(), highs.getInfo()
    proven = status == highspy.HighsModelStatus.kOptimal
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = tuple(round(value) for value in highs.getSolution().col_value) if found else ()
    value = sum(weight * values[column] for column, weight in goal.items()) if found and goal else None
    return Answer(
        proven=proven,
        infeasible=status == highspy.HighsModelStatus.kInfeasible,
        value=value,
        values=values,
        seconds=time.monotonic() - started,
    )


def _cut_off(linear: Linear, goal: Terms, hint: Mapping[int, int]) -> Linear:
    if not hint or not goal:
        return linear
    value = sum(weight * hint.get(column, 0) for column, weight in goal.items())
    return replace(linear, rows=[*linear.rows, (goal, -inf, value)])


def _as_highs(linear: Linear, goal: Terms) -> highspy.HighsLp:
    num_columns, num_rows = len(linear.upper), len(linear.rows)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = num_columns, num_rows
    cost = np.zeros(num_columns)
    for column, weight in goal.items():
        cost[column] = weight
    lp.col_cost_ = cost
    lp.col_lower_, lp.col_upper_ = np.zeros(num_columns), np.array(linear.upper, dtype=float)
    lp.row_lower_ = np.array([low for _, low, _ in linear.rows], dtype=float)
    lp.row_upper_ = np.array([high for *_, high in linear.rows], dtype=float)
    kinds = {True: highspy.HighsVarType.kInteger, False: highspy.HighsVarType.kContinuous}
    lp.integrality_ = [kinds[whole] for whole in linear.whole]
    starts = np.cumsum([0, *(len(terms) for terms, _, _ in linear.rows)])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = starts.astype(np.int32)
    lp.a_matrix_.index_ = np.array([column for terms, _, _ in linear.rows for column in terms], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([float(v) for terms, _, _ in linear.rows for v in terms.values()])
    return lp


def lexicographic(
    linear: Linear,
    goals: Mapping[Goal, Terms],
    solver: Solver,
    *,
    limit_s: float,
    threads: int,
    hint: Mapping[int, int] | None = None,
) -> list[tuple[Goal, Answer]]:
    """
    Minimise goals one after the other, each with the values of those before as rows, within one limit for all.

    The solution of a goal is the hint of the next one. Ends after the first goal that is not proven.
    """
    deadline = time.monotonic() + limit_s
    answers: list[tuple[Goal, Answer]] = []
    start = dict(hint or {})
    for name, terms in goals.items():
        answer = solver(linear, terms, start, deadline - time.monotonic(), threads)
        answers.append((name, answer))
        if not answer.proven or answer.value is None:
            break
        start = dict(enumerate(answer.values))
        linear.add(terms, high=answer.value)
    return answers
