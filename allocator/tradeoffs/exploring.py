"""
Cell after cell: find a plan in it, or prove that there is none.

Comes from ``Sized`` and the axes; goes to ``front.py``. Each cell is asked in turn of the tally model, of the placing
model with only the needs that counts misjudge, and of the whole placing model; the first one without a solution closes
it, and a solution of any is placed as it is. A plan that is found splits every cell that holds it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, isfinite

from allocator.model.cover import Cover
from allocator.model.frame import Frame
from allocator.plan.plan import ClosedBy
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Goal
from allocator.solving.attempt import Attempt, attempt
from allocator.solving.capped import Counted, placed_like
from allocator.solving.engine import Clock, solve
from allocator.solving.floors import floor_of
from allocator.solving.hints import said_by_places
from allocator.solving.placement import Placement
from allocator.tradeoffs.axes import Axis, targets_within
from allocator.tradeoffs.cells import Caps, Steps, lies_in, split
from allocator.tradeoffs.opening import Opening

COVER_EFFORT = 1.0
LIKE_EFFORT = 1.0
CLOSER_EFFORT = 8.0
WHOLE_EFFORT = 10.0
COVERED: tuple[Goal, ...] = ("bays", "module-types", "spare-ways")
"""Goals that the covering model knows."""
TIE = Fraction(1, 1000)
"""What a step of any other goal weighs against one of the goal that is swept: enough that none is wasted."""
ROUNDING = 1e-4
"""Of a step: what a bound in floating point is taken to be wrong by at most."""
EMPTY_BY: tuple[ClosedBy, ...] = ("counting bound", "relaxation", "search")
Measured = Callable[[Placement], Steps]
"""Keeps a placement as a plan and says how many steps it has of each goal."""


@dataclass(frozen=True)
class Cell:
    """A part of the range: no plan lies in it, or it was not closed."""

    caps: Caps
    closed_by: ClosedBy
    bound: int | None = None
    """Of a cell that was not closed: least steps that the swept goal has in it, where that is known."""

    @property
    def is_empty(self) -> bool:
        """Whether it is proven that no plan lies in it."""
        return self.closed_by in EMPTY_BY


class Exploration:
    """The search of one comparison; plans, open and settled cells may be read at any time, from any thread."""

    def __init__(self, opening: Opening, axes: Sequence[Axis], clock: Clock, measured: Measured) -> None:
        self.opening, self.axes, self.clock, self.measured = opening, tuple(axes), clock, measured
        self.models, self.swept = opening.models, opening.swept
        self.open: list[Caps] = [tuple(axis.most for axis in axes)]
        self.settled: list[Cell] = []
        self._known: dict[Caps, Counted] = {}
        """What the tally model says, by the caps on all goals but the swept one."""
        self._refuted: list[tuple[Caps, Frame]] = []
        """Modules in which no plan stands within some caps, by search."""
        self._floors = tuple(axis.steps(floor_of(self.models.sized, axis.goal)) for axis in axes)

    def run(self) -> None:
        """Go through the cells until none is left, or time is up; what covering refutes is closed before any search."""
        covered = set[Caps]()
        while self.open and self.clock.left_s > 0:
            unasked = next((caps for caps in self.open if caps not in covered), None)
            if unasked is None:
                self._settle(min(self.open, key=self._last))
            elif not self._not_covered(unasked):
                covered.add(unasked)

    def _last(self, caps: Caps) -> tuple[bool, ...]:
        """Rank cells: those with a cap on the swept goal first, because plans found there split the others."""
        return tuple(cap is None for cap in caps)

    def know(self, steps: Steps) -> None:
        """Split the cells that hold a plan."""
        self.open = self._still_open(split(self.open, steps))

    def _settle(self, caps: Caps) -> None:
        """Find a plan in a cell, or close it."""
        if self._placed_as_covered(caps):
            return
        counted = self._counted(caps)
        while counted is not None:
            made = placed_like(self.models, self._targets(caps), counted, self.clock)
            if self._is_plan(made):
                return
            if made.status != "infeasible" or counted.frame is None:
                break
            self._refuted.append((caps, counted.frame))
            counted = self._counted(caps)
        if counted is None:
            self._close(caps, "search" if self._refuted_in(caps) else "relaxation")
        elif not self._closer(caps):
            self._whole(caps, counted)

    def _counted(self, caps: Caps) -> Counted | None:
        """
        Return what the tally model has in a cell; None: nothing.

        The swept goal is minimised and not capped: its bound says as much, and holds for every cell with the same other
        caps.
        """
        refuted = self._refuted_in(caps)
        if refuted:
            counted = self.opening.tallies.least(self._weights(), self._targets(caps), self.clock, refuted)
            return None if counted.status == "infeasible" else counted
        others = tuple(None if axis.goal == self.swept else cap for axis, cap in zip(self.axes, caps, strict=True))
        if any(lies_in(others, wider) and self._is_above(known, caps) for wider, known in self._known.items()):
            return None
        known = self._known.get(others)
        if known is None:
            known = self._known[others] = self.opening.tallies.least(self._weights(), self._targets(others), self.clock)
        return None if self._is_above(known, caps) else known

    def _refuted_in(self, caps: Caps) -> list[Frame]:
        return [frame for wider, frame in self._refuted if lies_in(caps, wider)]

    def _is_above(self, counted: Counted, caps: Caps) -> bool:
        """Whether even the tally model, asked within these caps or wider ones, has nothing in a cell."""
        if counted.status == "infeasible":
            return True
        bound = self._bound(counted, caps)
        most = next((cap for axis, cap in zip(self.axes, caps, strict=True) if axis.goal == self.swept), None)
        return bound is not None and most is not None and bound > most

    def _not_covered(self, caps: Caps) -> bool:
        """Close a cell in which not even ways and sockets can be covered with so many bays, types and ways over."""
        if solve(self._cover(caps).model, self.clock, effort=COVER_EFFORT, is_small=True).status != "infeasible":
            return False
        self._close(caps, "counting bound")
        return True

    def _placed_as_covered(self, caps: Caps) -> bool:
        """Where modules decide all that is compared: place everything in the best ones that cover ways and sockets."""
        if any(axis.goal not in COVERED for axis in self.axes):
            return False
        cover = self._cover(caps)
        cover.model.minimize(cover.roomiest)
        solved = solve(cover.model, self.clock, effort=COVER_EFFORT, is_small=True)
        if not solved.has_solution:
            return False
        frame = Frame(self.models.sized, {place: solved.value(number) for place, number in cover.modules.items()})
        places = self.models.places(self._targets(caps), frame=frame)
        return self._is_plan(attempt(places, self.models.learnt, self.clock, effort=LIKE_EFFORT))

    def _cover(self, caps: Caps) -> Cover:
        """Return the covering model within the caps that it knows."""
        cover = self.models.cover()
        terms = {"bays": cover.bays, "module-types": cover.types, "spare-ways": cover.spare_ways}
        for goal, value in self._targets(caps):
            if goal in terms:
                cover.model.add(terms[goal] <= floor(value))
        return cover

    def _closer(self, caps: Caps) -> bool:
        """Ask with the needs placed that counts misjudge; say whether that settled the cell."""
        targets = self._targets(caps)
        built = self.models.places(targets, "misjudged")
        solved = solve(built.x.counts.model, self.clock, effort=CLOSER_EFFORT)
        if solved.status == "infeasible":
            self._close(caps, "relaxation")
            return True
        if not solved.has_solution:
            return False
        said = said_by_places(built.x, solved)
        places = self.models.places(targets)
        return self._is_plan(attempt(places, self.models.learnt, self.clock, like=said, effort=LIKE_EFFORT))

    def _whole(self, caps: Caps, counted: Counted) -> None:
        """Search for any plan at all."""
        places = self.models.places(self._targets(caps))
        made = attempt(places, self.models.learnt, self.clock, near=counted.said, effort=WHOLE_EFFORT)
        if self._is_plan(made):
            return
        if made.status == "infeasible":
            self._close(caps, "search")
        else:
            self._close(caps, "cut by time" if self.clock.left_s <= 0 else "not closed", self._bound(counted, caps))

    def _is_plan(self, made: Attempt) -> bool:
        if made.placement is None:
            return False
        self.know(self.measured(made.placement))
        return True

    def _close(self, caps: Caps, by: ClosedBy, bound: int | None = None) -> None:
        said = ", ".join(f"{goal} {sense(goal) * cost}" for goal, cost in self._targets(caps))
        self.clock.say(f"within {said}: {'no plan, by ' + by if by in EMPTY_BY else by}")
        self.settled = [*self.settled, Cell(caps, by, bound)]
        self.open = self._still_open([other for other in self.open if other != caps])

    def _still_open(self, cells: Sequence[Caps]) -> list[Caps]:
        """Leave out what a closed cell holds, and close what no plan reaches by a count alone."""
        left: list[Caps] = []
        for caps in cells:
            if any(lies_in(caps, cell.caps) for cell in self.settled if cell.is_empty):
                continue
            if any(cap is not None and cap < least for cap, least in zip(caps, self._floors, strict=True)):
                self.settled = [*self.settled, Cell(caps, "counting bound")]
            else:
                left.append(caps)
        return left

    def _targets(self, caps: Caps) -> list[tuple[Goal, Fraction]]:
        return targets_within(self.axes, caps)

    def _weights(self) -> dict[Goal, Fraction]:
        """Weigh each goal by its step; a peak is only capped."""
        return {
            axis.goal: (1 if axis.goal == self.swept else TIE) / axis.step
            for axis in self.axes
            if axis.goal != "peak-utilisation"
        }

    def _bound(self, counted: Counted, caps: Caps) -> int | None:
        """Return the least steps of the swept goal in a cell: what is left when the others have their most."""
        weighed = [(axis, cap) for axis, cap in zip(self.axes, caps, strict=True) if axis.goal in self._weights()]
        others = [cap for axis, cap in weighed if axis.goal != self.swept]
        if self.swept is None or None in others or not isfinite(counted.bound):
            return None
        return ceil(counted.bound - float(TIE * sum(cap or 0 for cap in others)) - ROUNDING)
