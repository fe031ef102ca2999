"""
What binds a plan: which single requirements, eased by one step, would save a bay, a module type or a strip piece.

A checked plan comes in; one line for each easing goes out, those that save each with a plan of the eased vehicle. Many
easings are refuted together: what nothing is saved with, nothing is saved with either when only a part of it is eased.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from allocator.explaining.asking import TESTS, Answer, Test, ask, refutes
from allocator.explaining.demands import Demand, Easing
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.sketch import Case
from allocator.plan.plan import Plan
from allocator.plan.why import Counts, Eased, Proof
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Circuit, Goal
from allocator.solving.models import Targets

SAVED: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
COUNTED: tuple[Goal, ...] = ("bays", "module-types")
"""Goals that counting alone can refute, which takes a moment: they are asked about first."""
BY_COUNT: tuple[Test, ...] = ("ways",)
NEVER_EASED = ("part limits", "cap")
"""Kinds that no step eases: what parts carry; and a cap, which keeps from waste and not from saving."""


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
    _closed: dict[tuple[str, Goal], Proof] = field(default_factory=dict)
    """What refuted that easing a demand, however far, would save."""

    def run(self) -> Iterator[Binding]:
        """Yield every easing by one step, those of the rules first."""
        demands = [demand for demand in self.inquiry.demands.values() if demand.kind not in NEVER_EASED]
        demands.sort(key=lambda demand: (demand.weight, demand.circuit is not None))
        told = [demand for demand in demands if self._first_alike(demand)]
        goals = [(goal, targets) for goal in self._goals() if (targets := self._below(goal)) is not None]
        for tests in (BY_COUNT, TESTS[1:]):
            for goal, targets in goals:
                if tests == BY_COUNT and goal not in COUNTED:
                    continue
                for kind in dict.fromkeys(demand.kind for demand in told):
                    alike = [demand for demand in told if demand.kind == kind]
                    self._refute(
                        [item for item in alike if (item.name, goal) not in self._closed], goal, targets, tests
                    )
        for demand in told:
            for easing in _steps(demand):
                yield self._asked(demand, easing, goals)

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

    def _refute(self, demands: Sequence[Demand], goal: Goal, targets: Targets, tests: Sequence[Test]) -> None:
        """Refute demands that are dropped together; if that does not do, halves of them."""
        if not demands or self.inquiry.clock.left_s <= 0:
            return
        kept = self.inquiry.everything - {demand.name for demand in demands}
        case = self.inquiry.case(self.inquiry.holding(kept))
        proof = "" if case is None else self._proof(case, targets, tests)
        if proof:
            self._closed |= {(demand.name, goal): proof for demand in demands}
        elif len(demands) > 1:
            half = len(demands) // 2
            self._refute(demands[:half], goal, targets, tests)
            self._refute(demands[half:], goal, targets, tests)

    def _proof(self, case: Case, targets: Targets, tests: Sequence[Test]) -> Proof:
        test = next((test for test in tests if refutes(test, case, targets, self.inquiry.clock)), None)
        return "" if test is None else "counting bound" if test == "ways" else "relaxation"

    def _asked(self, demand: Demand, easing: Easing, goals: Sequence[tuple[Goal, Targets]]) -> Binding:
        """Ask whether one easing saves, goal after goal."""
        proof: Proof = ""
        is_open = False
        case = (
            None
            if self.inquiry.clock.left_s <= 0 or all((demand.name, goal) in self._closed for goal, _ in goals)
            else self.inquiry.eased([easing.change])
        )
        for goal, targets in goals:
            closed = self._closed.get((demand.name, goal))
            if closed is not None:
                proof = closed
                continue
            answer = Answer() if case is None else ask(case, targets, self.inquiry.clock)
            if answer.plan is not None:
                return Binding(_eased(demand, easing, self._others(demand), saves=goal, plan=answer.plan), answer.plan)
            proof = answer.refuted_by or ""
            is_open = is_open or not answer.is_no
        return Binding(
            _eased(demand, easing, self._others(demand)).model_copy(
                update={"is_open": is_open, "proof": "" if is_open else proof}
            )
        )

    def _others(self, demand: Demand) -> tuple[str, ...]:
        return self._alike(demand)[1:]


def counts_of(plan: Plan) -> Counts:
    """Count bays, module types and strip pieces of a plan."""
    bays = {carrier.id: carrier.bays for carrier in plan.requirements.catalogue.carriers}
    return Counts(
        bays=sum(bays[item.carrier] for item in plan.carriers),
        module_types=len({item.module for item in plan.modules}),
        strip_pieces=len(plan.pieces),
    )


def _steps(demand: Demand) -> Iterator[Easing]:
    """Yield the first step of every ladder; what has none is left out."""
    for ladder in demand.ladders:
        yield from ladder[:1]
    if not demand.ladders:
        yield Easing(demand.dropped, demand.drop)


def _row(circuit: Circuit) -> object:
    """Return all that a circuit's row asks for, without its names."""
    return circuit.model_copy(update={"id": "", "label": "", "note": "", "order": None}).model_dump_json()


def _eased(
    demand: Demand, easing: Easing, others: tuple[str, ...], saves: Goal | None = None, plan: Plan | None = None
) -> Eased:
    return Eased.model_validate(
        {
            "requirement": demand.words,
            "where": demand.where,
            "instead": easing.words,
            "also": others,
            "saves": saves,
            "counts": None if plan is None else counts_of(plan),
        }
    )
