"""
What binds a plan: which single requirements, eased by one step, would save a bay, a module type or a strip piece.

A checked plan comes in; one line for each easing goes out, those that save each with a plan of the eased vehicle. Goal
after goal is asked about, the cheap ones first. Many easings are refuted together: what nothing is saved with, nothing
is saved with either when only a part of it is eased.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from allocator.errors import printable
from allocator.explaining.asking import OPEN, Answer, ask
from allocator.explaining.counting import TESTS, Test, refutes
from allocator.explaining.demands import Demand, Easing
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.pooling import refuted_together
from allocator.plan.measures import counts_of
from allocator.plan.plan import Plan
from allocator.plan.why import Eased, Proof
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Circuit, Goal
from allocator.solving.models import Targets

SAVED: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
COUNTED: tuple[Goal, ...] = ("bays", "module-types")
"""Goals that counting alone can refute, which takes a moment."""
BY_COUNT: tuple[Test, ...] = ("ways",)
NEVER_EASED = ("part limits", "cap")
"""Kinds that no step eases: what parts carry; and a cap, which keeps from waste and not from saving."""
SHARE_OF_PROOFS = 0.8
"""Share of the time after which plans are looked for, whatever could not be refuted by then."""
SHARE_OF_POOL = 0.9
"""Share of that for the demands that touch needs only, which are refuted by the hundred (``pooling.py``)."""
FIRST_S = 4.0
"""Time in which a plan that saves is looked for at first; with all else settled it is looked for until the end."""


@dataclass(frozen=True)
class Binding:
    """One easing, and the plan that saves with it."""

    eased: Eased
    plan: Plan | None = None


@dataclass
class Binder:
    """The easings of one plan, goal by goal."""

    inquiry: Inquiry
    plan: Plan
    _refuted: dict[tuple[str, Goal], Proof] = field(default_factory=dict)
    """What refuted that easing a demand, however far, would save."""
    _answers: dict[tuple[str, Goal], Answer] = field(default_factory=dict)
    """What is known of one easing, by its words."""

    def run(self) -> Iterator[Binding]:
        """Yield every easing by one step, those of the rules first."""
        demands = [demand for demand in self.inquiry.demands.values() if demand.kind not in NEVER_EASED]
        demands.sort(key=lambda demand: (demand.weight, demand.circuit is not None))
        told = [demand for demand in demands if self._first_alike(demand)]
        goals = [(goal, targets) for goal in self._goals() if (targets := self._below(goal)) is not None]
        clock = self.inquiry.clock
        with clock.part(SHARE_OF_PROOFS):
            for number, (goal, targets) in enumerate(goals):
                with clock.part(1 / (len(goals) - number)):
                    self._refute_all(told, goal, targets)
        for number, (goal, targets) in enumerate(goals):
            with clock.part(1 / (len(goals) - number)):
                self._ask_all(told, goal, targets, FIRST_S)
        for goal, targets in goals:
            self._ask_all(told, goal, targets, clock.left_s)
        for demand in told:
            for easing in _steps(demand):
                yield self._binding(demand, easing, [goal for goal, _ in goals])

    def _goals(self) -> list[Goal]:
        return [result.goal for result in self.plan.goals if result.goal in SAVED]

    def _below(self, goal: Goal) -> Targets | None:
        """Return the costs of a plan that saves: one less of a goal, and no more of those before it than today."""
        targets: list[tuple[Goal, Fraction]] = []
        for result in self.plan.goals:
            if result.goal == goal:
                return [*targets, (goal, result.value - 1)] if result.value > 1 else None
            targets.append((result.goal, sense(result.goal) * result.value))
        return None

    def _first_alike(self, demand: Demand) -> bool:
        return self._alike(demand)[:1] in ((), (demand.circuit or demand.name.removeprefix("circuit "),))

    def _alike(self, demand: Demand) -> tuple[str, ...]:
        """Return the circuits whose rows ask for the same as that of a demand, itself among them."""
        if demand.circuit is None and demand.kind != "circuit":
            return ()
        name = demand.circuit or demand.name.removeprefix("circuit ")
        requirements = self.inquiry.requirements
        rules = requirements.scenario.rules
        bound = {other for bond in (*rules.apart, *rules.together) for other in bond.circuits}
        bound |= {str(circuit.control) for circuit in requirements.circuits}
        bound |= {str(feed.control) for feed in requirements.scenario.feeds}
        rows = {circuit.id: _row(circuit) for circuit in requirements.circuits}
        return (name,) if name in bound else tuple(c for c in rows if c not in bound and rows[c] == rows[name])

    def _refute_all(self, told: Sequence[Demand], goal: Goal, targets: Targets) -> None:
        """Refute what relaxations can: whole kinds by counting, a pool of demands, then ever more of the rest."""
        if goal in COUNTED:
            for kind in dict.fromkeys(demand.kind for demand in told):
                self._refute([demand for demand in told if demand.kind == kind], goal, targets, BY_COUNT)
        names = [demand.name for demand in told if (demand.name, goal) not in self._refuted]
        with self.inquiry.clock.part(SHARE_OF_POOL):
            pooled = refuted_together(self.inquiry, names, targets, self.inquiry.clock)
        self._refuted |= {(name, goal): "relaxation" for name in pooled}
        waiting = [demand for demand in told if (demand.name, goal) not in self._refuted]
        size = 1
        while waiting and self.inquiry.clock.left_s > 0:
            if self._refute_together(waiting[:size], goal, targets, TESTS[1:]):
                waiting, size = waiting[size:], 2 * size
            elif size == 1:
                waiting = waiting[1:]
            else:
                size = (size + 1) // 2

    def _refute(self, demands: Sequence[Demand], goal: Goal, targets: Targets, tests: Sequence[Test]) -> None:
        """Refute demands that are dropped together; if that does not do, halves of them."""
        if not demands or self.inquiry.clock.left_s <= 0:
            return
        if not self._refute_together(demands, goal, targets, tests) and len(demands) > 1:
            half = len(demands) // 2
            self._refute(demands[:half], goal, targets, tests)
            self._refute(demands[half:], goal, targets, tests)

    def _refute_together(self, demands: Sequence[Demand], goal: Goal, targets: Targets, tests: Sequence[Test]) -> bool:
        kept = self.inquiry.everything - {demand.name for demand in demands}
        case = self.inquiry.case(self.inquiry.holding(kept))
        if case is None:
            return False
        found = next((test for test in tests if refutes(test, case, targets, self.inquiry.clock)), None)
        proof: Proof = "counting bound" if found == "ways" else "relaxation"
        if found is not None:
            self._refuted |= {(demand.name, goal): proof for demand in demands}
        return found is not None

    def _ask_all(self, told: Sequence[Demand], goal: Goal, targets: Targets, most_s: float) -> None:
        """Look for a plan that saves with each easing of which that is open, for so long each."""
        clock = self.inquiry.clock
        for demand in told:
            for easing in _steps(demand):
                known = self._answers.get((easing.words, goal), OPEN)
                if (demand.name, goal) in self._refuted or known != OPEN or self._saved(easing) or clock.left_s <= 0:
                    continue
                case = self.inquiry.eased([easing.change])
                answer = OPEN if case is None else ask(case, targets, clock.within(most_s))
                if answer.plan is not None:
                    clock.say(f"{easing.words}: saves {goal}")
                self._answers[easing.words, goal] = answer

    def _saved(self, easing: Easing) -> tuple[Goal, Plan] | None:
        """Return the first goal that an easing is known to save, with the plan."""
        for goal in self._goals():
            plan = self._answers.get((easing.words, goal), OPEN).plan
            if plan is not None:
                return goal, plan
        return None

    def _binding(self, demand: Demand, easing: Easing, goals: Sequence[Goal]) -> Binding:
        """Tell what is known of one easing."""
        saved = self._saved(easing)
        proofs: dict[Goal, Proof] = {}
        for goal in goals if saved is None else goals[: goals.index(saved[0])]:
            proof = self._refuted.get((demand.name, goal)) or self._answers.get((easing.words, goal), OPEN).refuted_by
            if proof is not None:
                proofs[goal] = proof
        is_open = saved is None and len(proofs) < len(goals)
        eased = Eased.model_validate(
            {
                "requirement": demand.words,
                "where": printable(demand.where),
                "instead": easing.words,
                "also": self._alike(demand)[1:],
                "saves": None if saved is None else saved[0],
                "counts": None if saved is None else counts_of(saved[1]),
                "is_open": is_open,
                "not_less": tuple(proofs),
                "proof": "" if is_open or saved or not proofs else list(proofs.values())[-1],
            }
        )
        return Binding(eased, None if saved is None else saved[1])


def _steps(demand: Demand) -> Iterator[Easing]:
    """Yield the first step of every ladder; what has none is left out."""
    for ladder in demand.ladders:
        yield from ladder[:1]
    if not demand.ladders:
        yield Easing(demand.dropped, demand.drop)


def _row(circuit: Circuit) -> object:
    """Return all that a circuit's row asks for, without its names."""
    return circuit.model_copy(update={"id": "", "label": "", "note": "", "order": None}).model_dump_json()
