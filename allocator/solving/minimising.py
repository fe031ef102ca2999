"""
The least value of one goal in one model: good solutions first, then the proof.

Comes from ``bounds.py``; goes back as one answer. Each step starts from the best solution before and asks for no worse.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ortools.sat.python.cp_model import CpModel, LinearExprT

from allocator.requirements.scenario import Goal
from allocator.solving.engine import Clock, Solved, solve
from allocator.solving.hints import hint_again

MISJUDGED: tuple[Goal, ...] = ("long-jumpers",)
"""Goals that depend on which row and module a need is in: the true value is often above what counts say."""
SET_BY_SET: tuple[Goal, ...] = ("price", "wire-length", "copper")
"""Goals that modules decide most of: few sets of them are left. Of few needs peak and jumpers are proven so too."""


@dataclass(frozen=True, slots=True)
class Step:
    """One way to search, and how long."""

    effort: float
    linear: int
    from_below: bool = False
    nearby: bool = False


LONG = 1.0
"""Effort of a step before which it is time for something else."""
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
BALANCE_OF_FEW = BALANCE[:3]
"""The same where it is searched set of modules by set of modules next, which comes to its end more often."""
BALANCE_FURTHER = (Step(1.0, 1, nearby=True), *BALANCE[3:])
"""What comes after that, where it does not."""
BEFORE_SETS = (Step(1.0, 2),)
"""For a goal that is searched set of modules by set of modules in any case."""


def steps_for(goal: Goal, are_few: bool) -> Sequence[Step]:
    """Return how to search the counts for a goal; ``are_few``: so few needs that sets of modules come next."""
    if goal == "peak-utilisation":
        return BALANCE_OF_FEW if are_few else BALANCE
    if goal in MISJUDGED:
        return GUESS
    return BEFORE_SETS if goal in SET_BY_SET and are_few else PROOF_OR_BETTER


def minimise(
    model: CpModel,
    expression: LinearExprT,
    clock: Clock,
    steps: Sequence[Step],
    known: int | None = None,
    meanwhile: Callable[[], None] = lambda: None,
) -> Solved:
    """
    Minimise an expression, of which a bound may be known; what was found stays as a limit and as hints.

    ``meanwhile`` is called once the first step was not enough, if the next is of some length.
    """
    model.minimize(expression)
    best: Solved | None = None
    bound = known
    for number, step in enumerate(steps):
        if number == 1 and step.effort >= LONG:
            meanwhile()
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
