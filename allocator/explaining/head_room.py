"""
Head-room: how many more circuits of one kind fit before the next bay.

A plan comes in; a count for each kind goes out: fuse type, feed, with or without a relay. Further circuits are added to
the requirements and sized like all others; the count is backed by a plan with them, and by the proof that one more is
too many.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from allocator.explaining.asking import Answer, Refuter, ask, refuted
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

    def run(self) -> Iterator[HeadRoom]:
        """Yield the count of every kind until time is up; kinds that no part on offer serves are left out."""
        requirements = self.inquiry.requirements
        feeds = [feed.name for feed in requirements.scenario.feeds]
        for fuse_format in Offer(requirements).formats:
            for feed in feeds:
                for relay in (False, True):
                    if self.inquiry.clock.left_s <= 0:
                        return
                    found = self._count(Kind(fuse_format, feed, relay))
                    if found is not None:
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

    def _count(self, kind: Kind) -> HeadRoom | None:
        if self._case(kind, 1) is None:
            return None
        limit = self._limit(kind)
        if limit is None:
            return _told(kind, 0, False)
        for count in range(limit, max(0, limit - TRIES), -1):
            answer = self._ask(kind, count)
            if answer.is_yes:
                return _told(kind, count, count == limit, "relaxation" if count == limit else None)
            if answer.is_no:
                limit = count - 1
                if limit == 0:
                    return _told(kind, 0, True, answer.refuted_by)
        return _told(kind, 0, limit == 0, "relaxation" if limit == 0 else None)

    def _limit(self, kind: Kind) -> int | None:
        """Return the largest count that no relaxation refutes; None where time is up."""
        low, high = 0, 1
        while high <= MOST_MORE and not self._is_refuted(kind, high):
            low, high = high, high * 2
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._is_refuted(kind, middle) else (middle, high)
        return None if self.inquiry.clock.left_s <= 0 else low

    def _is_refuted(self, kind: Kind, count: int) -> bool:
        case = self._case(kind, count)
        return case is None or refuted(case, self.targets, self.inquiry.clock)

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


def _told(kind: Kind, count: int, is_most: bool, proof: Refuter | None = None) -> HeadRoom:
    return HeadRoom(
        fuse_format=kind.fuse_format, feed=kind.feed, relay=kind.relay, count=count, is_most=is_most, proof=proof or ""
    )
