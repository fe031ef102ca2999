"""
What is known of every goal at any moment of a search: the value of the best plan, the best bound, and how it came.

Comes from the bounds, the goals that are done with and the values of the best plan; goes to ``search.py``. Nothing here
solves, so it may be asked from any thread.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TypeVar

from allocator.plan.plan import ClosedBy
from allocator.requirements.scenario import Goal
from allocator.solving.bounds import Bounds
from allocator.solving.levels import Level, Relaxed

AnyKnown = TypeVar("AnyKnown", Level, Relaxed)


def standing(bounds: Bounds, levels: Sequence[Level], values: Mapping[Goal, Fraction]) -> list[Level]:
    """Return every goal with its value in the best plan and the best bound that holds for it there."""
    chain = bounds.chain
    open_as: ClosedBy = "cut by time" if bounds.clock.left_s <= 0 else "not closed"
    stated: list[Level] = []
    for number, goal in enumerate(bounds.goals):
        value, least = values[goal], bounds.least(goal)
        best = value
        known: list[tuple[Fraction, ClosedBy]] = [(least.bound, least.closes_by)]
        known += [(r.bound, r.closes_by) for r in _holding(stated, chain)]
        for level in _holding(stated, levels):
            known.append((level.bound, level.closed_by if level.proven else "search"))
            open_as = level.closed_by if not level.proven else open_as
            if level.allows is not None and _limits(stated) == _limits(levels[:number]):
                best = min(value, level.value)
        bound, by = max(reversed(known), key=lambda pair: pair[0])
        allows = bounds.allows(goal, best)
        stated.append(Level(goal, value, bound, by if best <= bound else open_as, best, allows))
    return stated


def _holding(stated: Sequence[Level], known: Sequence[AnyKnown]) -> Sequence[AnyKnown]:
    """Return what is known of the goal after those stated, if it is known for all that these allow."""
    holds = all(mine.limit <= other.limit for mine, other in zip(stated, known, strict=False))
    return known[len(stated) : len(stated) + 1] if holds else ()


def _limits(levels: Sequence[Level]) -> list[Fraction]:
    return [level.limit for level in levels]
