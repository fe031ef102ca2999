"""
Why there is no plan: demands that clash, none of them without need, and the cheapest ways out, each with a plan.

Requirements that cannot be met come in; a ``Clash`` goes out. ``docs/explanations.md`` says what is claimed and how it
is backed.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field

from allocator.explaining.asking import Refuter, refuted, refuted_as_a_whole
from allocator.explaining.clash import Clash, Needed
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.remedies import Remedy, remedies_of
from allocator.explaining.settling import answer_without, settled, settled_in_part
from allocator.explaining.shrinking import cheapest_hit, grow, shrink
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Requirements
from allocator.solving.engine import Clock

DEFAULT_TIME_S = 8.0
MOST_REMEDIES = 6
MOST_ROUNDS = 40
"""Choices of demands that are tried as further ways out."""
FEWER_ROUNDS = 8
"""The same, of a clash of many members: most ways out of it ease several demands, and few can be found."""
GRACE_S = 0.5
"""How long a clash may be proved anew when time is up."""
MOST_SETTLED_FIRST = 24
"""Members of a clash up to which each is settled before ways out are looked for; of more, one way out comes first."""
SHARE_OF_ONE_WAY_OUT = 0.6
"""Share of the time that is left once a clash of many is known, in which one way out is looked for."""
SHARE_OF_WAYS_OUT = 0.2
"""Share of the time that is kept for further ways out after that."""


def explain(
    requirements: Requirements, *, time_limit_s: float = DEFAULT_TIME_S, clock: Clock | None = None
) -> Clash | None:
    """
    Say why requirements cannot be met.

    Parameters
    ----------
    requirements
        One vehicle, which can be sized but not built.
    time_limit_s
        Wall time; what was not settled then is said to be open.
    clock
        In place of ``time_limit_s``: a clock that others may stop.

    Returns
    -------
    Clash or None
        None where nothing could be proven in the time.
    """
    clock = clock or Clock(time.monotonic() + time_limit_s)
    return clash_of(Inquiry(requirements, clock))


def clash_of(inquiry: Inquiry) -> Clash | None:
    """Say which demands of an inquiry clash; None where they do not, or that was not settled."""
    return _Search(inquiry).run()


@dataclass
class _Search:
    inquiry: Inquiry
    by_search: bool = False
    """Whether relaxations are not enough to tell what clashes."""
    sets: list[Names] = field(default_factory=list)
    """Sets that clash."""
    coarse: list[Names] = field(default_factory=list)
    """Further sets that clash, in which much is without need: ways out must ease one of each."""
    refuted_by: dict[Names, Refuter] = field(default_factory=dict)
    """What sets were shrunk with; a question about one may say it better, if there is time for it."""
    gaps: list[Names] = field(default_factory=list)
    """What was left out of sets for which a plan was found: every clash takes one from each."""

    def run(self) -> Clash | None:
        inquiry = self.inquiry
        everything = inquiry.holding(inquiry.everything)
        self.by_search = inquiry.first_refuter(everything) is None
        first = self.least_of(everything)
        if first is None:
            return None
        if len(first) <= MOST_SETTLED_FIRST:
            first = settled(inquiry, first, lambda name: not name.startswith("circuit "))
        self.sets.append(first)
        remedies: list[Remedy] = []
        if len(first) > MOST_SETTLED_FIRST:
            with inquiry.clock.part(SHARE_OF_ONE_WAY_OUT):
                remedies += self._one_way_out(everything)
            self.sets[0] = settled_in_part(inquiry, self.sets[0], 1 - SHARE_OF_WAYS_OUT)
        remedies = sorted([*remedies, *self._remedies(everything, len(remedies))], key=lambda remedy: remedy.weight)
        self.sets[0] = settled(inquiry, self.sets[0])
        is_smallest = self._smallest(everything)
        return self._clash(min(self.sets, key=len), remedies, is_smallest)

    def clashes(self, names: Names) -> bool:
        """Say whether a set of demands is proven to clash."""
        if not self._in_time:
            return False
        return self.inquiry.first_refuter(names) is not None or (self.by_search and self.inquiry.answer(names).is_no)

    def least_of(self, names: Names) -> Names | None:
        """Shrink a set that clashes, with what refutes it quickest; None if it is not proven to clash."""
        inquiry = self.inquiry
        test = inquiry.first_refuter(names)

        def clashes(kept: Names) -> bool:
            if not self._in_time:
                return False
            return inquiry.answer(kept).is_no if test is None else inquiry.is_refuted(kept, test)

        if test is None and not self.by_search:
            return None
        found = self._without_kinds(names, clashes, later=() if test else ("room",))
        found = shrink(found, list(self._groups(found)), clashes)
        if test is None:  # without limits models are large: now small ones
            found = self._without_kinds(found, clashes)
        found = shrink(found, [frozenset({name}) for name in inquiry.one_by_one(found)], clashes)
        if test is None and not inquiry.answer(found).is_no:
            return None
        self.refuted_by[found] = "search" if test is None else "counting bound" if test == "ways" else "relaxation"
        return found

    def _without_kinds(self, names: Names, clashes: Callable[[Names], bool], later: Collection[str] = ()) -> Names:
        """Drop all demands of a kind at once, circuits and what is left for later apart: what weighs most first."""
        by_kind: dict[str, set[str]] = {}
        for name in self.inquiry.one_by_one(names):
            by_kind.setdefault(self.inquiry.demands[name].kind, set()).add(name)
        return shrink(
            names, [frozenset(group) for kind, group in by_kind.items() if kind not in ("circuit", *later)], clashes
        )

    def _groups(self, names: Names) -> Iterator[Names]:
        """Yield circuits with all that is said of them: those that no pin or bond speaks of first."""
        demands = self.inquiry.demands
        rules = self.inquiry.requirements.scenario.rules
        bound = {circuit for bond in (*rules.apart, *rules.together) for circuit in bond.circuits}
        bound |= {circuit.id for circuit in self.inquiry.requirements.circuits if circuit.pin}
        circuits = [circuit.id for circuit in self.inquiry.requirements.circuits]
        for circuit in sorted(circuits, key=lambda name: name in bound):
            group = frozenset(n for n in names if demands[n].circuit == circuit or n == f"circuit {circuit}")
            if f"circuit {circuit}" in group:
                yield group

    def _one_way_out(self, everything: Names) -> list[Remedy]:
        """Return what can be asked for in place of the lightest demand without which a plan was found."""
        inquiry = self.inquiry
        for name in reversed(inquiry.one_by_one(self.sets[0])):
            rest = inquiry.holding(everything - {name})
            if inquiry.demands[name].kind == "circuit" or self.clashes(rest):
                continue
            if found := list(remedies_of(inquiry, frozenset({name}), self._seen)):
                self.gaps.append(frozenset({name}))
                return found
        return []

    def _remedies(self, everything: Names, found: int) -> Iterator[Remedy]:
        """Yield the lightest sets of easings that leave a plan; sets that do not show further clashes."""
        inquiry = self.inquiry
        tried = list(self.gaps)
        weights = {name: demand.weight for name, demand in inquiry.demands.items()}
        for _ in range(MOST_ROUNDS if len(self.sets[0]) <= MOST_SETTLED_FIRST else FEWER_ROUNDS):
            hit = cheapest_hit([*self.sets, *self.coarse], weights, but_not=tried)
            if hit is None or found >= MOST_REMEDIES or not self._in_time:
                return
            kept = inquiry.holding(everything - hit)
            ways_out = [] if self.clashes(kept) else list(remedies_of(inquiry, hit, self._seen))
            if not ways_out and self._finds_another(kept):
                continue
            tried.append(hit)
            self.gaps += [hit] if ways_out else []
            found += len(ways_out)
            yield from ways_out

    def _finds_another(self, names: Names) -> bool:
        """Look for a further clash among names that were not shown to hold together."""
        if not self.clashes(names):
            if not self.inquiry.answer(names).is_no:
                return False
            self.by_search = True
        if len(self.sets[0]) > MOST_SETTLED_FIRST and (test := self.inquiry.first_refuter(names)) is not None:
            self.coarse.append(self._without_kinds(names, lambda kept: self.inquiry.is_refuted(kept, test)))
            return True
        further = self.least_of(names)
        self.sets += [] if further is None else [further]
        return further is not None

    def _seen(self, hit: Names) -> Iterator[tuple[str, Plan]]:
        """Yield circuits of which a plan of all else is known, with that plan: another may take their place there."""
        everything = self.inquiry.everything
        for name in sorted(everything):
            answer = self.inquiry.answers.get(self.inquiry.holding(everything - {name}))
            if name.startswith("circuit ") and name not in hit and answer is not None and answer.plan is not None:
                yield name, answer.plan

    def _smallest(self, everything: Names) -> bool:
        """Look for a smaller clash until it is proven that there is none, or time is up."""
        inquiry = self.inquiry
        ones = dict.fromkeys(inquiry.demands, 1)
        while self._in_time:
            least = min(self.sets, key=len)
            if len(least) <= 1:
                return len(least) == 1
            hit = cheapest_hit(self.gaps, ones, presupposed=inquiry.presupposed) if self.gaps else frozenset()
            if hit is None:
                return False
            if len(hit) >= len(least):
                return True
            if self.clashes(hit):
                self.sets.append(hit)
                return True
            widest = grow(
                hit, [frozenset({name}) for name in self._wider(least)], lambda names: not self.clashes(names)
            )
            answer = inquiry.answer(widest)
            if answer.is_no:
                self.by_search = True
                further = self.least_of(widest)
                if further is None:
                    return False
                self.sets.append(further)
            elif not answer.is_yes and inquiry.case(widest) is not None and self._asks_for_something(widest):
                return False
            else:
                self.gaps.append(everything - widest)
        return False

    @property
    def _in_time(self) -> bool:
        return self.inquiry.clock.left_s > 0

    def _asks_for_something(self, names: Names) -> bool:
        case = self.inquiry.case(names)
        return case is not None and case.asks_for_something

    def _wider(self, least: Names) -> list[str]:
        """Return all names in the order in which a set is widened: what is in no known clash first."""
        return sorted(self.inquiry.everything, key=lambda name: (name in least, not name.startswith("circuit "), name))

    def _clash(self, names: Names, remedies: list[Remedy], is_smallest: bool) -> Clash:
        inquiry, members = self.inquiry, []
        in_order = list(inquiry.demands).index
        for name in sorted(names, key=in_order):
            answer = answer_without(inquiry, names, name)
            is_shown = answer.is_yes or (
                self._in_time and not self._asks_for_something(inquiry.holding(names - {name}))
            )
            members.append(Needed(inquiry.demands[name], is_shown, answer.plan))
        case = inquiry.sized_anew(names)
        anew = case is not None and refuted(case, (), inquiry.clock.with_grace(GRACE_S))
        again = case is not None and self._in_time and refuted_as_a_whole(case, inquiry.clock)
        by = inquiry.answer(names).refuted_by or self.refuted_by.get(names, "relaxation")
        others = [other for other in self.sets if other != names]
        return Clash(
            tuple(members),
            by,
            anew,
            again,
            is_smallest,
            tuple(remedies),
            tuple(tuple(inquiry.demands[name] for name in sorted(other, key=in_order)) for other in others),
            not self._in_time,
        )
