"""
One set of modules after the other: each that counts leave to a goal is searched whole, until there is no other.

Comes from a search and a goal; says whether no plan is better. With just its modules a placing model is soon searched
to its end; counts are then asked for a set that is no part of one before. (Combinatorial cuts of a logic-based Benders
decomposition: Hooker and Ottosson, "Logic-based Benders decomposition", Mathematical Programming 96, 2003.)
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import Literal

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.frame import Frame
from allocator.model.variables import Sums
from allocator.requirements.scenario import Goal
from allocator.solving.attempt import Attempt
from allocator.solving.engine import Clock, Valued, solve
from allocator.solving.hints import said_by_places, said_by_tallies
from allocator.solving.levels import Said
from allocator.solving.models import BELOW, Models, Targets

MOST_SETS = 12
COUNT_EFFORT, CLOSER_EFFORT = 1.0, 8.0
COUNTED_BEFORE: tuple[Goal, ...] = ("peak-utilisation",)
"""Goals that come here only after counts have said all that they can."""
Place = Callable[[Targets, Frame, Said], Attempt]
"""Brings the goal down in a frame, within targets and near a solution, and keeps what it finds."""


def searched_whole(
    models: Models, clock: Clock, goal: Goal, fixed: Targets, value: Callable[[], Fraction], place: Place, effort: float
) -> bool:
    """
    Bring a goal down set by set; return whether no plan within ``fixed`` is better than the best one by then.

    Parameters
    ----------
    models, clock
        Those of the search.
    goal, fixed
        What is minimised, and the values of the goals before it.
    value
        The goal's cost in the best plan so far.
    place
        Searches a set of modules.
    effort
        Of a question to counts with some needs placed.
    """
    searched: list[Frame] = []
    while len(searched) < MOST_SETS and clock.left_s > 0:
        better = [*fixed, (goal, value() - BELOW)]
        counted: Counted = "unknown"
        if searched or goal not in COUNTED_BEFORE:
            counted = _by_tallies(models, clock, goal, better, searched)
        if counted == "unknown":
            counted = _with_misjudged_placed(models, clock, goal, better, searched, effort)
        if counted == "infeasible":
            return True
        if counted == "unknown" or place(better, *counted).status not in ("optimal", "infeasible"):
            return False
        searched.append(counted[0])
    return False


Counted = tuple[Frame, Said] | Literal["infeasible", "unknown"]


def _by_tallies(models: Models, clock: Clock, goal: Goal, better: Targets, searched: Sequence[Frame]) -> Counted:
    built = models.tallies(better)
    _beyond(built.x, searched)
    built.x.model.minimize(built.terms[goal].expression)
    solved = solve(built.x.model, clock, effort=COUNT_EFFORT)
    if solved.has_solution:
        return just_these(built.x, solved), said_by_tallies(built.x, solved)
    return "infeasible" if solved.status == "infeasible" else "unknown"


def _with_misjudged_placed(
    models: Models, clock: Clock, goal: Goal, better: Targets, searched: Sequence[Frame], effort: float
) -> Counted:
    built = models.places(better, "misjudged")
    counts = built.x.counts
    _beyond(counts, searched)
    counts.model.minimize(built.terms[goal].expression)
    solved = solve(counts.model, clock, effort=effort)
    if solved.has_solution:
        return just_these(counts, solved), said_by_places(built.x, solved)
    return "infeasible" if solved.status == "infeasible" else "unknown"


def _beyond(x: Sums, searched: Sequence[Frame]) -> None:
    """Ask of every set that was searched for a module that it has not, or for more of one."""
    numbers: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
    for panel, module, number in x.modules:
        numbers[panel, module].append(number)
    for frame in searched:
        copies = copies_of(frame)
        more = []
        for place, in_use in numbers.items():
            is_more = x.model.new_bool_var(f"more than {copies[place]} of {place}")
            x.model.add(LinearExpr.sum(in_use) >= copies[place] + 1).only_enforce_if(is_more)
            more.append(is_more)
        x.model.add_bool_or(more)


def copies_of(frame: Frame) -> Mapping[tuple[str, str], int]:
    """Return how many of each module a frame has, by (panel, module type)."""
    return Counter((instance.panel, instance.module) for instance in frame.instances)


def just_these(x: Sums, solved: Valued) -> Frame:
    """Return the frame of the modules of a solution: placing is quick where nothing else may stand."""
    copies: Counter[tuple[str, str]] = Counter()
    for panel, module, number in x.modules:
        copies[panel, module] += solved.value(number)
    sized = x.frame.sized
    every = [(site.name, module.id) for site in x.frame.panels for module in sized.requirements.catalogue.modules]
    return Frame(sized, {place: copies[place] for place in every})
