"""
The least value of one goal in one model: good solutions first, then the proof.

Comes from ``bounds.py``; goes back as one answer. Each step starts from the best solution before and asks for no worse.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ortools.sat.python.cp_model import CpModel, LinearExprT

from allocator.solving.engine import Clock, Solved, solve
from allocator.solving.hints import hint_again


@dataclass(frozen=True, slots=True)
class Step:
    """One way to search, and how long."""

    effort: float
    linear: int
    from_below: bool = False
    nearby: bool = False


PROOF = (Step(4.0, 2),)
"""For goals whose linear relaxation is strong: proof and solution come together."""
PROOF_OR_BETTER = (*PROOF, Step(3.0, 1, nearby=True))
"""The same for hundreds of needs: where there is no proof, a good solution at least."""
GUESS = (Step(1.0, 2),)
"""For goals of which a relaxation says little anyway."""
BALANCE = (
    Step(0.05, 0),
    Step(1.0, 2),
    Step(0.5, 1, nearby=True),
    Step(2.0, 2),
    Step(1.0, 1, nearby=True),
    Step(1.5, 2, from_below=True),
    Step(1.0, 1, nearby=True),
)
"""For the peak: perhaps the bound can be had at once; else proof and solution mostly come together, near a good one."""
BEFORE_SETS = (Step(1.0, 2),)
"""For a goal that is searched set of modules by set of modules in any case."""


def minimise(
    model: CpModel, expression: LinearExprT, clock: Clock, steps: Sequence[Step], known: int | None = None
) -> Solved:
    """Minimise an expression, of which a bound may be known; what was found stays as a limit and as hints."""
    model.minimize(expression)
    best: Solved | None = None
    bound = known
    for step in steps:
        solved = solve(
            model, clock, effort=step.effort, linear=step.linear, from_below=step.from_below, nearby=step.nearby
        )
        if solved.bound is not None:
            bound = solved.bound if bound is None else max(bound, solved.bound)
        if solved.has_solution and solved.objective is not None:
            best = solved
            hint_again(model, solved)
            model.add(expression <= solved.objective)
        met = best is not None and best.objective == bound
        if met or solved.status in ("optimal", "infeasible") or clock.left_s <= 0:
            break
    if best is None:
        return replace(solved, bound=bound)
    done = bound is not None and best.objective == bound
    return replace(best, bound=bound, status="optimal" if done else "feasible")
