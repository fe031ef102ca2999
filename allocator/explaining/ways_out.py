"""
Which demands, eased, leave a plan of the whole vehicle: in a large clash single ones first, then rules of one kind
together, such as the room of every panel; then the lightest choices.

What is known of one vehicle comes in; remedies go out. Choices that leave no plan show further clashes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from allocator.explaining.demands import WEIGHTS, Kind
from allocator.explaining.inquiry import Names
from allocator.explaining.known import MANY, Known
from allocator.explaining.reducing import Reducer
from allocator.explaining.remedies import Remedy, remedies_of
from allocator.explaining.shrinking import cheapest_hit, shrink
from allocator.plan.plan import Plan

MOST_REMEDIES = 6
MOST_ROUNDS = 40
"""Choices of demands that are tried as further ways out."""
FEWER_ROUNDS = 8
"""The same, of a large clash: most ways out of it ease several demands, and few can be found."""
SHARE_OF_FIRST = 2 / 3
"""Share of the time that is left, in which one way out is looked for first."""


@dataclass(frozen=True)
class WaysOut:
    """Looks for what can be asked for instead."""

    known: Known

    def first(self, names: Names) -> list[Remedy]:
        """Return what can be asked for in place of the lightest of some demands, if there are many circuits."""
        if sum(self.known.inquiry.demands[name].kind == "circuit" for name in names) <= MANY:
            return []
        with self.known.inquiry.clock.part(SHARE_OF_FIRST):
            return next(chain(self._singly(names), self._kind_by_kind()), [])

    def further(self, found: int) -> list[Remedy]:
        """Return more ways out, if there is time."""
        known, remedies = self.known, list[Remedy]()
        singly = self._singly(known.sets[0]) if known.is_large else iter(())
        rounds = FEWER_ROUNDS if known.is_large else MOST_ROUNDS
        for ways_out in chain(singly, self._of_lightest_choices(rounds)):
            remedies += ways_out
            if found + len(remedies) >= MOST_REMEDIES or not known.in_time:
                break
        return remedies

    def _singly(self, names: Names) -> Iterator[list[Remedy]]:
        """Yield the ways out by easing one demand: rules, then what rows ask for, the lightest first; no circuits."""
        known, demands = self.known, self.known.inquiry.demands
        lightest_first = reversed(known.inquiry.one_by_one(names))
        for name in sorted(lightest_first, key=lambda name: demands[name].circuit is not None):
            hit = frozenset({name})
            if demands[name].kind == "circuit" or hit in known.gaps:
                continue
            if not known.clashes(known.inquiry.holding(known.everything - hit)) and (found := self._of(hit)):
                yield found

    def _kind_by_kind(self) -> Iterator[list[Remedy]]:
        """Yield the ways out by easing rules of one kind together, the lightest kind first."""
        known, rules = self.known, dict[Kind, set[str]]()
        for name, demand in known.inquiry.demands.items():
            if name in known.everything and demand.kind != "circuit" and demand.circuit is None:
                rules.setdefault(demand.kind, set()).add(name)

        def is_enough(names: Names) -> bool:
            return not known.clashes(known.inquiry.holding(known.everything - names))

        for kind in sorted(rules, key=lambda kind: WEIGHTS[kind]):
            hit = frozenset(rules[kind])
            if len(hit) > 1 and is_enough(hit):
                hit = shrink(hit, [frozenset({name}) for name in sorted(hit)], is_enough)
                if hit not in known.gaps and known.in_time and (found := self._of(hit)):
                    yield found

    def _of_lightest_choices(self, rounds: int) -> Iterator[list[Remedy]]:
        """Yield the ways out of the lightest choices that ease one of each clash."""
        known = self.known
        tried = list(known.gaps)
        weights = {name: demand.weight for name, demand in known.inquiry.demands.items()}
        for _ in range(rounds):
            hit = cheapest_hit([*known.sets, *known.coarse], weights, but_not=tried) if known.in_time else None
            if hit is None:
                return
            kept = known.inquiry.holding(known.everything - hit)
            ways_out = [] if known.clashes(kept) else self._of(hit)
            if not ways_out and self._finds_another(kept):
                continue
            tried.append(hit)
            yield ways_out

    def _of(self, hit: Names) -> list[Remedy]:
        """Return what can be asked for in place of a choice of demands; without them there is a plan then."""
        found = list(remedies_of(self.known.inquiry, hit, self._seen))
        self.known.gaps += [hit] if found else []
        return found

    def _finds_another(self, names: Names) -> bool:
        """Look for a further clash among names that were not shown to hold together."""
        known = self.known
        if not known.clashes(names):
            if not known.inquiry.answer(names).is_no:
                return False
            known.by_search = True
        if known.is_large and (test := known.inquiry.first_refuter(names)) is not None:
            known.coarse.append(Reducer(known.inquiry, test).without_kinds(names))
            return True
        return known.finds_clash_in(names)

    def _seen(self, hit: Names) -> Iterator[tuple[str, Plan]]:
        """Yield circuits of which a plan of all else is known, with that plan: another may take their place there."""
        inquiry = self.known.inquiry
        for name in sorted(inquiry.everything):
            answer = inquiry.answers.get(inquiry.holding(inquiry.everything - {name}))
            if name.startswith("circuit ") and name not in hit and answer is not None and answer.plan is not None:
                yield name, answer.plan
