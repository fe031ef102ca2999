"""
The demands of one vehicle, and what is known of every set of them that was asked about.

Requirements come in; ``clashes.py`` asks here which sets can be met. Nothing is asked twice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from functools import cached_property

from allocator.explaining.asking import OPEN, Answer, ask
from allocator.explaining.counting import TESTS, Test, refutes
from allocator.explaining.demands import Demand, circuit_of, demand_of
from allocator.explaining.of_circuits import demands_of_circuits
from allocator.explaining.of_rules import demands_of_rules
from allocator.explaining.sketch import Case, Change, case_of, without_circuits
from allocator.requirements.scenario import Requirements
from allocator.sizing.kept import KeptSizings
from allocator.solving.engine import Clock

Names = frozenset[str]
"""Names of demands."""


@dataclass
class Inquiry:
    """One vehicle whose requirements are asked about in parts."""

    requirements: Requirements
    clock: Clock
    answers: dict[Names, Answer] = field(default_factory=dict)
    _refuted: dict[tuple[object, ...], bool] = field(default_factory=dict)
    _answered: dict[str, bool] = field(default_factory=dict)
    _kept_sizings: KeptSizings = field(default_factory=KeptSizings)
    _cases: dict[Names, Case | None] = field(default_factory=dict)
    """The vehicle with all of its circuits, by what else was dropped."""

    @cached_property
    def demands(self) -> dict[str, Demand]:
        """Every demand by its name, circuits first."""
        found = [*demands_of_circuits(self.requirements), *demands_of_rules(self.requirements)]
        return {demand.name: demand for demand in found}

    @cached_property
    def everything(self) -> Names:
        """The names of all demands."""
        return frozenset(self.demands)

    def holding(self, names: Iterable[str]) -> Names:
        """Return those of the names that say something: nothing is asked of a circuit that is left out."""
        names = frozenset(names)
        return frozenset(name for name in names if self.presupposed(name) <= names)

    def presupposed(self, name: str) -> Names:
        """Return the circuit, as a demand, without which a demand says nothing."""
        circuit = self.demands[name].circuit
        return frozenset() if circuit is None else frozenset({demand_of(circuit)} & self.demands.keys())

    def one_by_one(self, names: Iterable[str]) -> list[str]:
        """
        Return names in the order in which they are dropped: what weighs most first, and circuits last of all.

        Of like demands those of small loads come first: what is left then has few members, each of a large load, and a
        plan without a small load is one without a larger one once the two have traded places.
        """
        order = {name: number for number, name in enumerate(self.demands)}

        def rank(name: str) -> tuple[bool, int, int, int]:
            demand = self.demands[name]
            is_circuit = demand.kind == "circuit"
            return is_circuit, -demand.weight, self.load_ma.get(circuit_of(demand), 0), order[name]

        return sorted(names, key=rank)

    @cached_property
    def load_ma(self) -> dict[str, int]:
        """The largest load of each circuit that has a way, mA."""
        case = self.case(self.everything)
        needs = () if case is None else case.sized.needs
        return {need.id: max(need.load_ma_by_case, default=0) for need in needs if need.kind == "circuit"}

    def case(self, kept: Names) -> Case | None:
        """Return the vehicle with some of its demands only."""
        circuits = {name for name in self.demands if name.startswith("circuit ")}
        left_out = frozenset(name.removeprefix("circuit ") for name in circuits - kept)
        dropped = frozenset(
            name
            for name, demand in self.demands.items()
            if name not in kept and name not in circuits and demand.circuit not in left_out
        )
        whole = self._whole(dropped, left_out)
        if whole is None and dropped not in self._cases and 2 * len(left_out) < len(circuits):
            whole = self._cases[dropped] = self._sized(dropped)
        found = None if whole is None else without_circuits(whole, left_out)
        if found is not None:
            return found
        return self._sized(dropped | {demand_of(name) for name in left_out})

    def _whole(self, dropped: Names, left_out: Names) -> Case | None:
        """Return a case sized before that is the same but for what is asked of circuits that are left out."""
        muted = frozenset(name for name, demand in self.demands.items() if demand.circuit in left_out)
        same = (case for names, case in self._cases.items() if names - muted == dropped)
        return next((case for case in same if case is not None), None)

    def sized_anew(self, kept: Names) -> Case | None:
        """Return the vehicle with some of its demands only, of which nothing was kept from before."""
        return case_of(self.requirements, [self.demands[name].drop for name in self.demands if name not in kept])

    def _sized(self, dropped: Names) -> Case | None:
        drops = [demand.drop for name, demand in self.demands.items() if name in dropped]
        return case_of(self.requirements, drops, self._kept_sizings)

    def is_refuted(self, kept: Names, test: Test) -> bool:
        """Say whether a relaxation proves that a set of demands cannot be met."""
        kept = self.holding(kept)
        key = (test, *self._as_seen(test, kept))
        if key not in self._refuted:
            case = self.case(kept)
            found = case is not None and case.asks_for_something and refutes(test, case, (), self.clock, self._answered)
            self._refuted[key] = found
        return self._refuted[key]

    def _as_seen(self, test: Test, kept: Names) -> tuple[object, ...]:
        """Return a set of demands as a relaxation sees it: how many circuits of each kind that it tells apart."""
        if test == "tallies":
            return (kept,)
        alike: Counter[object] = Counter()
        others = set(kept)
        for circuit, own in self._own.items():
            kind = self._kinds.get((test, circuit))
            if own <= kept and kind is not None:
                alike[kind] += 1
                others -= own
        return frozenset(alike.items()), frozenset(others)

    @cached_property
    def _own(self) -> dict[str, Names]:
        """All demands of each circuit that can be left out."""
        own: dict[str, set[str]] = {
            name.removeprefix("circuit "): {name} for name in self.demands if name.startswith("circuit ")
        }
        for name, demand in self.demands.items():
            if demand.circuit in own:
                own[demand.circuit].add(name)
        return {circuit: frozenset(names) for circuit, names in own.items()}

    @cached_property
    def _kinds(self) -> dict[tuple[Test, str], object]:
        """What the quick relaxations see of each circuit whose relay loads no other circuit."""
        case = self.case(self.everything)
        kinds: dict[tuple[Test, str], object] = {}
        controls = {circuit.id for circuit in self.requirements.circuits if circuit.control is None}
        for need in () if case is None else case.sized.needs:
            if need.kind == "circuit" and need.id in controls:
                places = frozenset((option.panel, option.fuse_format, option.relay_class) for option in need.options)
                kinds["ways", need.id] = places, need.feeds, need.pin
                kinds["feeds", need.id] = need.feeds, need.load_ma_by_case, need.pin
        return kinds

    def first_refuter(self, kept: Names) -> Test | None:
        """Return the quickest relaxation that refutes a set of demands; None where none does."""
        return next((test for test in TESTS if self.is_refuted(kept, test)), None)

    def answer(self, kept: Names) -> Answer:
        """Say whether a set of demands can be met, as far as that can be told."""
        kept = self.holding(kept)
        if kept not in self.answers:
            known = self._known_of_another(kept)
            if known is None and self.clock.left_s <= 0:
                return OPEN
            if known is None:
                case = self.case(kept)
                known = OPEN if case is None else ask(case, (), self.clock)
            self.answers[kept] = known
        return self.answers[kept]

    def _known_of_another(self, kept: Names) -> Answer | None:
        """Return what follows from another set: a plan of more demands is one of these, a proof from fewer theirs."""
        for names, answer in self.answers.items():
            if (answer.is_yes and kept <= names) or (answer.is_no and names <= kept):
                return answer
        return None

    def eased(self, changes: Collection[Change]) -> Case | None:
        """Return the whole vehicle with some changes."""
        return case_of(self.requirements, changes, self._kept_sizings)
