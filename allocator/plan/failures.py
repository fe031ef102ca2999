"""
What goes dark when one thing fails: every feed, main fuse, tail fuse, fuse, coil fuse, relay; by load case.

Comes in as an indexed plan; goes out to ``failures.csv`` and the report page. What follows from what is "Failures" in
``docs/definitions.md``.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from allocator.plan.controls import control_by_need
from allocator.plan.index import PlanIndex
from allocator.plan.parts import supplies

FailureKind = Literal["feed", "main fuse", "tail fuse", "fuse", "coil fuse", "relay"]
Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class CaseEffect:
    """Circuits that run in one load case and are lost, and those whose changeover relay falls back; listing order."""

    dark: tuple[str, ...]
    falls_back: tuple[str, ...]
    critical: tuple[str, ...]
    """Critical ones of both."""

    @property
    def critical_pairs(self) -> tuple[Pair, ...]:
        """Critical circuits that share this fate, two by two."""
        return tuple(itertools.combinations(self.critical, 2))


@dataclass(frozen=True, slots=True)
class Failure:
    """One thing that fails. ``name`` is the feed, or the need that the fuse or relay serves; ``place`` its address."""

    kind: FailureKind
    name: str
    place: str
    effect_by_case: tuple[CaseEffect, ...]
    """In the order of the scenario's load cases."""

    @property
    def dark(self) -> tuple[str, ...]:
        """Circuits lost in any load case, in the order in which they first appear."""
        return tuple(dict.fromkeys(name for effect in self.effect_by_case for name in effect.dark))

    @property
    def critical_pairs(self) -> tuple[Pair, ...]:
        """Pairs of critical circuits that share this fate in any load case."""
        return tuple(dict.fromkeys(pair for effect in self.effect_by_case for pair in effect.critical_pairs))


def failures(index: PlanIndex) -> tuple[Failure, ...]:
    """Return every single failure: those of feeds first, then fuses, coil fuses and relays in listing order."""
    return tuple(_Fates(index).all())


def shared_fates(found: Iterable[Failure]) -> Mapping[Pair, tuple[Failure, ...]]:
    """Return the failures that each pair of critical circuits shares in one load case; pairs as they first appear."""
    by_pair: dict[Pair, tuple[Failure, ...]] = {}
    for failure in found:
        for pair in failure.critical_pairs:
            by_pair[pair] = (*by_pair.get(pair, ()), failure)
    return by_pair


class _Fates:
    """Follows a loss through branches and relay coils."""

    def __init__(self, index: PlanIndex) -> None:
        self.index = index
        requirements = index.sized.requirements
        self.cases = [case.name for case in requirements.scenario.load_cases]
        self.circuits = {circuit.id: circuit for circuit in requirements.circuits}
        self.coils: dict[str, list[str]] = {}
        """Needs whose relay coil hangs on the switched side of a circuit, by that circuit."""
        for (_, need), control in control_by_need(requirements).items():
            self.coils.setdefault(control, []).append(need)

    def all(self) -> Iterator[Failure]:
        index = self.index
        for feed in index.sized.feeds:
            yield self._failure("feed", feed, "", self._on(feed))
        for feed, sized in index.sized.feeds.items():
            # a main fuse is built where the feed enters at all
            if sized.main is not None and any(entry.piece.feed == feed for entry in index.entries):
                yield self._failure("main fuse", feed, "", self._on(feed))
        for supply in supplies(index):
            for entry in index.entries_of(supply.feed.name, supply.panel):
                if index.tail_of(entry).fuse is not None:
                    lost = [item.need.id for item in index.needs_of(entry)]
                    yield self._failure("tail fuse", supply.feed.name, entry.piece.at, lost)
        for item in index.needs:
            if item.option.fuse is not None:
                yield self._failure("fuse", item.need.id, str(item.way), [item.need.id])
        for item in index.needs:
            if item.option.coil_fuse is not None:
                lost, falls_back = self._without_coil([item.need.id])
                yield self._failure("coil fuse", item.need.id, str(item.socket), lost, falls_back)
        for item in index.needs:
            if item.socket is not None:
                yield self._failure("relay", item.need.id, str(item.socket), [item.need.id])

    def _on(self, feed: str) -> list[str]:
        return [item.need.id for item in self.index.needs if item.feed == feed]

    def _failure(
        self, kind: FailureKind, name: str, place: str, lost: list[str], back: Collection[str] = ()
    ) -> Failure:
        dark, falls_back = self._follow(lost, back)
        return Failure(kind, name, place, tuple(self._effect(case, dark, falls_back) for case in self.cases))

    def _without_coil(self, needs: Iterable[str]) -> tuple[list[str], set[str]]:
        """Return the needs whose relay opens without current in its coil, and those whose changeover falls back."""
        lost, falls_back = list[str](), set[str]()
        for name in needs:
            if name in self.circuits and self.circuits[name].switching == "changeover":
                falls_back.add(name)
            else:
                lost.append(name)
        return lost, falls_back

    def _follow(self, lost: list[str], back: Collection[str]) -> tuple[set[str], set[str]]:
        """Return the circuits that go dark, and those whose changeover relay falls back."""
        gone, falls_back, left = set(lost), set(back), list(lost)
        while left:
            name = left.pop()
            need = self.index.need_by_id[name].need
            opens, back = self._without_coil(self.coils.get(name, ()))
            falls_back |= back
            after = [*(self._on(need.supplies) if need.supplies is not None else ()), *opens]
            left += [other for other in after if other not in gone]
            gone |= set(after)
        dark = gone & set(self.circuits)
        return dark, falls_back - dark

    def _effect(self, case: str, dark: set[str], falls_back: set[str]) -> CaseEffect:
        runs = [name for name in self._listed if self._runs_in(name, case)]
        both = dark | falls_back
        return CaseEffect(
            tuple(name for name in runs if name in dark),
            tuple(name for name in runs if name in falls_back),
            tuple(name for name in runs if name in both and self.circuits[name].critical),
        )

    @cached_property
    def _listed(self) -> tuple[str, ...]:
        return tuple(need.id for need in self.index.sized.needs if need.kind == "circuit")

    def _runs_in(self, name: str, case: str) -> bool:
        # not its load: that of a control circuit holds coils of cases in which it does not run itself
        cases = self.circuits[name].load_cases
        return not cases or case in cases
