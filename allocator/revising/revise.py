"""
The main call of a revision: a panel as built and changed requirements in, the plan that changes least out.

Every plan passes the independent checker, which also counts the changes anew, before anybody sees it. A fresh plan is
made beside it, so that it can be said what keeping the old one costs.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import cast

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.plan.built import Built, Kept, built_from, stays_in
from allocator.plan.changes import CHANGES, both, count_changes, socket_stays, way_stays
from allocator.plan.index import PlanIndex
from allocator.plan.measures import costs, measure_index
from allocator.plan.plan import ChangeResult, GoalResult, Plan
from allocator.requirements.scenario import Goal
from allocator.revising.keeping import Keep, kept_of, names_of
from allocator.revising.search import Least, Reached, Values
from allocator.sizing.sized import Sized
from allocator.solving.allocate import DEFAULT_TIME_LIMIT_S, Outcome, plan_of, search_plan
from allocator.solving.engine import Clock
from allocator.solving.levels import stated
from allocator.solving.placement import Placement
from allocator.solving.refusing import refuse_broken
from allocator.verifying import verify
from allocator.verifying.changes import AsBuilt, changes_made
from allocator.verifying.stays import carriers_gone


@dataclass(frozen=True)
class Revision:
    """The plan that changes least, the panel that it changes, and a fresh plan to compare with."""

    plan: Plan
    built: Built
    fresh: Plan | None
    """None where it was not asked for, or not found in time."""
    seconds_by_level: Mapping[str, float]
    interrupted: bool


def revise(
    as_built: Plan,
    as_built_sized: Sized,
    sized: Sized,
    *,
    keep: Keep | None = None,
    renamed: Sequence[str] = (),
    time_limit_s: float = DEFAULT_TIME_LIMIT_S,
    workers: int = 1,
    progress: Callable[[str], None] | None = None,
    stop: threading.Event | None = None,
    with_fresh: bool = True,
) -> Revision:
    """
    Find the plan for changed requirements that changes a built panel least.

    Parameters
    ----------
    as_built, as_built_sized
        The plan that the panel was built from, with the sizing of its requirements.
    sized
        Sizing of what is wanted now.
    keep
        What must stay; none: the modules.
    renamed
        ``old=new`` for circuits and feeds that have another name now; all others are matched by name.
    time_limit_s
        Wall time of this search, and again of that for the fresh plan.
    with_fresh
        Whether to plan afresh as well.

    Returns
    -------
    Revision
        Its plan is checked; ``plan.changes`` say how much is changed and whether it could be less.

    Raises
    ------
    InputError
        If what must stay is not there, or the panel as built is none that the new scenario knows.
    CannotBeMet
        If no plan keeps what must stay; the reasons say what would have to move.
    NoPlanInTime
        If limit or interrupt came before the first plan.
    """
    names = names_of(renamed, as_built_sized, sized)
    built = kept_of(built_from(PlanIndex(as_built_sized, as_built), names), sized, keep or Keep())
    stop = stop or threading.Event()

    def clock() -> Clock:
        return Clock(time.monotonic() + time_limit_s, workers=workers, progress=progress, stop=stop)

    least = _Finished(sized, built, clock())
    try:
        least.run()
    except CannotBeMet as refused:
        raise CannotBeMet([*refused.reasons, *_what_must_move(sized, built, clock())]) from None
    plan = least.plan().model_copy(update={"stays": stays_in(built, as_built.carriers)})
    _check(sized, plan, AsBuilt(as_built_sized, as_built, names.needs, names.feeds))
    fresh = _fresh(sized, time_limit_s, workers, progress, stop) if with_fresh and not stop.is_set() else None
    return Revision(plan, built, None if fresh is None else fresh.plan, dict(least.least.seconds), stop.is_set())


class _Finished:
    """A search for the fewest changes, and the plan that came of it."""

    def __init__(self, sized: Sized, built: Built, clock: Clock) -> None:
        self.sized, self.built, self.clock = sized, built, clock
        self.least = Least(sized, built, clock, self._values)
        self.run = self.least.run

    def _values(self, placement: Placement) -> Values:
        index = PlanIndex(self.sized, plan_of(self.sized, placement, (), False))
        values: dict[str, Fraction] = dict(count_changes(self.built, index).items())
        values.update(costs(measure_index(index)).items())
        return values

    def plan(self) -> Plan:
        """Return the plan with its levels."""
        if self.least.placement is None:
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        by_name = {level.name: level for level in self.least.levels}
        goals = tuple(_goal(level, self.sized) for level in self.least.levels if level.name not in CHANGES)
        plan = plan_of(self.sized, self.least.placement, goals, self.clock.was_cut)
        return plan.model_copy(update={"changes": tuple(_change(by_name[change]) for change in CHANGES)})


def _change(level: Reached) -> ChangeResult:
    return ChangeResult.model_validate(
        {
            "change": level.name,
            "value": Fraction(level.value),
            "bound": Fraction(level.bound),
            "outcome": "best possible" if level.proven else "best so far",
            "closed_by": level.closed_by,
        }
    )


def _goal(level: Reached, sized: Sized) -> GoalResult:
    goal = cast("Goal", level.name)
    aim = next(aim for aim in sized.requirements.scenario.rules.aims if aim.goal == goal)
    return stated(
        aim, level.value, level.bound, level.closed_by, proven=level.proven, best=level.best, allowed=level.allows
    )


def _check(sized: Sized, plan: Plan, as_built: AsBuilt) -> None:
    """Raise BrokenPlan if the checker finds anything, misses a carrier, or counts other changes than stated."""
    findings = dict.fromkeys([*verify(sized, plan), *carriers_gone(as_built.plan.carriers, plan)])
    counted = changes_made(as_built, sized, plan)
    miscounted = [
        f"{stated.change}: stated is {stated.value}, counted {counted[stated.change]}"
        for stated in plan.changes
        if stated.value != counted[stated.change]
    ]
    refuse_broken(findings, miscounted)


def _fresh(
    sized: Sized,
    time_limit_s: float,
    workers: int,
    progress: Callable[[str], None] | None,
    stop: threading.Event,
) -> Outcome | None:
    try:
        return search_plan(sized, time_limit_s=time_limit_s, workers=workers, progress=progress, stop=stop)
    except NoPlanInTime:
        return None


def _what_must_move(sized: Sized, built: Built, clock: Clock) -> list[str]:
    """Say what moves, or goes, in the plan that keeps as much as it can."""
    for kept, words in (
        (Kept(modules=built.kept.modules), "with the modules kept"),
        (Kept(), "with only the carriers kept"),
    ):
        if kept == built.kept:
            continue
        trial = _Finished(sized, replace(built, kept=kept), clock)
        try:
            trial.run()
        except (CannotBeMet, NoPlanInTime):
            continue
        index = PlanIndex(sized, trial.plan())
        return [
            f"{words} there is one; it has these out of their place: {', '.join(_moved(index, built, trial.built))}"
        ]
    return ["nor is there one with only the carriers kept: see with allocator plan whether the new list can be met"]


def _moved(index: PlanIndex, built: Built, trial: Built) -> list[str]:
    now = {(item.panel, item.bay): item.module.id for item in index.modules}
    found = [
        f"module {module} at {panel}/{bay}"
        for (panel, bay), module in built.modules.items()
        if (panel, bay) in built.kept.modules and now.get((panel, bay)) != module
    ]
    for need, item in both(trial, index):
        way_moves = need.id in built.kept.ways and not way_stays(need, item, trial, index)
        socket_moves = need.id in built.kept.sockets and not socket_stays(need, item, trial, index)
        if way_moves or socket_moves:
            found.append(f"{need.id} (built at {need.way or need.socket})")
    return found or ["strip pieces only"]
