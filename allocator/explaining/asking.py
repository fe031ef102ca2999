"""
One question: is there a plan of these requirements in which no goal is above its target?

Comes from ``Sized`` and targets; goes out as an answer with a checked plan, or with what refuted it, or open. The cheap
relaxations are asked first; a plan is looked for near their solutions. No goal is minimised on the way.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import floor
from typing import Literal

from allocator.errors import BrokenPlan
from allocator.explaining.narrowing import narrowed
from allocator.explaining.sketch import Case
from allocator.model.balance import build_balance
from allocator.model.cover import Cover, build_cover
from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS, goal_caps
from allocator.model.learnt import Learnt, learn
from allocator.model.placing import build_places, needs_that_counts_misjudge
from allocator.model.tallies import build_tallies
from allocator.model.variables import Places, Sums
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Aim, Goal
from allocator.solving.allocate import plan_of
from allocator.solving.engine import Clock, Status, solve
from allocator.solving.hints import CHOSEN, Said, fix_like, hint_like, said_by_places, said_by_tallies
from allocator.solving.learning import find_overloads
from allocator.solving.models import Models, Targets
from allocator.solving.placement import read_placement
from allocator.solving.splitting import Undecided

COVER_EFFORT = 1.0
TALLY_EFFORT = 2.0
NARROWED_EFFORT = 0.5
LIKE_EFFORT = 1.0
CLOSER_EFFORT = 2.0
WHOLE_EFFORT = 5.0

Refuter = Literal["counting bound", "relaxation", "search"]


@dataclass(frozen=True, slots=True)
class Answer:
    """
    What is known of one question.

    ``plan`` is a checked plan, where there is one; else ``refuted_by`` says what proved that there is none, and None
    leaves it open.
    """

    plan: Plan | None = None
    refuted_by: Refuter | None = None

    @property
    def is_yes(self) -> bool:
        """Whether there is a plan."""
        return self.plan is not None

    @property
    def is_no(self) -> bool:
        """Whether it is proven that there is none."""
        return self.refuted_by is not None


OPEN = Answer()


def ask(case: Case, targets: Targets, clock: Clock) -> Answer:
    """
    Look for a plan within targets, or for the proof that there is none.

    Parameters
    ----------
    case
        The requirements, sized.
    targets
        Goals with the most that the plan may have of each.
    clock
        Its wall time ends the search; the answer is then open.

    Returns
    -------
    Answer
        With a plan that the checker passed, or with what refuted it.

    Raises
    ------
    BrokenPlan
        If the checker refuses a plan: a bug.
    """
    return _Question(case, targets, clock).answer()


Test = Literal["ways", "feeds", "tallies"]
"""Relaxations that take little time, the quickest first: ways and sockets in bays, amperes of feeds, rows tallied."""
TESTS: tuple[Test, ...] = ("ways", "feeds", "tallies")


def refutes(test: Test, case: Case, targets: Targets, clock: Clock) -> bool:
    """Say whether a relaxation alone proves that there is no plan within targets."""
    question = _Question(case, targets, clock)
    if test == "ways":
        return solve(question.cover(targets).model, clock, effort=COVER_EFFORT, is_small=True).status == "infeasible"
    if test == "feeds":
        return solve(build_balance(Frame(case.sized)).model, clock, effort=COVER_EFFORT).status == "infeasible"
    return question.tallied(targets)[0] == "infeasible"


def refuted(case: Case, targets: Targets, clock: Clock) -> bool:
    """Say whether any of the quick relaxations proves that there is no plan within targets."""
    return any(refutes(test, case, targets, clock) for test in TESTS)


def refuted_as_a_whole(case: Case, clock: Clock) -> bool:
    """Build the whole model anew, and say whether it alone proves that there is no plan."""
    return _Question(case, (), clock).whole(None)[0] == "infeasible"


@dataclass
class _Question:
    case: Case
    targets: Targets
    clock: Clock
    learnt: list[Learnt] = field(default_factory=list)
    wider: Case | None = None
    """The case that a plan must be one of, where this one has less to choose from; it may be wrong about the loads."""

    def __post_init__(self) -> None:
        self.sized = self.case.sized
        self.models = Models(self.sized, self.clock, self.learnt)
        capped = {aim.goal: aim for aim in self.sized.requirements.scenario.rules.aims if aim.most is not None}
        named: tuple[Goal, ...] = ("bays", "module-types", *(goal for goal, _ in self.targets))
        self.aims: Sequence[Aim] = tuple(({goal: Aim(goal=goal) for goal in named} | capped).values())

    def answer(self) -> Answer:
        if not self.case.asks_for_something or self.clock.left_s <= 0:
            return OPEN
        first = self.least("bays", self.targets)
        if first is None:
            return Answer(refuted_by="counting bound")
        found = self._narrowed()
        if found is not None:
            return Answer(found)
        status, near = self.tallied(self.targets)
        if status == "infeasible":
            return Answer(refuted_by="relaxation")
        found = None if near is None else self._near(self.targets, near)
        if found is not None:
            return Answer(found)
        for targets in self._narrower(first):
            if self.clock.left_s <= 0:
                return OPEN
            said = self.tallied(targets)[1]
            found = None if said is None else self._near(targets, said)
            if found is not None:
                return Answer(found)
        return self._closer()

    def _narrowed(self) -> Plan | None:
        """Look for a plan where needs have less to choose from: a moment's work, which proves nothing if it fails."""
        sized = narrowed(self.case, self.clock)
        if sized is None:
            return None
        question = _Question(replace(self.case, sized=sized), self.targets, self.clock, wider=self.case)
        said = question.tallied(self.targets, fewest_bays=True)[1]
        return None if said is None else question._near(self.targets, said)

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

    def _narrower(self, first: int) -> Iterator[Targets]:
        """Yield the targets with ever more bays, and as few types as they do with: then models are small."""
        asked = [most for goal, most in self.targets if goal == "bays"]
        room = sum(site.max_bays for site in self.sized.requirements.scenario.panels)
        most = floor(min([Fraction(room), *asked]))
        others = [target for target in self.targets if target[0] != "bays"]
        number, step = first, 1
        while number <= most:
            targets = [("bays", Fraction(number)), *others]
            types = self.least("module-types", targets)
            if types is not None:
                for more in (0, 1):
                    yield [*targets, ("module-types", Fraction(types + more))]
            number, step = number + step, step * 2

    def tallied(self, targets: Targets, *, fewest_bays: bool = False) -> tuple[Status, Said | None]:
        """Ask the tally model; with the fewest bays, what it says is soon placed."""
        x = build_tallies(self.models.frame(targets))
        self._limit(x, targets)
        if fewest_bays:
            x.model.minimize(GOAL_TERMS["bays"](x, None).expression)
        effort = NARROWED_EFFORT if fewest_bays else TALLY_EFFORT
        solved = solve(x.model, self.clock, effort=effort)
        return solved.status, said_by_tallies(x, solved) if solved.has_solution else None

    def _limit(self, x: Sums, targets: Targets, places: Places | None = None) -> None:
        """Keep every goal within its target and its cap."""
        terms = {aim.goal: GOAL_TERMS[aim.goal](x, places) for aim in self.aims}
        goal_caps(x, terms, self.aims)
        for goal, most in targets:
            x.model.add(terms[goal].expression <= terms[goal].whole(most))

    def _near(self, targets: Targets, said: Said) -> Plan | None:
        """Place what a counted solution says in its own modules: first its choices as they are, then any."""
        frame = Frame(self.sized, _copies(self.models.frame(targets), said))
        for fixing in (CHOSEN, ()):
            found = self._placed(frame, targets, said, fixing, LIKE_EFFORT)[1]
            if found is not None:
                return found
        return None

    def _closer(self) -> Answer:
        """Ask the relaxation with some needs placed, then the whole model."""
        if self.clock.left_s <= 0:
            return OPEN
        frame = self.models.frame(self.targets)
        x = build_places(frame, self.learnt, needs_that_counts_misjudge(frame))
        self._limit(x.counts, self.targets, x)
        solved = solve(x.counts.model, self.clock, effort=CLOSER_EFFORT)
        if solved.status == "infeasible":
            return Answer(refuted_by="relaxation")
        said = said_by_places(x, solved) if solved.has_solution else None
        if said is not None:
            found = self._near(self.targets, said)
            if found is not None:
                return Answer(found)
        status, found = self.whole(said)
        if found is not None:
            return Answer(found)
        return Answer(refuted_by="search") if status == "infeasible" else OPEN

    def whole(self, near: Said | None) -> tuple[Status, Plan | None]:
        """Ask the whole model."""
        return self._placed(self.models.frame(self.targets), self.targets, near, (), WHOLE_EFFORT)

    def _placed(
        self, frame: Frame, targets: Targets, said: Said | None, fixing: Collection[str], effort: float
    ) -> tuple[Status, Plan | None]:
        """Ask the placing model, with ``fixing`` as in a counted solution; what cannot be arranged is learnt."""
        x = build_places(frame, self.learnt)
        self._limit(x.counts, targets, x)
        if said is not None:
            fix_like(x, said, fixing)
            hint_like(x, said)
        while self.clock.left_s > 0:
            solved = solve(x.counts.model, self.clock, effort=effort)
            if not solved.has_solution:
                return solved.status, None
            placement = read_placement(x, solved)
            try:
                facts = find_overloads(placement, x, self.clock)
            except Undecided:
                return "unknown", None
            if not facts:
                return solved.status, self._checked(plan_of(self.sized, placement, (), False))
            self.learnt += facts
            for fact in facts:
                learn(x, fact)
        return "unknown", None

    def _checked(self, plan: Plan) -> Plan | None:
        plan, findings = (self.wider or self.case).checked(plan, self.targets)
        if findings and self.wider is not None:
            return None
        if findings:
            raise BrokenPlan("\n".join(f"{finding.rule}: {finding.where}: {finding.detail}" for finding in findings))
        return plan


def _copies(frame: Frame, said: Said) -> dict[tuple[str, str], int]:
    """Return how many modules of each type a solution has at each panel."""
    modules = frame.sized.requirements.catalogue.modules
    copies = {(site.name, module.id): 0 for site in frame.panels for module in modules}
    for instance in frame.instances:
        copies[instance.panel, instance.module] += said.get(("used", instance), 0)
    return copies
