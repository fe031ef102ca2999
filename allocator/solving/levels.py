"""
Goals one after the other: what is known of each, and how it came to be known.

Shared words of ``search.py`` and its callers; nothing here solves.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from allocator.requirements.scenario import Goal

ClosedBy = Literal["counting bound", "relaxation", "search", "not closed", "cut by time"]
"""The last two leave a gap: a fixed effort was too small, which any run repeats; or time or an interrupt came first."""


@dataclass(frozen=True, slots=True)
class Level:
    """One goal: the value of the plan in hand, the bound, and what closed the gap."""

    goal: Goal
    value: Fraction
    bound: Fraction
    closed_by: ClosedBy

    @property
    def proven(self) -> bool:
        """Whether no plan can be better, given the values of the goals before."""
        return self.closed_by not in ("not closed", "cut by time")


@dataclass(frozen=True, slots=True)
class Relaxed:
    """One goal in the count model: a lower bound for every plan with at most the values given for the goals before."""

    goal: Goal
    bound: Fraction
    value: Fraction
    """Value of the count solution in hand; equal to ``bound`` where the count model was solved to the end."""
    closes_by: ClosedBy = "relaxation"
    """What closes the goal if a plan has this bound as its value."""
