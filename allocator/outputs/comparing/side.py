"""
What is compared: plans with the names that they have here, and their rows side by side.

Comes in as names and Contents; goes out to text, lists and sheets, so that all of them say the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from string import ascii_uppercase

from allocator.outputs.content import Content
from allocator.plan.comparison import (
    CountRow,
    FeedRow,
    NeedRow,
    PartRow,
    feed_rows,
    need_rows,
    part_rows,
    spare_rows,
)
from allocator.plan.index import PlanIndex
from allocator.plan.measures import measure_index
from allocator.plan.plan import GoalResult
from allocator.requirements.difference import InputRow, input_rows
from allocator.requirements.scenario import Goal

MOST_SIDES = len(ascii_uppercase)


@dataclass(frozen=True)
class Side:
    """One plan: what the user calls it, and what it holds."""

    name: str
    content: Content


@dataclass(frozen=True)
class Comparison:
    """Two plans or more; the first is the one that the others are held against."""

    sides: tuple[Side, ...]

    @property
    def letters(self) -> tuple[str, ...]:
        """A, B, C, ...: one for each plan."""
        return tuple(ascii_uppercase[: len(self.sides)])

    @cached_property
    def goals(self) -> tuple[Goal, ...]:
        """Every goal of any of them; those of the first in its order, then others."""
        return tuple(dict.fromkeys(result.goal for side in self.sides for result in side.content.plan.goals))

    @cached_property
    def results(self) -> tuple[Mapping[Goal, GoalResult], ...]:
        """What each plan states for each of its goals."""
        return tuple({result.goal: result for result in side.content.plan.goals} for side in self.sides)

    @cached_property
    def values(self) -> tuple[Mapping[Goal, Fraction], ...]:
        """Value of every goal for each plan, also of goals that it was not made for."""
        return tuple(measure_index(side.content.index) for side in self.sides)

    @cached_property
    def inputs(self) -> tuple[InputRow, ...]:
        """Fields of the requirements that differ."""
        return input_rows([side.content.plan.requirements for side in self.sides])

    @cached_property
    def needs(self) -> tuple[NeedRow, ...]:
        """Every circuit, branch and spare way."""
        return need_rows(self._indices)

    @cached_property
    def parts(self) -> tuple[PartRow, ...]:
        """Every part."""
        return part_rows(self._indices)

    @cached_property
    def spare(self) -> tuple[CountRow, ...]:
        """What is left free."""
        return spare_rows(self._indices)

    @cached_property
    def feeds(self) -> tuple[FeedRow, ...]:
        """Load of every feed."""
        return feed_rows(self._indices)

    @property
    def _indices(self) -> list[PlanIndex]:
        return [side.content.index for side in self.sides]

    def numbered(self, other: int) -> tuple[tuple[int, NeedRow], ...]:
        """Return every need that a plan has otherwise than the first, with its number from 1."""
        return tuple(enumerate((row for row in self.needs if row.fate(other) != "same"), 1))

    def currency(self, side: int) -> str:
        """Return the currency of a plan's prices."""
        return self.sides[side].content.sized.requirements.catalogue.currency
