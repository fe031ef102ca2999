"""
One timed allocation: what was reached, how it is known, how long it took and how much memory it held.

Comes in as a ``Sized``; goes out as a ``Run``, plain enough for a results file. Time is that of ``allocate()`` after
import: bounds, search, arranging and the independent checker are in it.
"""

from __future__ import annotations

import time
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from typing import Any

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.plan.plan import GoalResult
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from allocator.solving import search_plan
from tests.benchmarks.memory import forget_peak, peak_mib
from tests.builders import A, F, M, build_sized

NO_PLAN = "no plan in time"
CANNOT = "cannot be met"


@dataclass(frozen=True)
class Reached:
    """One goal: value and bound as exact text ("49/80"), how it was closed, and the seconds it took."""

    goal: str
    value: str
    bound: str
    closed_by: str
    seconds: float
    proven: bool
    """Whether the plan says that none can be better, given the goals before."""

    @classmethod
    def of(cls, goal: GoalResult, took_s: float) -> Reached:
        """Return what a plan says of a goal."""
        proven = goal.outcome == "best possible"
        return cls(goal.goal, str(goal.value), str(goal.bound), goal.closed_by, round(took_s, 3), proven)

    @property
    def gap(self) -> float:
        """Share by which the bound lies below the value; 0 when proven."""
        value, bound = Fraction(self.value), Fraction(self.bound)
        return float((value - bound) / value) if value and not self.proven else 0.0


@dataclass(frozen=True)
class Run:
    """How one allocation went; ``reached`` is empty where there is no plan, and ``ended`` says why."""

    seconds: float
    peak_mib: float
    ended: str
    reached: tuple[Reached, ...]

    def to_table(self) -> dict[str, Any]:
        """Return plain data for a results file."""
        return asdict(self)

    @classmethod
    def from_table(cls, table: dict[str, Any]) -> Run:
        """Read what ``to_table`` wrote."""
        return cls(**table | {"reached": tuple(Reached(**entry) for entry in table["reached"])})

    def level(self, goal: Goal) -> Reached | None:
        """Return what was reached for a goal, if there is a plan and the goal was asked for."""
        return next((entry for entry in self.reached if entry.goal == goal), None)


def timed_run(sized: Sized, *, limit_s: float, workers: int = 2) -> Run:
    """Allocate once and measure; a panel without a plan is a result, too."""
    forget_peak()
    started = time.monotonic()
    try:
        outcome = search_plan(sized, time_limit_s=limit_s, workers=workers)
    except (CannotBeMet, NoPlanInTime) as verdict:
        ended = NO_PLAN if isinstance(verdict, NoPlanInTime) else CANNOT
        return Run(time.monotonic() - started, peak_mib(), ended, ())
    seconds = time.monotonic() - started
    reached = tuple(Reached.of(goal, outcome.seconds_by_goal.get(goal.goal, 0.0)) for goal in outcome.plan.goals)
    return Run(seconds, peak_mib(), "cut by time" if outcome.plan.depends_on_time else "plan", reached)


def for_goals(sized: Sized, goals: tuple[Goal, ...]) -> Sized:
    """Return the same panel with other goals."""
    requirements = sized.requirements
    rules = requirements.scenario.rules.model_copy(update={"objective": goals})
    scenario = requirements.scenario.model_copy(update={"rules": rules})
    return replace(sized, requirements=requirements.model_copy(update={"scenario": scenario}))


def warm_up() -> None:
    """Load everything that a first allocation loads, so that the next one is timed without it."""
    timed_run(
        build_sized(circuits={"lamp": A(5)}, feeds={"battery": F(20)}, modules={"bar": M(("4F strip",))}), limit_s=10
    )
