"""
A second opinion: another model, in another solver, is asked whether any goal of a plan could be better, or any plan is.

Comes in as a Plan with its Sized; goes out as one ``Opinion`` a goal. The model is written from the definitions and
shares nothing with the one that found the plan; the solver is HiGHS, which counts in floating point, so that this is a
second witness and no proof of its own.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from allocator.opinion.assignment import Assignment
from allocator.opinion.goals import Worth, peak_rows, worth_of
from allocator.opinion.limits import limit_currents
from allocator.opinion.linear import Terms
from allocator.opinion.wishes import keep_wishes
from allocator.plan.plan import GoalResult, Plan
from allocator.requirements.amounts import is_count, sense
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized

Verdict = Literal["agrees", "disagrees", "cannot say", "time was up"]
DEFAULT_LIMIT_S = 60.0
_WORDS: Mapping[Verdict, str] = {
    "agrees": "none is better, given the goals before it",
    "disagrees": "a better one seems to exist: report this as a fault of the program",
    "cannot say": "one that keeps all that this model knows would be better; it leaves out",
    "time was up": "neither found a better one nor ruled it out in the time",
}
_STEP = 1.0
"""How much better a better plan must be in what is no count: a cent, a mm, a mm3, a mm2; of the peak the next value."""
Row = tuple[Terms, float, float]


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the second model says of one goal."""

    goal: Goal
    value: Fraction
    """The best value that the plan claims for it."""
    verdict: Verdict
    left_out: tuple[str, ...]
    """What the second model does not know of this vehicle."""
    seconds: float

    @property
    def text(self) -> str:
        """The verdict in words."""
        more = ": " + "; ".join(self.left_out) if self.verdict == "cannot say" else ""
        return f"{self.verdict}: {_WORDS[self.verdict]}{more}"


def second_opinion(sized: Sized, plan: Plan, *, limit_s: float = DEFAULT_LIMIT_S) -> tuple[Opinion, ...]:
    """
    Ask for each goal of a plan whether any plan could be better, given the goals before it.

    Parameters
    ----------
    sized
        Sizing of ``plan.requirements``.
    plan
        Plan with its goals.
    limit_s
        Wall time for each goal, s.

    Returns
    -------
    tuple of Opinion
        One for each goal, in order. A goal that the plan itself calls "best so far" is asked for its value all the
        same: another solver may rule out what the first could not.
    """
    bays = next((result for result in plan.goals if result.goal == "bays"), None)
    most_bays = sum(site.max_bays for site in sized.requirements.scenario.panels)
    found: list[Opinion] = []
    for index in range(len(plan.goals)):
        known = bays is not None and bays in plan.goals[:index] and bays.allowed is None
        most = int(bays.value) if known and bays is not None else most_bays
        found.append(_of_goal(sized, plan.goals, index, most, limit_s))
    return tuple(found)


def opinion_of_refusal(sized: Sized, *, limit_s: float = DEFAULT_LIMIT_S) -> Verdict:
    """
    Ask whether it is true that no plan meets the requirements.

    Parameters
    ----------
    sized
        Sizing of requirements of which it was said that they cannot be met.
    limit_s
        Wall time, s.

    Returns
    -------
    {"agrees", "disagrees", "cannot say", "time was up"}
        ``disagrees``: a plan seems to exist. ``cannot say``: one would, but this model leaves something out.
    """
    started = time.monotonic()
    most_bays = sum(site.max_bays for site in sized.requirements.scenario.panels)
    verdict: Verdict = "time was up"
    for pooled in (True, False):
        panel = _model(sized, most_bays, pooled)
        aims = sized.requirements.scenario.rules.aims
        caps = [
            row for aim in aims if aim.most is not None for row in _at_most(panel, aim.goal, sense(aim.goal) * aim.most)
        ]
        answer = panel.linear.solved(caps, limit_s - (time.monotonic() - started))
        if answer.status == "impossible":
            return "agrees"
        if answer.status == "solved" and not pooled:
            verdict = "cannot say" if panel.left_out else "disagrees"
    return verdict


def _model(sized: Sized, most_bays: int, pooled: bool) -> Assignment:
    panel = Assignment(sized, most_bays, pooled=pooled)
    limit_currents(panel)
    keep_wishes(panel)
    return panel


def _of_goal(sized: Sized, goals: Sequence[GoalResult], index: int, most_bays: int, limit_s: float) -> Opinion:
    """Ask the pooled model first, which is quick, and the whole one if that rules nothing out."""
    result, started = goals[index], time.monotonic()
    verdict: Verdict = "time was up"
    for pooled in (True, False):
        panel = _model(sized, most_bays, pooled)
        rows = [row for before in goals[:index] for row in _kept(panel, before)]
        rows += [
            row for later in goals[index:] if later.cap is not None for row in _at_most(panel, later.goal, later.cap)
        ]
        answer = panel.linear.solved([*rows, *_better(panel, result)], limit_s - (time.monotonic() - started))
        if answer.status == "impossible":
            verdict = "agrees"
            break
        if answer.status == "solved" and not pooled:
            verdict = "cannot say" if panel.left_out else "disagrees"
    best = result.value if result.best is None else result.best
    return Opinion(result.goal, best, verdict, panel.left_out, time.monotonic() - started)


def _kept(panel: Assignment, result: GoalResult) -> Sequence[Row]:
    """Rows that let a goal be no worse than those after it may make it."""
    return _at_most(panel, result.goal, result.value if result.allowed is None else result.allowed)


def _at_most(panel: Assignment, goal: Goal, most: Fraction) -> Sequence[Row]:
    """Rows that let a goal be no worse than an amount."""
    if goal == "peak-utilisation":
        return peak_rows(panel, most, below=False)
    worth, most = worth_of(goal, panel), sense(goal) * most
    slack = 1e-6 * max(1.0, abs(float(most))) if not is_count(goal) else 0.5
    return [_row(worth, float(most) + slack)]


def _better(panel: Assignment, result: GoalResult) -> Sequence[Row]:
    best = result.value if result.best is None else result.best
    if result.goal == "peak-utilisation":
        return peak_rows(panel, best, below=True)
    step = 0.5 if is_count(result.goal) else _STEP
    return [_row(worth_of(result.goal, panel), sense(result.goal) * float(best) - step)]


def _row(worth: Worth, most: float) -> Row:
    return dict(worth.terms), float("-inf"), most - worth.constant
