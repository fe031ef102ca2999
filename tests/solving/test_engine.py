"""The solver as it is set up here, against itself without presolve: no proof may depend on that step."""

from __future__ import annotations

import time

import pytest
from ortools.sat.python import cp_model

from allocator.model.balance import build_balance
from allocator.model.frame import Frame
from allocator.model.goals import peak_term
from allocator.solving.engine import Clock, solve
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
