"""
The main call: a sizing table in, a checked plan with its proof out.

Every plan, the interrupted one too, passes the independent checker before anybody sees it.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from importlib.metadata import version

from allocator.plan.cautions import cautions_about
from allocator.plan.measures import costs, measure
from allocator.plan.plan import GoalResult, Plan
from allocator.requirements.scenario import Aim, Goal, Requirements
from allocator.sizing.sized import Sized
from allocator.solving.arranging import arrange
from allocator.solving.engine import Clock
from allocator.solving.levels import Level, stated
from allocator.solving.placement import Placement
from allocator.solving.refusing import refuse_broken
from allocator.solving.search import Search
from allocator.solving.watch import watched
from allocator.verifying import verify

DEFAULT_TIME_LIMIT_S = 120.0
GRACE_S = 0.5
"""How long a search may take to end when time is up; of the two seconds that a user waits, the rest is for the plan."""


@dataclass(frozen=True)
class Outcome:
    """A plan, and whether the user stopped the search before its end."""

    plan: Plan
    interrupted: bool
    seconds_by_goal: dict[Goal, float]
    """For the run record; never part of the plan."""


def allocate(
    sized: Sized,
    *,
    time_limit_s: float = DEFAULT_TIME_LIMIT_S,
    workers: int = 1,
    progress: Callable[[str], None] | None = None,
    stop: threading.Event | None = None,
) -> Plan:
    """
    Find the best plan for a sizing table.

    Parameters
    ----------
    sized
        What every circuit may use.
    time_limit_s
        Wall time after which the best plan so far is returned, with its gap.
    workers
        Threads of the solver; with 1 the same input gives the same plan.
    progress
        Called with one line of text whenever a bound or a plan gets better.
    stop
        Set from outside to end the search early.

    Returns
    -------
    Plan
        Checked; its goals say for each level whether it is best possible or how large the gap is.

    Raises
    ------
    CannotBeMet
        If the requirements hold no plan.
    NoPlanInTime
        If limit or interrupt came before the first plan.
    BrokenPlan
        If the independent checker refuses the plan: a bug.
    """
    return search_plan(sized, time_limit_s=time_limit_s, workers=workers, progress=progress, stop=stop).plan


def search_plan(
    sized: Sized,
    *,
    time_limit_s: float = DEFAULT_TIME_LIMIT_S,
    workers: int = 1,
    progress: Callable[[str], None] | None = None,
    stop: threading.Event | None = None,
) -> Outcome:
    """
    Do what ``allocate`` does, and say how the search ended and what it took.

    The search goes on in a thread of its own: when time is up, the best plan so far is taken from it at once.
    """
    clock = Clock(time.monotonic() + time_limit_s, workers=workers, progress=progress)
    if stop is not None:
        clock.stop = stop
    search = Search(sized, clock, lambda placement: _values(sized, placement))
    _run(search)
    found, levels = search.standing()
    plan = plan_of(sized, found.placement, _results(search.bounds.aims, levels), clock.was_cut or clock.abandoned)
    refuse_broken(verify(sized, plan))
    return Outcome(plan, clock.stop.is_set(), dict(search.bounds.seconds_by_goal))


def _run(search: Search) -> None:
    """Search until the end or until time is up."""
    clock, ended = search.clock, False
    try:
        ended = watched(search.run, lambda: clock.left_s <= 0, GRACE_S)
    finally:
        clock.abandoned = not ended


def _values(sized: Sized, placement: Placement) -> dict[Goal, Fraction]:
    return costs(measure(sized, _bare_plan(sized, placement, (), False)))


def plan_of(sized: Sized, placement: Placement, goals: tuple[GoalResult, ...], was_cut: bool) -> Plan:
    """Arrange a placement, and return it as a plan that states the given goals, with its cautions."""
    plan = _bare_plan(sized, placement, goals, was_cut)
    return plan.model_copy(update={"cautions": cautions_about(sized, plan)})


def _bare_plan(sized: Sized, placement: Placement, goals: tuple[GoalResult, ...], was_cut: bool) -> Plan:
    places = arrange(placement)
    return Plan(
        allocator_version=version("panel-allocator"),
        solver_version=f"ortools {version('ortools')}",
        depends_on_time=was_cut,
        requirements=_in_listing_order(sized),
        carriers=places.carriers,
        modules=places.modules,
        ways=places.ways,
        sockets=places.sockets,
        pieces=places.pieces,
        goals=goals,
    )


def _in_listing_order(sized: Sized) -> Requirements:
    """Return the requirements with their circuits as listed: the order of the rows of a table is no matter."""
    circuits = {circuit.id: circuit for circuit in sized.requirements.circuits}
    listed = tuple(circuits[need.id] for need in sized.needs if need.kind == "circuit")
    return sized.requirements.model_copy(update={"circuits": listed})


def _results(aims: Iterable[Aim], levels: Iterable[Level]) -> tuple[GoalResult, ...]:
    return tuple(_result(aim, level) for aim, level in zip(aims, levels, strict=True))


def _result(aim: Aim, level: Level) -> GoalResult:
    """Say how a goal ended; the plan's value may be above the best one where a tolerance allows it."""
    best = level.value if level.best is None else level.best
    return stated(aim, level.value, level.bound, level.closed_by, proven=level.proven, best=best, allowed=level.allows)
