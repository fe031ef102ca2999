"""
One attempt to place everything: the placing model within targets, solved until what it finds can be arranged.

Comes from a model and what was learnt; goes back as a placement, or as the status that says why there is none.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction

from allocator.model.learnt import Learnt, learn
from allocator.model.variables import Places
from allocator.requirements.scenario import Goal
from allocator.solving.engine import Clock, Status, solve
from allocator.solving.hints import CHOSEN, ROWS, fix_like, hint_like, said_by_places
from allocator.solving.learning import find_overloads
from allocator.solving.levels import Said
from allocator.solving.models import Built
from allocator.solving.placement import Placement, read_placement
from allocator.solving.splitting import Undecided


@dataclass(frozen=True)
class Attempt:
    """How the last solve ended, its bound on the goal that was minimised, and what was placed."""

    status: Status
    bound: Fraction | None
    placement: Placement | None = None
    said: Said | None = None
    """The solution that the placement was read from."""


@dataclass(frozen=True)
class Found:
    """A placement with the exact cost of every goal (``amounts.sense``): all values in a search are costs."""

    placement: Placement
    values: dict[Goal, Fraction]
    solution: Said
    """The solution it was read from, to start the next search at."""


def attempt(
    built: Built[Places],
    learnt: list[Learnt],
    clock: Clock,
    *,
    like: Said | None = None,
    fixing: Collection[str] = CHOSEN,
    near: Said | None = None,
    goal: Goal | None = None,
    effort: float,
    nearby: bool = False,
) -> Attempt:
    """
    Look for a placement.

    Parameters
    ----------
    built
        A placing model within whatever targets.
    learnt
        Facts of plans that failed; new ones are added.
    like, fixing
        A counted solution, and the tables of it that are fixed.
    near
        A solution that is only hinted.
    goal
        Goal that is minimised, if any.
    nearby
        Whether to only improve what is hinted, part by part.
    """
    x, terms = built.x, built.terms
    if goal is not None:
        x.counts.model.minimize(terms[goal].expression)
    if like is not None:
        fix_like(x, like, fixing)
    if near is not None or like is not None:
        hint_like(x, near or like or {})
    fits_anyone = like is not None and fixing == ROWS and goal is None
    linear = 1 if nearby else 0 if fits_anyone else 2
    while True:
        solved = solve(x.counts.model, clock, effort=effort, linear=linear, nearby=nearby)
        bound = None if goal is None or solved.bound is None else terms[goal].value(solved.bound)
        if not solved.has_solution:
            return Attempt(solved.status, bound)
        placement = read_placement(x, solved)
        try:
            facts = find_overloads(placement, x, clock)
        except Undecided:
            return Attempt("unknown", bound)
        if not facts:
            return Attempt(solved.status, bound, placement, said_by_places(x, solved))
        learnt += facts
        for fact in facts:
            learn(x, fact)
