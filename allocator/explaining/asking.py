"""
One question: is there a plan of these requirements in which no goal is above its target?

Comes from ``Sized`` and targets; goes out as an answer with a checked plan, or with what refuted it, or open. The cheap
relaxations are asked first; a plan is looked for near their solutions. No goal is minimised on the way.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from allocator.explaining.counting import Counted
from allocator.explaining.narrowing import narrowed
from allocator.explaining.sketch import Case
from allocator.model.frame import Frame
from allocator.model.learnt import learn
from allocator.model.placing import build_places, needs_that_counts_misjudge
from allocator.plan.plan import Plan
from allocator.solving.allocate import plan_of
from allocator.solving.engine import Clock, Status, solve
from allocator.solving.hints import CHOSEN, fix_like, hint_like, said_by_places
from allocator.solving.learning import find_overloads
from allocator.solving.levels import Said
from allocator.solving.models import Targets
from allocator.solving.placement import read_placement
from allocator.solving.refusing import refuse_broken
from allocator.solving.splitting import Undecided

NARROWED_EFFORT = 0.5
LIKE_EFFORT = 1.0
CLOSER_EFFORT = 2.0
WHOLE_EFFORT = 5.0
SHARE_OF_TIGHT_ROOM = 0.75
"""Share of the bays that, once counts ask for more, makes it worth counting on for as few as can be."""

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


def refuted_as_a_whole(case: Case, clock: Clock) -> bool:
    """Build the whole model anew, and say whether it alone proves that there is no plan."""
    return _Question(case, (), clock).whole(None)[0] == "infeasible"


@dataclass
class _Question(Counted):
    wider: Case | None = None
    """The case that a plan must be one of, where this one has less to choose from; it may be wrong about the loads."""

    def answer(self) -> Answer:
        if not self.case.asks_for_something or self.clock.left_s <= 0:
            return OPEN
        first = self.least("bays", self.targets)
        if first is None:
            return Answer(refuted_by="counting bound")
        found = self._narrowed(first)
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

    def _narrowed(self, first: int) -> Plan | None:
        """
        Look for a plan where needs have less to choose from: a moment's work, which proves nothing if it fails.

        Where they do not fit into the modules counted for them, they may in those modules with every choice.
        ``first`` is the fewest bays by counting: where there is far more room, no time is spent on having few.
        """
        sized = narrowed(self.case, self.clock)
        if sized is None:
            return None
        question = _Question(replace(self.case, sized=sized), self.targets, self.clock, wider=self.case)
        is_tight = first > SHARE_OF_TIGHT_ROOM * self.most_bays
        said = question.tallied(self.targets, fewest_bays=is_tight, effort=NARROWED_EFFORT)[1]
        if said is None:
            return None
        found = question._near(self.targets, said)
        if found is not None or self.clock.left_s <= 0:
            return found
        frame = Frame(self.sized, _copies(question.models.frame(self.targets), said))
        return self._placed(frame, self.targets, said, (), LIKE_EFFORT)[1]

    def _narrower(self, first: int) -> Iterator[Targets]:
        """Yield the targets with ever more bays, and as few types as they do with: then models are small."""
        others = [target for target in self.targets if target[0] != "bays"]
        number, step = first, 1
        while number <= self.most_bays:
            targets = [("bays", Fraction(number)), *others]
            types = self.least("module-types", targets)
            if types is not None:
                for more in (0, 1):
                    yield [*targets, ("module-types", Fraction(types + more))]
            number, step = number + step, step * 2

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
        self.limit(x.counts, self.targets, x)
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
        self.limit(x.counts, targets, x)
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
        plan, findings = (self.wider or self.case).checked(_trimmed(plan), self.targets)
        if findings and self.wider is not None:
            return None
        refuse_broken(findings)
        return plan


def _trimmed(plan: Plan) -> Plan:
    """Leave out carriers behind the last module of a panel: nothing was minimised, and there may be many."""
    width = {module.id: module.bays for module in plan.requirements.catalogue.modules}
    last: dict[str, int] = {}
    for placed in plan.modules:
        panel, bay = placed.at.split("/")
        last[panel] = max(last.get(panel, 0), int(bay) + width[placed.module] - 1)
    kept = tuple(carrier for carrier in plan.carriers if carrier.first_bay <= last.get(carrier.panel, 0))
    return plan.model_copy(update={"carriers": kept})


def _copies(frame: Frame, said: Said) -> dict[tuple[str, str], int]:
    """Return how many modules of each type a solution has at each panel."""
    modules = frame.sized.requirements.catalogue.modules
    copies = {(site.name, module.id): 0 for site in frame.panels for module in modules}
    for instance in frame.instances:
        copies[instance.panel, instance.module] += said.get(("used", instance), 0)
    return copies
