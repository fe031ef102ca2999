"""
A first counted solution of many needs: modules, formats and relays as the covering model has them, then the rest.

Comes from ``Models`` and the values of bays and types; goes to ``bounds.py``. Covering settles in a moment how many
modules of each type there are, and how many needs take a format or a relay. With that the tally model has only feeds
and rows to choose, and its linear relaxation is nearly whole: branch and cut finds the fewest strip pieces of hundreds
of needs in seconds, where the model as a whole gets no solution at all. Other modules may do better, so nothing is
proven here.
"""

from __future__ import annotations

from collections import defaultdict
from math import floor

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.cover import Alike, Cover, Way, alike_of, way_of
from allocator.model.tallies import Tallies
from allocator.requirements.scenario import Goal
from allocator.solving.engine import Clock, Solved, Valued, solve
from allocator.solving.linear import LinearModel, LinearSolved
from allocator.solving.models import Models, Targets

COVER_EFFORT, START_EFFORT, START_NODES = 1.0, 4.0, 500
PIECES: Goal = "strip-pieces"


def started(models: Models, targets: Targets, clock: Clock) -> Solved | LinearSolved | None:
    """Return a solution of the tally model within targets if one is found, with few strip pieces if they are a goal."""
    cover = models.cover()
    capped = {"bays": cover.bays, "module-types": cover.types}
    for goal, value in targets:
        if goal in capped:
            cover.model.add(capped[goal] <= floor(value))
    covered = solve(cover.model, clock, effort=COVER_EFFORT, is_small=True)
    if not covered.has_solution:
        return None
    built = models.tallies(targets)
    _fix_like(built.x, cover, covered)
    few: dict[str, LinearExprT] = {PIECES: built.terms[PIECES].expression} if PIECES in built.terms else {}
    linear = LinearModel(built.x.model.clone(), few).minimise(
        dict.fromkeys(few, 1.0), {}, {}, clock, nodes=START_NODES, gap=0.0
    )
    if linear.has_solution or clock.left_s <= 0:
        return linear if linear.has_solution else None
    if few:
        built.x.model.minimize(few[PIECES])
    solved = solve(built.x.model, clock, effort=START_EFFORT)
    return solved if solved.has_solution else None


def _fix_like(x: Tallies, cover: Cover, covered: Valued) -> None:
    """Fix the number of every module, and of alike needs with each choice, to those of a covering."""
    for panel, module, copies in x.modules:
        x.model.add(copies == covered.value(cover.modules[panel, module]))
    chosen: dict[tuple[Alike, Way], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(x.frame.classes):
        for number, choice in enumerate(members.choices):
            chosen[alike_of(members), way_of(choice)].append(x.chosen[index, number])
    for key, variables in chosen.items():
        x.model.add(LinearExpr.sum(variables) == covered.value(cover.chosen[key]))
