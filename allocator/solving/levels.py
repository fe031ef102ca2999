"""
Goals one after the other: what is known of each, how it came to be known, and what it allows those after it.

Shared words of ``search.py`` and its callers; nothing here solves. All values are costs (``amounts.sense``) until
``stated`` turns them into what a plan says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from allocator.plan.plan import ClosedBy, GoalResult
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Aim, Goal

Said = Mapping[tuple[str, object], int]
"""Values of a solution by the name of a variable's table and its key there (``hints.py`` reads and writes them)."""


@dataclass(frozen=True, slots=True)
class Level:
    """One goal: the value of the plan in hand, the bound, and what closed the gap."""

    goal: Goal
    value: Fraction
    bound: Fraction
    closed_by: ClosedBy
    best: Fraction | None = None
    """Best value that was found, where goals after it used some of its tolerance."""
    allows: Fraction | None = None
    """Up to which value the goals after it may use it; none: the value."""

    @property
    def proven(self) -> bool:
        """Whether no plan can be better than the best value, given what the goals before allow."""
        return self.closed_by not in ("not closed", "cut by time")

    @property
    def limit(self) -> Fraction:
        """Most that a plan may have for what is known of the goals after it."""
        return self.value if self.allows is None else self.allows


@dataclass(frozen=True, slots=True)
class Relaxed:
    """One goal in the count model: a lower bound for every plan within what the goals before it allow."""

    goal: Goal
    bound: Fraction
    value: Fraction
    """Value of the count solution in hand; equal to ``bound`` where the count model was solved to the end."""
    closes_by: ClosedBy = "relaxation"
    """What closes the goal if a plan has this bound as its value."""
    allows: Fraction | None = None
    """Up to which value the goals after it may use it; none: the value."""
    said: Said | None = field(default=None, compare=False, repr=False)
    """The solution that has ``value``."""

    @property
    def limit(self) -> Fraction:
        """Most that a plan may have for what is known of the goals after it."""
        return self.value if self.allows is None else self.allows


def stated(
    aim: Aim,
    value: Fraction,
    bound: Fraction,
    closed_by: ClosedBy,
    *,
    proven: bool,
    best: Fraction | None = None,
    allowed: Fraction | None = None,
) -> GoalResult:
    """
    Return what a plan says of one goal.

    Parameters
    ----------
    aim
        The goal with its limit.
    value, bound, best, allowed
        Costs; ``best`` and ``allowed`` where a tolerance is given.
    closed_by
        What closed the gap, or why it is open.
    proven
        Whether the best value is known to be the best possible.
    """

    def amount(cost: Fraction) -> Fraction:
        return Fraction(sense(aim.goal) * cost)

    is_best = best is None or value == best
    return GoalResult(
        goal=aim.goal,
        value=amount(value),
        bound=amount(bound),
        outcome="best so far" if not proven else "best possible" if is_best else "within tolerance",
        closed_by=closed_by,
        best=None if allowed is None or best is None else amount(best),
        allowed=None if allowed is None else amount(allowed),
        cap=None if aim.most is None else amount(aim.most),
    )


def rank(aims: Sequence[Aim], values: Mapping[Goal, Fraction], levels: Sequence[Level]) -> list[Fraction]:
    """
    Return what makes one plan better than another: the smaller list is the better plan.

    A goal with a tolerance that is done with (``levels``) counts only above what it allows, until all else is equal.
    """
    allowed = {level.goal: level.limit for level in levels if level.allows is not None}
    first = [max(values[aim.goal], allowed.get(aim.goal, values[aim.goal])) for aim in aims]
    return [*first, *(values[aim.goal] for aim in aims)]
