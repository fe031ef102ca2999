"""What the tests of model and search ask for: a checked plan, and what the coarser models alone would have believed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from ortools.sat.python import cp_model

from allocator.errors import CannotBeMet
from allocator.model.counts import build_counts
from allocator.model.cover import build_cover
from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from allocator.solving.engine import INCLUSION_WORK
from allocator.verifying import goal_values, verify
from tests.builders import build_sized

Values = tuple[Fraction, ...]
"""One value for each goal of the objective, in its order."""


def checked_plan(sized: Sized) -> Plan:
    """Return the plan of the search after the checker's pass, its claims recomputed."""
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    recomputed = goal_values(sized, plan)
    assert {result.goal: result.value for result in plan.goals} == {
        result.goal: recomputed[result.goal] for result in plan.goals
    }
    assert {result.outcome for result in plan.goals} <= {"best possible", "within tolerance"}
    assert not plan.depends_on_time
    return plan


def planned(sized: Sized) -> Mapping[Goal, Fraction] | None:
    """Return the proven value of every goal, or None if the requirements cannot be met."""
    try:
        plan = checked_plan(sized)
    except CannotBeMet as refusal:
        assert refusal.reasons
        return None
    return {result.goal: result.value for result in plan.goals}


def plan_of(**arguments: Any) -> Plan:
    """Return the checked plan of a small panel."""
    return checked_plan(build_sized(**arguments))


def believed_by_counts(sized: Sized) -> Values | None:
    """Return the optimum of the count model alone, goal by goal; None where it has no solution."""
    counts = build_counts(Frame(sized))
    terms = {goal: GOAL_TERMS[goal](counts, None) for goal in sized.requirements.scenario.rules.goals}
    values: list[Fraction] = []
    for term in terms.values():
        counts.model.minimize(term.expression)
        best = _optimum(counts.model)
        if best is None:
            return None
        values.append(term.value(best))
        counts.model.add(term.expression <= best)
    return tuple(values)


def believed_by_cover(sized: Sized) -> Values | None:
    """Return the fewest bays of the covering model alone; None where it has no solution."""
    cover = build_cover(Frame(sized))
    cover.model.minimize(cover.bays)
    best = _optimum(cover.model)
    return None if best is None else (Fraction(best),)


def _optimum(model: cp_model.CpModel) -> int | None:
    solver = cp_model.CpSolver()
    solver.parameters.presolve_inclusion_work_limit = INCLUSION_WORK
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE), solver.status_name(status)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


BELIEFS: Mapping[str, Callable[[Sized], Values | None]] = {"counts": believed_by_counts, "cover": believed_by_cover}
