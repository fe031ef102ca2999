"""
The goals that are compared, each cut into steps, and how far each is looked at.

Comes from the caller's wishes and the chosen plan; goes to ``front.py``, which works with whole numbers of steps only.
Steps are those of a cost (``amounts.sense``): where more is better they count down from 0.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from allocator.requirements.amounts import MORE_IS_BETTER, cap_text, finest, is_count, sense
from allocator.requirements.scenario import Aim, Goal, Rules

DEFAULT_GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces", "price")
DEFAULT_RANGES: Mapping[Goal, int] = {"bays": 3, "module-types": 2, "strip-pieces": 4}
"""How far beyond the chosen plan each count is looked at; other goals have no such end."""
PEAK_STEP = Fraction(1, 100)
SHARE_OF_PLAN = Fraction(1, 100)
"""Step of a price, a length, a mass or an area, as a share of the chosen plan's."""
SWEPT: tuple[Goal, ...] = ("price", "copper", "wire-length", "footprint", "peak-utilisation", "spare-ways")
"""The first of these that is compared is minimised in every cell; the others are only kept within it."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One goal; values within one step of each other count as equal."""

    goal: Goal
    step: Fraction
    """In the goal's own unit; 1 for counts."""
    most: int | None = None
    """Last step that is looked at; none: all."""

    def steps(self, cost: Fraction) -> int:
        """Return in which step a cost is: the first one ends at one step's width."""
        return ceil(cost / self.step)

    def cost(self, steps: int) -> Fraction:
        """Return the largest cost in a step."""
        return steps * self.step

    def value(self, steps: int) -> Fraction:
        """Return the amount of the goal with the largest cost in a step, as people read it."""
        return sense(self.goal) * self.cost(steps)

    def shown(self, steps: int) -> int:
        """Return the number of steps as people read it: that of the amount."""
        return sense(self.goal) * steps


def axes_of(
    goals: Sequence[Goal], costs: Mapping[Goal, Fraction], steps: Mapping[Goal, Fraction], ranges: Mapping[Goal, int]
) -> tuple[Axis, ...]:
    """
    Return the axes of a comparison.

    Parameters
    ----------
    goals
        Goals, first one first.
    costs
        Cost of every goal in the chosen plan.
    steps
        Steps that the caller states, in each goal's own unit (a share of the allowed current, cents, mm, mm2, mm3).
    ranges
        How many steps beyond the chosen plan each goal is looked at; of what more is better there is never less than 0.

    Raises
    ------
    ValueError
        If a step is not a whole number of the finest that a cap may be written in.
    """
    for goal, step in steps.items():
        if step <= 0 or (step / finest(goal)).denominator != 1:
            raise ValueError(f"the step of {goal} is no whole number of {finest(goal)}")
    axes = []
    for goal in goals:
        axis = Axis(goal, steps.get(goal, _step(goal, costs[goal])))
        last = axis.steps(costs[goal]) + ranges[goal] if goal in ranges else None
        if goal in MORE_IS_BETTER:
            last = 0 if last is None else min(0, last)
        axes.append(Axis(goal, axis.step, last))
    return tuple(axes)


def _step(goal: Goal, cost: Fraction) -> Fraction:
    if is_count(goal):
        return Fraction(1)
    if goal == "peak-utilisation":
        return PEAK_STEP
    return max(1, ceil(cost * SHARE_OF_PLAN / finest(goal))) * finest(goal)


def swept_of(goals: Sequence[Goal]) -> Goal | None:
    """Return the goal that is minimised in every cell, if one of those compared can be."""
    return next((goal for goal in SWEPT if goal in goals), None)


def counted_of(goals: Sequence[Goal]) -> tuple[Goal, ...]:
    """Return the goals that the first plan is best in: the counts; spare ways if nothing before them is swept."""
    swept = swept_of(goals)
    before = goals[: goals.index(swept) + 1] if swept is not None else goals
    return tuple(goal for goal in goals if goal not in SWEPT or (goal == "spare-ways" and goal in before))


def targets_within(axes: Sequence[Axis], caps: Sequence[int | None]) -> list[tuple[Goal, Fraction]]:
    """Return the largest cost of every goal that has a cap."""
    return [(axis.goal, axis.cost(cap)) for axis, cap in zip(axes, caps, strict=True) if cap is not None]


def in_the_users_order(goals: Sequence[Goal], rules: Rules) -> tuple[Goal, ...]:
    """Return the goals as the scenario orders them; those that it does not name come last."""
    named = [goal for goal in rules.goals if goal in goals]
    return (*named, *(goal for goal in dict.fromkeys(goals) if goal not in named))


def compared(rules: Rules, goals: Sequence[Goal]) -> tuple[Aim, ...]:
    """Return the objective of a comparison: its goals without tolerances, and every cap of the scenario as it is."""
    caps = {aim.goal: aim.limit for aim in rules.aims}
    capped = [goal for goal, cap in caps.items() if cap is not None and goal not in goals]
    return tuple(Aim.within(goal, caps.get(goal)) for goal in (*goals, *capped))


def capped_at(aims: Sequence[Aim], axes: Sequence[Axis], steps: Sequence[int]) -> tuple[Aim, ...]:
    """Return the objective with a cap at the steps of one plan: what a user would write to get that plan."""
    most = {axis.goal: axis.cost(step) for axis, step in zip(axes, steps, strict=True)}
    return tuple(Aim.within(aim.goal, _limit(aim, most)) for aim in aims)


def _limit(aim: Aim, most: Mapping[Goal, Fraction]) -> int | str | None:
    if aim.goal not in most or (aim.most is not None and aim.most < most[aim.goal]):
        return aim.limit
    amount = sense(aim.goal) * most[aim.goal]
    return int(amount) if is_count(aim.goal) else cap_text(aim.goal, amount)
