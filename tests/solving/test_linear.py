"""The linear models say what trying every solution says."""

from __future__ import annotations

import itertools
import math
import time

from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from allocator.solving.engine import Clock
from allocator.solving.linear import LinearModel

LEAST, MOST = 1, 4
NUMBERS = st.lists(st.dictionaries(st.integers(0, 2), st.integers(0, MOST + 1), min_size=1), max_size=3)


@settings(deadline=None, derandomize=True, database=None, max_examples=60)
@given(st.tuples(*[st.integers(1, 5)] * 3), st.integers(3, 12), NUMBERS)
def test_one_of_several_numbers_is_reached(
    weights: tuple[int, int, int], total: int, reached: list[dict[int, int]]
) -> None:
    """Also where a number is above what its variable can be, and where nothing is left."""
    model = cp_model.CpModel()
    variables = [model.new_int_var(LEAST, MOST, name) for name in "abc"]
    model.add(sum(variables) >= total)
    cost = sum(weight * variable for weight, variable in zip(weights, variables, strict=True))
    clock = Clock(time.monotonic() + 60)
    solved = LinearModel(model, {"cost": cost}).minimise(
        {"cost": 1.0}, {}, {}, clock, nodes=100, gap=0.0, reached=reached
    )
    costs = {
        values: sum(weight * value for weight, value in zip(weights, values, strict=True))
        for values in itertools.product(range(LEAST, MOST + 1), repeat=3)
        if sum(values) >= total and all(any(values[i] >= number for i, number in one.items()) for one in reached)
    }
    assert solved.has_solution == bool(costs)
    if not costs:
        assert solved.status == "infeasible"
        return
    values = tuple(solved.value(variable) for variable in variables)
    assert costs[values] == min(costs.values())
    assert math.isclose(solved.bound, min(costs.values()), abs_tol=1e-6)
