"""
The models of one search: each is built once for its frame, and every question is asked of a copy.

Comes from ``Sized`` and the values of goals; goes to ``bounds.py`` and ``search.py``. Building takes longer than many a
solve, copying next to nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import floor
from typing import Generic, Literal, TypeVar

from allocator.model.cover import Cover, build_cover
from allocator.model.fillings import Filling, cover_of_fillings, loads_in_sum, module_current_of_fillings
from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS, Term, goal_caps
from allocator.model.learnt import Learnt, learn
from allocator.model.placing import build_places, needs_that_counts_misjudge, needs_with_jumpers
from allocator.model.tallies import Tallies, build_tallies
from allocator.model.variables import Places, Sums
from allocator.requirements.scenario import Aim, Goal
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock, solve
from allocator.solving.fillings import fillings

COVER_EFFORT = 1.0
Targets = Sequence[tuple[Goal, Fraction]]
BELOW = Fraction(1, 10**9)
"""Less than any two values of a goal differ by."""
Part = Literal["everything", "misjudged", "misjudged and relays"]
"""Which needs a placing model places; counts misjudge some, and know nothing of where relays are."""
PARTS: Mapping[Part, Callable[[Frame], frozenset[int] | None]] = {
    "everything": lambda frame: None,
    "misjudged": needs_that_counts_misjudge,
    "misjudged and relays": lambda frame: needs_that_counts_misjudge(frame) | needs_with_jumpers(frame),
}
AnyModel = TypeVar("AnyModel", Tallies, Places)


@dataclass(frozen=True)
class Built(Generic[AnyModel]):
    """A model with the terms of all goals."""

    x: AnyModel
    terms: dict[Goal, Term]


@dataclass
class Models:
    """The models of one search; of each kind the one that was built last is kept."""

    sized: Sized
    clock: Clock
    learnt: list[Learnt]
    _frames: dict[tuple[Fraction, Fraction | None], Frame] = field(default_factory=dict)
    _affordable_frames: dict[Fraction, Frame] = field(default_factory=dict)
    _tallies: Built[Tallies] | None = None
    _places: dict[Part, Built[Places]] = field(default_factory=dict)

    @cached_property
    def aims(self) -> tuple[Aim, ...]:
        """Goals in the user's order, with their tolerances and caps."""
        return self.sized.requirements.scenario.rules.aims

    @cached_property
    def widest(self) -> Frame:
        """The frame of all plans, whatever their bays and types."""
        return Frame(self.sized)

    @cached_property
    def fillings(self) -> tuple[Filling, ...]:
        """What modules can be filled with, in weights that hold in every plan."""
        return tuple(fillings(self.widest))

    def cover(self) -> Cover:
        """Return a covering model of all plans."""
        cover = build_cover(self.widest)
        for filling in (*loads_in_sum(self.widest), *self.fillings):
            cover_of_fillings(cover, self.widest, filling)
        return cover

    def frame(self, targets: Targets) -> Frame:
        """Return the frame; targets on bays and module types, or on the price, cap the copies of each type."""
        caps = {goal: value for goal, value in targets if goal in ("bays", "module-types", "price")}
        if "bays" not in caps:
            return self._affordable(caps["price"]) if "price" in caps else self.widest
        key = (caps["bays"], caps.get("module-types"))
        if key not in self._frames:
            self._frames[key] = Frame(self.sized, self._most_copies(*key))
        return self._frames[key]

    def _affordable(self, price: Fraction) -> Frame:
        """Return the frame with no more copies of a type than a price pays for."""
        if price not in self._affordable_frames:
            copies = Counter((instance.panel, instance.module) for instance in self.widest.instances)
            worth = self.sized.price_by_part
            for panel, module in copies:
                if worth[module] > 0:
                    copies[panel, module] = min(copies[panel, module], floor(price / worth[module]))
            every = [
                (site.name, m.id) for site in self.widest.panels for m in self.sized.requirements.catalogue.modules
            ]
            self._affordable_frames[price] = Frame(self.sized, {place: copies[place] for place in every})
        return self._affordable_frames[price]

    def _most_copies(self, bays: Fraction, types: Fraction | None) -> dict[tuple[str, str], int]:
        """Return how many copies of each type can stand at each panel in a plan within so many bays and types."""
        cover = self.cover()
        cover.model.add(cover.bays <= floor(bays))
        if types is not None:
            cover.model.add(cover.types <= floor(types))
        most: dict[tuple[str, str], int] = {}
        for key, number in cover.modules.items():
            cover.model.maximize(number)
            solved = solve(cover.model, self.clock, effort=COVER_EFFORT, is_small=True)
            most[key] = 0 if solved.status == "infeasible" or solved.bound is None else solved.bound
        return most

    def tallies(self, targets: Targets) -> Built[Tallies]:
        """Return a tally model within targets and caps."""
        frame = self.frame(targets)
        if self._tallies is None or self._tallies.x.frame is not frame:
            x = build_tallies(frame)
            for filling in self.fillings:
                module_current_of_fillings(x, filling)
            self._tallies = Built(x, _terms(x, self.aims))
        built = Built(self._tallies.x.copy(), self._tallies.terms)
        _within(built.x, built.terms, targets)
        return built

    def places(self, targets: Targets, part: Part = "everything", frame: Frame | None = None) -> Built[Places]:
        """
        Return a placing model within targets and caps, with all that was learnt.

        Where only ``part`` of the needs are placed, and the others counted, it is a relaxation.
        ``frame`` is one of the caller's own, smaller than that of all plans within the targets.
        """
        frame = self.frame(targets) if frame is None else frame
        known = self._places.get(part)
        if known is None or known.x.counts.frame is not frame:
            places = build_places(frame, placed=PARTS[part](frame))
            for filling in self.fillings:
                module_current_of_fillings(places.counts, filling)
            known = self._places[part] = Built(places, _terms(places.counts, self.aims, places))
        built = Built(known.x.copy(), known.terms)
        for fact in self.learnt:
            learn(built.x, fact)
        _within(built.x.counts, built.terms, targets)
        return built


def _terms(x: Sums, aims: Sequence[Aim], places: Places | None = None) -> dict[Goal, Term]:
    """Return the terms of all goals, each within its cap."""
    terms = {aim.goal: GOAL_TERMS[aim.goal](x, places) for aim in aims}
    goal_caps(x, terms, aims)
    return terms


def _within(x: Sums, terms: dict[Goal, Term], targets: Targets) -> None:
    for goal, value in targets:
        x.model.add(terms[goal].expression <= terms[goal].whole(value))
