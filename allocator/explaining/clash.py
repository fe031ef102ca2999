"""
What is told of a vehicle that cannot be built: demands that clash, and what would leave a plan.

Plain data, from ``clashes.py`` to ``told.py``. ``docs/explanations.md`` says what each claim is backed by.
"""

from __future__ import annotations

from dataclasses import dataclass

from allocator.explaining.asking import Refuter
from allocator.explaining.demands import Demand
from allocator.explaining.remedies import Remedy
from allocator.plan.plan import Plan


@dataclass(frozen=True)
class Needed:
    """One demand of a clash, with the plan of all others of the clash: the proof that it is needed."""

    demand: Demand
    is_shown: bool
    """Whether the others were shown to hold together; where they ask for nothing at all, there is no plan to show."""
    plan: Plan | None = None


@dataclass(frozen=True)
class Clash:
    """Demands that cannot be met together."""

    members: tuple[Needed, ...]
    refuted_by: Refuter
    """What proved that the set cannot be met."""
    proved_anew: bool
    """Whether a relaxation of the set alone, sized and built anew, was refuted again."""
    proved_again: bool
    """Whether the whole model of the set alone, built anew, was refuted too."""
    fewest: int
    """Members that every set that clashes has at least, as far as proven."""
    remedies: tuple[Remedy, ...]
    """What would leave a plan of the whole vehicle, cheapest first."""
    further: tuple[tuple[Demand, ...], ...] = ()
    """More sets that clash, found on the way; none of their members is without need as far as relaxations tell."""
    was_cut: bool = False
    """Whether time ended the search for ways out and for smaller sets."""

    @property
    def is_smallest(self) -> bool:
        """Whether it is proven that no set with fewer members clashes."""
        return self.fewest == len(self.members)

    @property
    def is_irreducible(self) -> bool:
        """Whether every member is shown to be needed."""
        return all(member.is_shown for member in self.members)
