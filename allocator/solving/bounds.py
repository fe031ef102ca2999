"""
Lower bounds for every goal from relaxations, and a counted solution that has them.

Comes from ``Sized`` and the values of the goals before; goes to ``search.py``. Three relaxations, each inside the next:
the covering model (bays and copies), the balance model (peak), and the placing model with only the needs that counts
misjudge.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from math import floor

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.balance import build_balance
from allocator.model.cover import build_cover
from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS, Term, goal_caps, peak_term
from allocator.model.learnt import Learnt
from allocator.model.placing import build_places, needs_that_counts_misjudge
from allocator.model.variables import Places
from allocator.requirements.scenario import Aim, Goal
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock, Solved, solve
from allocator.solving.floors import floor_of
from allocator.solving.hints import hint_like
from allocator.solving.levels import ClosedBy, Relaxed

COVER_EFFORT = 1.0
COUNT_EFFORT = 8.0
Targets = Sequence[tuple[Goal, Fraction]]


@dataclass(frozen=True)
class CountSolution:
    """A solution of a relaxation, with the model that its variables belong to."""

    places: Places
    solved: Solved


@dataclass
class Bounds:
    """The relaxations of one search, with what is known of their frames."""

    sized: Sized
    clock: Clock
    learnt: list[Learnt]
    seconds_by_goal: dict[Goal, float] = field(default_factory=dict)
    frames: dict[tuple[Fraction, Fraction | None], Frame] = field(default_factory=dict)
    chain: Sequence[Relaxed] = ()
    """What the relaxations last said of every goal, each for the values before it; it grows as they go on."""
    _least: dict[Goal, Relaxed] = field(default_factory=dict)

    @property
    def goals(self) -> tuple[Goal, ...]:
        """Goals in the user's order."""
        return self.sized.requirements.scenario.rules.goals

    @cached_property
    def aims(self) -> tuple[Aim, ...]:
        """Goals in the user's order, with their tolerances and caps."""
        return self.sized.requirements.scenario.rules.aims

    def allows(self, goal: Goal, value: Fraction) -> Fraction | None:
        """Return up to which value the goals after one may use it, given its best value; None: no tolerance."""
        aim = self.aims[self.goals.index(goal)]
        return None if aim.tolerance is None else aim.allowed(value)

    def spend(self, goal: Goal, started: float) -> None:
        """Add the time since ``started`` to a goal's account."""
        self.seconds_by_goal[goal] = self.seconds_by_goal.get(goal, 0.0) + time.monotonic() - started

    def frame(self, targets: Targets) -> Frame:
        """Return the frame; targets on bays and module types cap the copies of each type."""
        caps = {goal: value for goal, value in targets if goal in ("bays", "module-types")}
        if "bays" not in caps:
            return Frame(self.sized)
        key = (caps["bays"], caps.get("module-types"))
        if key not in self.frames:
            self.frames[key] = Frame(self.sized, self._most_copies(*key))
        return self.frames[key]

    def _most_copies(self, bays: Fraction, types: Fraction | None) -> dict[tuple[str, str], int]:
        """Return how many copies of each type can stand at each panel in a plan within so many bays and types."""
        started = time.monotonic()
        cover = build_cover(Frame(self.sized))
        cover.model.add(cover.bays <= floor(bays))
        if types is not None:
            cover.model.add(cover.types <= floor(types))
        most: dict[tuple[str, str], int] = {}
        for key, number in cover.modules.items():
            cover.model.maximize(number)
            solved = solve(cover.model, self.clock, effort=COVER_EFFORT)
            most[key] = 0 if solved.status == "infeasible" or solved.bound is None else solved.bound
        self.spend("bays", started)
        return most

    def relax(
        self, fixed: Targets, seen: Callable[[CountSolution], None] = lambda solution: None
    ) -> tuple[list[Relaxed], CountSolution | None]:
        """
        Minimise the goals after ``fixed`` one by one in the relaxation, within what those before allow.

        A goal that the effort was too small for has the bound of every plan; without any solution the second value is
        None. Every solution on the way is shown to ``seen``, so that a first plan need not wait for the last bound.

        Raises
        ------
        CannotBeMet
            If already the relaxation has no solution.
        NoPlanInTime
            If nothing is fixed and the clock ran out before any solution.
        """
        chain: list[Relaxed] = []
        before = [Relaxed(goal, self.least(goal).bound, value, "counting bound") for goal, value in fixed]
        done = list(fixed)
        held: CountSolution | None = None
        if not fixed and self.goals[0] == "bays" and (modules := self._modules()) is not None:
            chain = [replace(relaxed, allows=self.allows(relaxed.goal, relaxed.value)) for relaxed in modules[0]]
            self.chain, held = chain, modules[1]
            done = [(relaxed.goal, relaxed.limit) for relaxed in chain]
        x, terms = self._within(done)
        for goal in self.goals[len(done) :]:
            if held is not None:
                seen(held)
            if self.frame(done) != x.counts.frame:
                x, terms = self._within(done)
            if held is not None:
                hint_like(x, held.places, held.solved)
            started = time.monotonic()
            solved = self._at_balance(x, terms[goal]) if goal == "peak-utilisation" else None
            if solved is None:
                x.counts.model.minimize(terms[goal].expression)
                solved = solve(x.counts.model, self.clock, effort=COUNT_EFFORT)
            self.spend(goal, started)
            if solved.status == "infeasible" and held is None and not fixed:
                raise CannotBeMet(["the counts of ways, sockets, bays and amperes cannot be met together"])
            if not solved.has_solution or solved.objective is None or solved.bound is None:
                break
            held = CountSolution(x, solved)
            value = terms[goal].value(solved.objective)
            allows = self.allows(goal, value)
            chain.append(Relaxed(goal, terms[goal].value(solved.bound), value, allows=allows))
            self.chain = [*before, *chain]
            done.append((goal, chain[-1].limit))
            self.clock.say(f"relaxation, {goal}: {value} (bound {chain[-1].bound})")
            x.counts.model.add(
                terms[goal].expression <= (solved.objective if allows is None else terms[goal].whole(allows))
            )
        if held is None and not fixed:
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        return [*chain, *map(self.least, self.goals[len(fixed) + len(chain) :])], held

    def least(self, goal: Goal) -> Relaxed:
        """Return what holds of a goal in every plan, whatever the values of the goals before."""
        if goal not in self._least:
            floor = floor_of(self.sized, goal)
            self._least[goal] = Relaxed(goal, floor, floor, "counting bound")
        return self._least[goal]

    def _within(self, targets: Targets) -> tuple[Places, dict[Goal, Term]]:
        """Return the relaxation within targets, and the terms of all goals of the user."""
        frame = self.frame(targets)
        x = build_places(frame, self.learnt, needs_that_counts_misjudge(frame))
        return x, within(x, targets, self.aims)

    def _at_balance(self, x: Places, term: Term) -> Solved | None:
        """Ask the relaxation for the peak that the balance model allows; None where it has no such solution."""
        model, draw = build_balance(x.counts.frame)
        model.minimize(peak_term(model, self.sized, draw).expression)
        balanced = solve(model, self.clock, effort=COUNT_EFFORT)
        if balanced.bound is None:
            return None
        target = x.counts.model.new_bool_var("at the balance")
        x.counts.model.add(term.expression <= balanced.bound).only_enforce_if(target)
        x.counts.model.clear_objective()
        x.counts.model.add_assumption(target)
        solved = solve(x.counts.model, self.clock, effort=COUNT_EFFORT)
        x.counts.model.clear_assumptions()
        return replace(solved, objective=balanced.bound, bound=balanced.bound) if solved.has_solution else None

    def _modules(self) -> tuple[list[Relaxed], CountSolution] | None:
        """
        Close the bays, and the module types where they come next: one number of bays after the other.

        The covering model says how many bays and, within them, types are the fewest; the relaxation then has just the
        copies that fit. None where a number could be neither met nor refuted within the effort.
        """
        first = self._covered([], "bays")
        if first is None:
            raise CannotBeMet(["there are not enough bays for the ways and sockets that are needed"])
        most = sum(site.max_bays for site in self.sized.requirements.scenario.panels)
        if self.aims[0].most is not None:
            most = min(most, floor(self.aims[0].most))
        for number in range(first, most + 1):
            by: ClosedBy = "counting bound" if number == first else "relaxation"
            chain = [Relaxed("bays", Fraction(number), Fraction(number), by)]
            if self.goals[1:2] == ("module-types",) and self.aims[0].tolerance is None:
                types = Fraction(self._covered([("bays", Fraction(number))], "module-types") or 0)
                both = self._within_reach([*chain, Relaxed("module-types", types, types, "counting bound")])
                if both is not None and both[1].solved.has_solution:
                    return both
            alone = self._within_reach(chain)
            if alone is None or alone[1].solved.has_solution:
                return alone
        raise CannotBeMet(["the counts of ways, sockets, bays and amperes cannot be met together"])

    def _within_reach(self, chain: list[Relaxed]) -> tuple[list[Relaxed], CountSolution] | None:
        """Return the chain with how the relaxation within it ended; None where the effort was too small to say."""
        started = time.monotonic()
        x, _ = self._within([(relaxed.goal, relaxed.value) for relaxed in chain])
        solved = solve(x.counts.model, self.clock, effort=COUNT_EFFORT)
        said = ", ".join(f"{relaxed.goal} {relaxed.value}" for relaxed in chain)
        self.clock.say(f"relaxation, {said}: {'may do' if solved.has_solution else solved.status}")
        self.spend(chain[-1].goal, started)
        return None if solved.status == "unknown" else (chain, CountSolution(x, solved))

    def _covered(self, targets: Targets, goal: Goal) -> int | None:
        """Return the covering bound on bays or module types; None where ways and sockets cannot be covered at all."""
        cover = build_cover(Frame(self.sized))
        terms = {"bays": cover.bays, "module-types": cover.types}
        for other, value in targets:
            cover.model.add(terms[other] <= floor(value))
        cover.model.minimize(terms[goal])
        solved = solve(cover.model, self.clock, effort=COUNT_EFFORT)
        return None if solved.status == "infeasible" else solved.bound or 0


def within(x: Places, targets: Targets, aims: Sequence[Aim]) -> dict[Goal, Term]:
    """Add ``goal <= value`` for every target, and every cap; return the terms of all goals."""
    terms = {aim.goal: GOAL_TERMS[aim.goal](x.counts, x) for aim in aims}
    for goal, value in targets:
        x.counts.model.add(terms[goal].expression <= terms[goal].whole(value))
    goal_caps(x, terms, aims)
    return terms
