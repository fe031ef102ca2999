"""
What counts alone say of one question: whether they refute it, and if not, which modules and choices they give.

Comes from a case and targets; goes to ``asking.py``, which places what was counted. Each model here is a relaxation of
the whole decision, so that a case whose relaxation has no solution has no plan.
"""

from __future__ import annotations

from collections.abc import MutableMapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor
from typing import Literal

from allocator.explaining.sketch import Case
from allocator.model.balance import build_balance
from allocator.model.cover import Cover, build_cover
from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS, goal_caps
from allocator.model.learnt import Learnt
from allocator.model.tallies import build_tallies
from allocator.model.variables import Places, Sums
from allocator.requirements.scenario import Aim, Goal
from allocator.solving.engine import Clock, Status, solve
from allocator.solving.hints import said_by_tallies
from allocator.solving.levels import Said
from allocator.solving.models import Models, Targets

COVER_EFFORT = 1.0
TALLY_EFFORT = 2.0

Test = Literal["ways", "feeds", "tallies"]
"""Relaxations that take little time, the quickest first: ways and sockets in bays, amperes of feeds, rows tallied."""
TESTS: tuple[Test, ...] = ("ways", "feeds", "tallies")


def refutes(
    test: Test, case: Case, targets: Targets, clock: Clock, answered: MutableMapping[str, bool] | None = None
) -> bool:
    """
    Say whether a relaxation alone proves that there is no plan within targets.

    ``answered`` holds what was said of small models by their text: of many cases one and the same is asked.
    """
    counted = Counted(case, targets, clock)
    if test == "tallies":
        return counted.tallied(targets)[0] == "infeasible"
    if test == "ways":
        cover = counted.cover(targets)
        cover.model.minimize(cover.bays)  # not asked for, but with something to aim at an answer is found much sooner
        model = cover.model
    else:
        model = build_balance(Frame(case.sized)).model
    text = str(model.proto)
    if answered is not None and text in answered:
        return answered[text]
    status = solve(model, clock, effort=COVER_EFFORT, is_small=True).status
    if answered is not None and status != "unknown":
        answered[text] = status == "infeasible"
    return status == "infeasible"


def refuted(case: Case, targets: Targets, clock: Clock) -> bool:
    """Say whether any of the quick relaxations proves that there is no plan within targets."""
    return any(refutes(test, case, targets, clock) for test in TESTS)


@dataclass
class Counted:
    """One question, as far as counts go."""

    case: Case
    targets: Targets
    clock: Clock
    learnt: list[Learnt] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.sized = self.case.sized
        self.models = Models(self.sized, self.clock, self.learnt)
        capped = {aim.goal: aim for aim in self.sized.requirements.scenario.rules.aims if aim.most is not None}
        named: tuple[Goal, ...] = ("bays", "module-types", *(goal for goal, _ in self.targets))
        self.aims: Sequence[Aim] = tuple(({goal: Aim(goal=goal) for goal in named} | capped).values())

    @property
    def most_bays(self) -> int:
        """The most bays that a plan may have: the room of all panels, or less where that is asked for."""
        room = sum(site.max_bays for site in self.sized.requirements.scenario.panels)
        return floor(min([Fraction(room), *(most for goal, most in self.targets if goal == "bays")]))

    def least(self, goal: Literal["bays", "module-types"], targets: Targets) -> int | None:
        """Return the fewest bays or types that hold all ways and sockets within targets; None where nothing does."""
        cover = self.cover(targets)
        cover.model.minimize(cover.bays if goal == "bays" else cover.types)
        solved = solve(cover.model, self.clock, effort=COVER_EFFORT)
        return None if solved.status == "infeasible" else max(1, solved.bound or 0)

    def cover(self, targets: Targets) -> Cover:
        """Return the covering model within targets and caps."""
        cover = build_cover(Frame(self.sized))
        terms = {"bays": cover.bays, "module-types": cover.types}
        for goal, most in [*targets, *((aim.goal, aim.most) for aim in self.aims if aim.most is not None)]:
            if goal in terms:
                cover.model.add(terms[goal] <= floor(most))
        return cover

    def tallied(
        self, targets: Targets, *, fewest_bays: bool = False, effort: float = TALLY_EFFORT
    ) -> tuple[Status, Said | None]:
        """Ask the tally model; with the fewest bays, what it says is soon placed."""
        x = build_tallies(self.models.frame(targets))
        self.limit(x, targets)
        if fewest_bays:
            x.model.minimize(GOAL_TERMS["bays"](x, None).expression)
        solved = solve(x.model, self.clock, effort=effort)
        return solved.status, said_by_tallies(x, solved) if solved.has_solution else None

    def limit(self, x: Sums, targets: Targets, places: Places | None = None) -> None:
        """Keep every goal within its target and its cap."""
        terms = {aim.goal: GOAL_TERMS[aim.goal](x, places) for aim in self.aims}
        goal_caps(x, terms, self.aims)
        for goal, most in targets:
            x.model.add(terms[goal].expression <= terms[goal].whole(most))
