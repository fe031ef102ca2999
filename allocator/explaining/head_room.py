"""
Head-room: how many more circuits of one kind fit before the next bay.

A plan comes in; a count for each kind goes out: fuse type, feed, with or without a relay. Further circuits are added to
the requirements and sized like all others; the count is backed by a plan with them, and by the proof that one more is
too many.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from allocator.explaining.asking import Answer, Refuter, ask
from allocator.explaining.counting import TESTS, Test, refutes
from allocator.explaining.inquiry import Inquiry
from allocator.explaining.sketch import Case, Change, Sketch
from allocator.plan.plan import Plan
from allocator.plan.why import HeadRoom
from allocator.requirements.quantities import Load
from allocator.requirements.scenario import Circuit
from allocator.sizing.offer import Offer
from allocator.solving.models import Targets

MOST_MORE = 64
TRIES = 3
"""How many counts below the proven limit are tried, where the limit itself has no plan."""
DEFAULT_LOAD = "2 A"
FAIR_SHARES = 3
QUICK, SLOW = TESTS[:2], TESTS[2:]


@dataclass(frozen=True)
class Kind:
    """What further circuits are like."""

    fuse_format: str
    feed: str
    relay: bool


@dataclass
class Room:
    """The room that is left in the bays of one plan."""

    inquiry: Inquiry
    plan: Plan
    load: str = DEFAULT_LOAD

    was_cut: bool = False
    """Whether time ended the search for the count of a kind."""

    def run(self) -> Iterator[HeadRoom]:
        """
        Yield the count of every kind until time is up; kinds that no part on offer serves are left out.

        No kind takes more than a few fair shares of the time that is left, so that a hard one does not stand for all.
        """
        requirements = self.inquiry.requirements
        feeds = [feed.name for feed in requirements.scenario.feeds]
        kinds = [Kind(*item) for item in product(Offer(requirements).formats, feeds, (False, True))]
        kinds = [kind for kind in kinds if self._case(kind, 1) is not None]
        clock = self.inquiry.clock
        for number, kind in enumerate(kinds):
            if clock.left_s <= 0:
                self.was_cut = True
                return
            with clock.part(min(1.0, FAIR_SHARES / (len(kinds) - number))):
                found = self._count(kind)
                self.was_cut = self.was_cut or clock.left_s <= 0
            yield found

    @property
    def targets(self) -> Targets:
        """The bays of the plan, and of the goals before them what it has."""
        targets = []
        for result in self.plan.goals:
            targets.append((result.goal, result.value))
            if result.goal == "bays":
                return targets
        return []

    def _count(self, kind: Kind) -> HeadRoom:
        limit, proof = self._limit(kind)
        most: Refuter | None = proof
        tried = MOST_MORE if limit is None else limit
        for count in range(tried, max(0, tried - TRIES), -1):
            answer = self._ask(kind, count)
            if answer.is_yes:
                return _told(kind, count, limit, most)
            if answer.is_no:
                limit, most = count - 1, answer.refuted_by
        return _told(kind, 0, limit, most)

    def _limit(self, kind: Kind) -> tuple[int | None, Refuter | None]:
        """Return the largest count that no relaxation refutes, the quick ones first; None where none refutes any."""
        low, high = 0, 1
        while not self._is_refuted(kind, high, QUICK):
            if high == MOST_MORE:
                return None, None
            low, high = high, min(high * 2, MOST_MORE)
        limit = self._last_open(kind, low, high, QUICK)
        if limit and self._is_refuted(kind, limit, SLOW):
            limit = self._last_open(kind, 0, limit, SLOW)
        return limit, "relaxation"

    def _last_open(self, kind: Kind, low: int, high: int, tests: Sequence[Test]) -> int:
        """Return the largest count that no test refutes, from one that none does to one that some does."""
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._is_refuted(kind, middle, tests) else (middle, high)
        return low

    def _is_refuted(self, kind: Kind, count: int, tests: Sequence[Test]) -> bool:
        case = self._case(kind, count)
        return case is None or any(refutes(test, case, self.targets, self.inquiry.clock) for test in tests)

    def _ask(self, kind: Kind, count: int) -> Answer:
        case = self._case(kind, count)
        return Answer() if case is None else ask(case, self.targets, self.inquiry.clock)

    def _case(self, kind: Kind, count: int) -> Case | None:
        return self.inquiry.eased([further(kind, count, self.load)])


def further(kind: Kind, count: int, load: str) -> Change:
    """Return what adds circuits of a kind, one metre from the panel."""

    def change(sketch: Sketch) -> None:
        for number in range(1, count + 1):
            name = f"further-{number}"
            sketch.circuits[name] = Circuit.model_validate(
                {
                    "id": name,
                    "label": f"further {number}",
                    "load": Load(load),
                    "load_type": "resistive",
                    "feeds": (kind.feed,),
                    "fuse_format": kind.fuse_format,
                    "switching": "relay" if kind.relay else "none",
                    "length": {"": "1 m"},
                }
            )

    return change


def _told(kind: Kind, count: int, at_most: int | None, proof: Refuter | None) -> HeadRoom:
    return HeadRoom(
        fuse_format=kind.fuse_format,
        feed=kind.feed,
        relay=kind.relay,
        count=count,
        is_most=count == at_most,
        at_most=at_most,
        proof=proof or "",
    )
