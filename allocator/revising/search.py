"""
The search for the plan that changes a built panel least: one level after the other in one model of the whole decision.

Comes in as a sizing table and what is built; goes out as the best placement with the value and bound of every level.
First the changes, then the user's goals. A level is closed only by a solve that ended as optimal.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.frame import Frame, RowSlot
from allocator.model.goals import GOAL_TERMS, Term, goal_caps
from allocator.model.learnt import learn
from allocator.model.moves import Moves
from allocator.model.placing import build_places
from allocator.plan.built import Built
from allocator.plan.changes import CHANGES
from allocator.plan.plan import ClosedBy
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Aim
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock, Solved, solve
from allocator.solving.floors import floor_of
from allocator.solving.hints import hint_again
from allocator.solving.learning import find_overloads
from allocator.solving.placement import Placement, read_placement
from allocator.solving.splitting import Undecided

EFFORT = 40.0
"""Deterministic time for one level; panels of 100 circuits need a fraction of it (docs/benchmarks.md)."""
Values = Mapping[str, Fraction]
"""Number of every change and cost of every goal (``amounts.sense``), by its name."""


@dataclass(frozen=True, slots=True)
class Reached:
    """One level: the value in the plan, the best that is possible, and how that is known."""

    name: str
    value: Fraction
    bound: Fraction
    closed_by: ClosedBy
    best: Fraction
    allows: Fraction | None = None

    @property
    def proven(self) -> bool:
        """Whether no plan has a better best value, given the levels before."""
        return self.closed_by not in ("not closed", "cut by time")


@dataclass
class Least:
    """State of one search for the fewest changes."""

    sized: Sized
    built: Built
    clock: Clock
    evaluate: Callable[[Placement], Values]
    placement: Placement | None = None
    values: Values = field(default_factory=dict)
    levels: list[Reached] = field(default_factory=list)
    seconds: dict[str, float] = field(default_factory=dict)

    def run(self) -> None:
        """
        Close level after level, as far as the clock allows.

        Raises
        ------
        CannotBeMet
            If no plan keeps what must stay.
        NoPlanInTime
            If the clock ran out before the first plan.
        """
        self._x = build_places(Frame(self.sized, free_copies(self.sized, self.built), self.built))
        self._moves = Moves(self._x)
        aims = self.sized.requirements.scenario.rules.aims
        terms: dict[str, Term] = dict(self._moves.terms().items())
        goals = {aim.goal: GOAL_TERMS[aim.goal](self._x.counts, self._x) for aim in aims}
        goal_caps(self._x.counts, goals, aims)
        terms.update(goals.items())
        self._hint_built()
        aim_by_goal: dict[str, Aim] = {aim.goal: aim for aim in aims}
        for name in (*CHANGES, *(aim.goal for aim in aims)):
            started = time.monotonic()
            level = self._close(name, terms[name], aim_by_goal.get(name))
            self.levels.append(level)
            self.seconds[name] = time.monotonic() - started
            best, bound = sense(name) * level.best, sense(name) * level.bound
            self.clock.say(f"{name}: {best} (bound {bound}, {level.closed_by})")
            limit = level.best if level.allows is None else level.allows
            self._x.counts.model.add(terms[name].expression <= terms[name].whole(limit))
        if self.clock.left_s > 0:  # of equal plans that in which fewest circuits change places
            self._x.counts.model.minimize(self._moves.places_left())
            self._solved()
        self._say_values_of_the_plan()

    def _close(self, name: str, term: Term, aim: Aim | None) -> Reached:
        floor = Fraction(0) if aim is None or sense(name) == 1 else floor_of(self.sized, aim.goal)
        if self.placement is not None and self.clock.left_s <= 0:
            return Reached(name, self.values[name], floor, "cut by time", self.values[name])
        self._x.counts.model.minimize(term.expression)
        solved = self._solved()
        if self.placement is None:
            if solved.status == "infeasible":
                raise CannotBeMet(["no plan keeps what must stay as it is built"])
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        best = self.values[name]
        bound = floor if solved.bound is None else min(best, max(floor, term.value(solved.bound)))
        allows = None if aim is None or aim.tolerance is None else aim.allowed(best)
        closed_by: ClosedBy = "search"
        if bound < best:
            closed_by = "cut by time" if self.clock.left_s <= 0 else "not closed"
        elif best == floor:
            closed_by = "counting bound"
        return Reached(name, best, bound, closed_by, best, allows)

    def _solved(self) -> Solved:
        """Solve until the rows that are not built can be arranged, and keep the placement."""
        while True:
            solved = solve(self._x.counts.model, self.clock, effort=EFFORT)
            if not solved.has_solution:
                return solved
            placement = self._read(solved)
            try:
                facts = find_overloads(placement, self._x, self.clock)
            except Undecided:
                return replace(solved, bound=None)
            if not facts:
                self.placement, self.values = placement, self.evaluate(placement)
                hint_again(self._x.counts.model, solved)
                return solved
            for fact in facts:
                learn(self._x, fact)

    def _say_values_of_the_plan(self) -> None:
        """A goal with a tolerance may end above its best value."""
        self.levels = [replace(level, value=self.values[level.name]) for level in self.levels]

    def _hint_built(self) -> None:
        """Start from the panel as it is."""
        for need in self.sized.needs:
            built = self.built.needs.get(need.id)
            if built is None or built.way is None:
                continue
            index = self._x.counts.class_of(need.id)
            for (i, slot, feed, way), variable in self._moves.rows.at_way.items():
                if i == index and need.kind != "spare":
                    here = (slot.instance.panel, slot.instance.pinned_bay, slot.row, way) == (
                        built.way.panel,
                        built.way.bay,
                        built.way.row,
                        built.way.first,
                    )
                    self._x.counts.model.add_hint(variable, here and feed == built.feed)

    def _read(self, solved: Solved) -> Placement:
        """Read a solution, with the order of the rows that are built and the sockets of relays that stay."""
        placement = read_placement(self._x, solved)
        ordered = {slot: self._order(placement, slot, solved) for slot in self._moves.rows.cells}
        sockets = {
            need: built.socket.socket
            for need, (instance, relay_class) in placement.relay_at.items()
            if (built := self.built.needs.get(need)) is not None
            and built.socket is not None
            and (instance.panel, instance.pinned_bay) == (built.socket.panel, built.socket.bay)
            and relay_class == built.relay_class
            and placement.frame.is_built(instance)
        }
        return replace(placement, ordered=ordered, sockets=sockets)

    def _order(self, placement: Placement, slot: RowSlot, solved: Solved) -> tuple[tuple[int, str, int], ...]:
        rows, frame = self._moves.rows, placement.frame
        left = {
            (index, feed): [n for n in placement.needs_at.get((slot, feed), ()) if frame.class_by_need[n] == index]
            for index, feed, _ in rows.cells[slot]
        }
        found: list[tuple[int, str, int]] = []
        piece = 0
        for way in range(1, frame.ways(slot) + 1):
            for index, feed, _ in rows.cells[slot]:
                variable = rows.at_way.get((index, slot, feed, way))
                if variable is None or not solved.value(variable):
                    continue
                joined = rows.joined.get((slot, way - 1, feed))
                if joined is None or not solved.value(joined):
                    piece += 1
                found.append((way, left[index, feed].pop(0), piece))
        return tuple(found)


def free_copies(sized: Sized, built: Built) -> dict[tuple[str, str], int]:
    """Return how many new modules of each type could stand at each panel: as many as go into its free bays."""
    bays_of = {module.id: module.bays for module in sized.requirements.catalogue.modules}
    copies: dict[tuple[str, str], int] = {}
    for site in sized.requirements.scenario.panels:
        kept = sum(
            bays_of[module]
            for (panel, bay), module in built.modules.items()
            if panel == site.name and (panel, bay) in built.kept.modules
        )
        for module, bays in bays_of.items():
            copies[site.name, module] = max(0, site.max_bays - kept) // bays
    return copies
