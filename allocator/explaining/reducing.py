"""
From all that is asked of a vehicle to a clash without needless members, as far as one test can tell.

An inquiry and names that clash come in; fewer names that clash go out. From the top down: whole kinds of demand are
dropped first, then circuits with all that is said of them, then demands one by one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from allocator.explaining.asking import Refuter
from allocator.explaining.counting import Test
from allocator.explaining.demands import circuit_of, demand_of
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.shrinking import shrink

REFUTER_BY_TEST: dict[Test | None, Refuter] = {
    "ways": "counting bound", "feeds": "relaxation", "tallies": "relaxation", None: "search",
}  # fmt: skip


@dataclass(frozen=True)
class Reducer:
    """Drops what a clash does without; ``test`` is the relaxation that refutes it, None where only a search does."""

    inquiry: Inquiry
    test: Test | None

    def clashes(self, names: Names) -> bool:
        """Say whether names are proven to clash; when time is up nothing more is."""
        if self.inquiry.clock.left_s <= 0:
            return False
        return self.inquiry.answer(names).is_no if self.test is None else self.inquiry.is_refuted(names, self.test)

    def without_kinds(self, names: Names, later: Collection[str] = ()) -> Names:
        """Drop all demands of a kind at once, circuits and what is left for later apart: what weighs most first."""
        by_kind: dict[str, set[str]] = {}
        for name in self.inquiry.one_by_one(names):
            by_kind.setdefault(self.inquiry.demands[name].kind, set()).add(name)
        groups = [frozenset(group) for kind, group in by_kind.items() if kind not in ("circuit", *later)]
        return shrink(names, groups, self.clashes)

    def coarse(self, names: Names) -> Names:
        """Drop whole kinds; where models have no limits without the room of panels, that is left for later."""
        return self.without_kinds(names, later=() if self.test else ("room",))

    def fine(self, names: Names) -> Names | None:
        """Drop circuits with all that is said of them, then demands one by one; None if the rest is not proven."""
        found = shrink(names, list(self._groups(names)), self.clashes)
        if self.test is None:  # without limits models are large: now small ones
            found = self.without_kinds(found)
        found = shrink(found, [frozenset({name}) for name in self.inquiry.one_by_one(found)], self.clashes)
        return None if self.test is None and not self.inquiry.answer(found).is_no else found

    def _groups(self, names: Names) -> Iterator[Names]:
        """Yield circuits with all that is said of them: small loads that no pin or bond speaks of first."""
        demands, load_ma = self.inquiry.demands, self.inquiry.load_ma
        rules = self.inquiry.requirements.scenario.rules
        bound = {circuit for bond in (*rules.apart, *rules.together) for circuit in bond.circuits}
        bound |= {circuit.id for circuit in self.inquiry.requirements.circuits if circuit.pin}
        circuits = [circuit.id for circuit in self.inquiry.requirements.circuits]
        for circuit in sorted(circuits, key=lambda name: (name in bound, load_ma.get(name, 0))):
            group = frozenset(name for name in names if circuit_of(demands[name]) == circuit)
            if demand_of(circuit) in group:
                yield group
