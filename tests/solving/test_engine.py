"""The solver as it is set up here, against itself without presolve: no proof may depend on that step."""

from __future__ import annotations

import time

import pytest
from ortools.sat.python import cp_model

from allocator.model.balance import build_balance
from allocator.model.frame import Frame
from allocator.model.goals import peak_term
from allocator.solving.engine import MANY_WORKERS, Clock, solve
from tests.benchmarks.vehicles import vehicle


@pytest.mark.parametrize("seed", [37, 268])
def test_presolve_loses_no_lowest_peak(seed: int):
    """
    With all of presolve on, ortools 9.15 states a higher peak of these vehicles as the lowest one.

    Source: its issue 5293, https://github.com/google/or-tools/issues/5293.
    """
    sized = vehicle(40, seed)
    balance = build_balance(Frame(sized))
    model = balance.model
    model.minimize(peak_term(model, sized, balance.draw).expression)
    plain = cp_model.CpSolver()
    plain.parameters.num_workers = 1
    plain.parameters.cp_model_presolve = False
    assert plain.solve(model) == cp_model.OPTIMAL
    solved = solve(model, Clock(time.monotonic() + 60), effort=4.0)
    assert (solved.status, solved.objective, solved.bound) == ("optimal", *2 * (round(plain.objective_value),))


@pytest.mark.parametrize("workers", [1, MANY_WORKERS])
def test_every_solution_is_shown_once_whatever_the_number_of_threads(workers: int) -> None:
    """Numbers from 0 to 9 that are 9 together: ten pairs."""
    model = cp_model.CpModel()
    first, second = (model.new_int_var(0, 9, "") for _ in range(2))
    model.add(first + second == 9)
    pairs: list[tuple[int, int]] = []

    class Seen(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            pairs.append((self.value(first), self.value(second)))

    assert solve(model, Clock(time.monotonic() + 60, workers=workers), effort=4.0, every=Seen()).status == "optimal"
    assert sorted(pairs) == [(number, 9 - number) for number in range(10)]
