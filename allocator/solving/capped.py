"""
The tally model with caps on goals, asked for a solution within them that is good in one goal and wastes no other.

Comes from the models of a search; goes to whoever explores many caps (``tradeoffs/``), as "there is none" or as a
counted solution to place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor

from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS, Term, goal_caps
from allocator.model.tallies import build_tallies
from allocator.requirements.scenario import Goal
from allocator.solving.attempt import Attempt, attempt
from allocator.solving.engine import Clock, Status
from allocator.solving.hints import LIKE, said_by_tallies
from allocator.solving.levels import Said
from allocator.solving.linear import LinearModel
from allocator.solving.models import Models, Targets
from allocator.solving.module_sets import copies_of, just_these

NODES = 4000
GAP = 0.001
LIKE_EFFORT, WITHIN_EFFORT = 1.0, 4.0
"""Effort to place a solution as it was counted, and to place anything in just its modules."""
CAPPED_BY_DRAW: tuple[Goal, ...] = ("peak-utilisation",)


@dataclass(frozen=True)
class Counted:
    """How a solve ended, and what it found."""

    status: Status
    bound: float
    """On the weighted sum of the goals."""
    said: Said | None = None
    frame: Frame | None = None
    """Just the modules of the solution."""


class CappedTallies:
    """The tally model of all plans within the widest caps."""

    def __init__(self, models: Models, goals: Sequence[Goal], widest: Targets) -> None:
        self.models = models
        frame = models.frame(widest)
        self.x = build_tallies(frame)
        # A cap on the peak is one on every draw; as a sum of its own it would have coefficients beyond any tolerance.
        terms: dict[Goal, Term] = {}
        for goal in (*goals, *(aim.goal for aim in models.aims if aim.most is not None)):
            if goal not in CAPPED_BY_DRAW:
                terms[goal] = GOAL_TERMS[goal](self.x, None)
        self._terms = terms
        goal_caps(self.x, self._terms, models.aims)
        self._linear = LinearModel(self.x.model, {goal: term.expression for goal, term in self._terms.items()})

    def least(
        self, weights: Mapping[Goal, Fraction], targets: Targets, clock: Clock, without: Sequence[Frame] = ()
    ) -> Counted:
        """
        Minimise a weighted sum of goals within targets.

        Parameters
        ----------
        weights
            By goal, for its own unit; none for the peak.
        targets
            Most of each goal that is capped.
        without
            Modules in which there is no plan: a solution has some other module or one more of some.
        """
        draws: dict[int, int] = {}
        for peak in (value for goal, value in targets if goal == "peak-utilisation"):
            feeds = self.x.frame.sized.feeds
            draws = {draw.index: floor(feeds[name].allowed_ma * peak) for (name, _), draw in self.x.draw.items()}
        solved = self._linear.minimise(
            {goal: float(weight / self._terms[goal].scale) for goal, weight in weights.items()},
            {goal: self._terms[goal].whole(value) for goal, value in targets if goal not in CAPPED_BY_DRAW},
            draws,
            clock,
            nodes=NODES,
            gap=GAP,
            reached=[self._beyond(frame) for frame in without],
        )
        if not solved.has_solution:
            return Counted(solved.status, solved.bound)
        return Counted(solved.status, solved.bound, said_by_tallies(self.x, solved), just_these(self.x, solved))

    def _beyond(self, frame: Frame) -> dict[int, int]:
        """Return one more than a frame has of each module."""
        copies = copies_of(frame)
        return {number.index: copies[panel, module] + 1 for panel, module, number in self.x.modules}


def placed_like(models: Models, targets: Targets, counted: Counted, clock: Clock) -> Attempt:
    """
    Place a counted solution in just its modules, with ever less of it kept.

    The last try keeps nothing but the modules: where it is infeasible, no plan within the targets stands in them.
    """
    made = Attempt("unknown", None)
    if counted.said is None or counted.frame is None:
        return made
    for fixing in (*LIKE, ()):
        built = models.places(targets, frame=counted.frame)
        effort = LIKE_EFFORT if fixing else WITHIN_EFFORT
        made = attempt(built, models.learnt, clock, like=counted.said, fixing=fixing, effort=effort)
        if made.placement is not None:
            break
    return made
