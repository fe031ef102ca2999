"""
The chosen plan: the first one, with the goal that is swept brought down as far as a counted solution can be placed.

Comes from the first plan's axes; goes to ``front.py`` as a placement, with the tally model for all cells that follow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from allocator.requirements.scenario import Goal
from allocator.solving.capped import CappedTallies, placed_like
from allocator.solving.engine import Clock
from allocator.solving.models import Models, Targets
from allocator.solving.placement import Placement
from allocator.tradeoffs.axes import Axis, targets_within


@dataclass
class Opening:
    """What is known before the first cell; the placement may be read from any thread as soon as it is there."""

    models: Models
    axes: Sequence[Axis]
    """Those of the first plan."""
    swept: Goal | None
    clock: Clock
    placements: list[Placement] = field(default_factory=list)

    @cached_property
    def tallies(self) -> CappedTallies:
        """The tally model of all plans within the ranges."""
        widest = targets_within(self.axes, [axis.most for axis in self.axes])
        return CappedTallies(self.models, [axis.goal for axis in self.axes], widest)

    def run(self, counts: Targets) -> None:
        """Look for a plan with no more than some counts whose swept goal is least."""
        if self.swept in (None, "peak-utilisation", "spare-ways") or self.clock.left_s <= 0:
            return
        counted = self.tallies.least({self.swept: Fraction(1)}, counts, self.clock)
        placement = placed_like(self.models, counts, counted, self.clock).placement
        self.placements += [] if placement is None else [placement]
