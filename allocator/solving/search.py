"""
The search: bounds from the count model, plans from the placing model, goal after goal in the user's order.

Comes from ``Sized``; goes out as the best placement and its levels. Per goal: the count model gives a bound; a placement
that meets it closes the goal; if there is none, the placing model is minimised itself. Bounds are only trusted with the
exact values of the goals before them, and statuses are always read.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import floor

from ortools.sat.python.cp_model import IntVar

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.balance import build_balance
from allocator.model.cover import build_cover
from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS, Term, peak_term
from allocator.model.placing import Learnt, Places, build_places, learn
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock, Solved, Status, solve
from allocator.solving.levels import ClosedBy, Level, Relaxed
from allocator.solving.placement import Placement, find_overload, read_placement

COVER_EFFORT = 1.0
COUNT_EFFORT = 12.0
PLACE_EFFORT = 12.0
LAST_EFFORT = 40.0
Targets = Sequence[tuple[Goal, Fraction]]
Evaluate = Callable[[Placement], dict[Goal, Fraction]]


@dataclass(frozen=True)
class Found:
    """A placement with the exact value of every goal."""

    placement: Placement
    values: dict[Goal, Fraction]


@dataclass(frozen=True)
class CountSolution:
    """A solution of the count model, with the model that its variables belong to."""

    counts: Counts
    solved: Solved


@dataclass(frozen=True)
class PlaceOutcome:
    """How the last solve of the placing model ended, and its bound on the goal that was minimised."""

    status: Status
    bound: Fraction | None


@dataclass
class Search:
    """State of one search: what was learnt, and the best placement so far."""

    sized: Sized
    clock: Clock
    evaluate: Evaluate
    learnt: list[Learnt] = field(default_factory=list)
    best: Found | None = None
    seconds_by_goal: dict[Goal, float] = field(default_factory=dict)
    frames: dict[tuple[Fraction, Fraction | None], Frame] = field(default_factory=dict)

    @property
    def goals(self) -> tuple[Goal, ...]:
        """Goals in the user's order."""
        return self.sized.requirements.scenario.rules.objective

    def run(self) -> tuple[Found, list[Level]]:
        """
        Search until every goal is closed or the clock runs out.

        Raises
        ------
        CannotBeMet
            If the count model or the placing model has no solution.
        NoPlanInTime
            If the clock ran out before the first plan.
        """
        chain, relaxed = self._relax([])
        self._first_plan(chain, relaxed)
        levels: list[Level] = []
        fixed: list[tuple[Goal, Fraction]] = []
        for number, goal in enumerate(self.goals):
            if [(r.goal, r.value) for r in chain[:number]] != fixed and self.clock.left_s > 0:
                chain[:number] = [Relaxed(goal, value, value) for goal, value in fixed]
                chain[number:] = self._relax(fixed)[0]
            started = time.monotonic()
            level = self._close(goal, chain[number], fixed)
            self._spend(goal, started)
            self.clock.say(f"{goal}: {level.value} (bound {level.bound}, {level.closed_by})")
            levels.append(level)
            fixed.append((goal, level.value))
        return self._found(), levels

    def _spend(self, goal: Goal, started: float) -> None:
        self.seconds_by_goal[goal] = self.seconds_by_goal.get(goal, 0.0) + time.monotonic() - started

    # -- bounds ------------------------------------------------------------------------------------------------

    def _frame(self, targets: Targets) -> Frame:
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
        self._spend("bays", started)
        return most

    def _relax(self, fixed: Targets) -> tuple[list[Relaxed], CountSolution]:
        """Minimise the goals after ``fixed`` one by one in the count model, given the values of those before."""
        chain: list[Relaxed] = []
        done = list(fixed)
        held: CountSolution | None = None
        terms: dict[Goal, Term] | None = None
        if not fixed and self.goals[0] == "bays" and (bays := self._fewest_bays()) is not None:
            chain.append(bays[0])
            held = bays[1]
            done.append(("bays", chain[0].value))
        for goal in self.goals[len(done) :]:
            if held is None or self._frame(done) != held.counts.frame or terms is None:
                counts = self._counts(self._frame(done))
                terms = _bounded(counts, done, self.goals)
            if held is not None:
                _hint_counts(counts, held)
            started = time.monotonic()
            solved = self._at_bound(counts, terms[goal]) if goal == "peak-utilisation" else None
            if solved is None:
                counts.model.minimize(terms[goal].expression)
                solved = solve(counts.model, self.clock, effort=COUNT_EFFORT)
            self._spend(goal, started)
            if solved.status == "infeasible" and held is None and not fixed:
                raise CannotBeMet(["the counts of ways, sockets, bays and amperes cannot be met together"])
            if not solved.has_solution or solved.objective is None or solved.bound is None:
                break
            held = CountSolution(counts, solved)
            term = terms[goal]
            chain.append(Relaxed(goal, term.value(solved.bound), term.value(solved.objective)))
            done.append((goal, chain[-1].value))
            self.clock.say(f"count model, {goal}: {chain[-1].value} (bound {chain[-1].bound})")
            counts.model.add(term.expression <= solved.objective)
        if held is None:
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        chain += [Relaxed(goal, Fraction(0), Fraction(0)) for goal in self.goals[len(fixed) + len(chain) :]]
        return chain, held

    def _at_bound(self, counts: Counts, term: Term) -> Solved | None:
        """Ask the count model for the peak that the balance model allows; None where it has no such solution."""
        model, draw = build_balance(counts.frame)
        peak = peak_term(model, self.sized, draw)
        model.minimize(peak.expression)
        balanced = solve(model, self.clock, effort=COUNT_EFFORT)
        self.clock.say(f"balance model: bound {balanced.bound} {balanced.status}")
        if balanced.bound is None:
            return None
        target = counts.model.new_bool_var("at the bound of the balance")
        counts.model.add(term.expression <= balanced.bound).only_enforce_if(target)
        counts.model.clear_objective()
        counts.model.add_assumption(target)
        solved = solve(counts.model, self.clock, effort=COUNT_EFFORT)
        counts.model.clear_assumptions()
        if not solved.has_solution:
            return None
        return replace(solved, objective=balanced.bound, bound=balanced.bound)

    def _fewest_bays(self) -> tuple[Relaxed, CountSolution] | None:
        """
        Try one number of bays after the other, from the covering bound on: each model has just the copies that fit.

        None where a number could be neither met nor refuted within the effort.
        """
        started = time.monotonic()
        model = build_cover(Frame(self.sized))
        model.model.minimize(model.bays)
        cover = solve(model.model, self.clock, effort=COUNT_EFFORT)
        if cover.status == "infeasible":
            raise CannotBeMet(["there are not enough bays for the ways and sockets that are needed"])
        first = cover.bound or 0
        most = sum(site.max_bays for site in self.sized.requirements.scenario.panels)
        for number in range(first, most + 1):
            counts = self._counts(self._frame([("bays", Fraction(number))]))
            _bounded(counts, [("bays", Fraction(number))], self.goals)
            solved = solve(counts.model, self.clock, effort=COUNT_EFFORT)
            self.clock.say(f"count model, bays: {number} {'is enough' if solved.has_solution else solved.status}")
            self._spend("bays", started)
            started = time.monotonic()
            if solved.has_solution:
                by: ClosedBy = "counting bound" if number == first else "relaxation"
                return Relaxed("bays", Fraction(number), Fraction(number), by), CountSolution(counts, solved)
            if solved.status != "infeasible":
                return None
        raise CannotBeMet(["the counts of ways, sockets, bays and amperes cannot be met together"])

    def _bounded(self, counts: Counts, places: Places | None, targets: Targets) -> dict[Goal, Term]:
        """Add ``goal <= value`` for every target; return the terms of all goals of the user."""
        terms = {goal: GOAL_TERMS[goal](counts, places) for goal in self.goals}
        for goal, value in targets:
            counts.model.add(terms[goal].expression <= terms[goal].whole(value))
        return terms

    # -- plans -------------------------------------------------------------------------------------------------

    def _first_plan(self, chain: Sequence[Relaxed], relaxed: CountSolution) -> None:
        """Find a placement for the count solution itself, then for its values, then for ever fewer of them."""
        targets = [(r.goal, r.value) for r in chain]
        self._place(targets, like=relaxed)
        loose = [(goal, value) for goal, value in targets if goal not in ("long-jumpers", "price", "wire-length")]
        for length in range(len(loose), -1, -1):
            if self.best is not None or self.clock.left_s <= 0:
                return
            outcome = self._place(loose[:length], near=relaxed)
            if outcome.status == "infeasible" and length == 0:
                raise CannotBeMet(["the counts can be met, but no placement keeps all rules together"])

    def _place(
        self,
        targets: Targets,
        *,
        like: CountSolution | None = None,
        near: CountSolution | None = None,
        goal: Goal | None = None,
        effort: float = PLACE_EFFORT,
    ) -> PlaceOutcome:
        """
        Look for a placement within the targets, keep it if it is better, and return how the last solve ended.

        ``like`` fixes the choices and counts of a count solution, ``near`` only hints them; ``goal`` is minimised.
        """
        x = build_places(self._frame(targets), self.learnt)
        terms = self._bounded(x.counts, x, targets)
        if goal is not None:
            x.counts.model.minimize(terms[goal].expression)
        if like is not None:
            _copy_counts(x.counts, like)
        elif near is not None:
            _hint_counts(x.counts, near)
        while True:
            solved = solve(x.counts.model, self.clock, effort=effort)
            bound = None if goal is None or solved.bound is None else terms[goal].value(solved.bound)
            if not solved.has_solution:
                return PlaceOutcome(solved.status, bound)
            placement = read_placement(x, solved)
            fact = find_overload(placement, x)
            if fact is None:
                self._keep(placement)
                return PlaceOutcome(solved.status, bound)
            self.learnt.append(fact)
            learn(x, fact)

    def _keep(self, placement: Placement) -> None:
        values = self.evaluate(placement)
        key = [values[goal] for goal in self.goals]
        if self.best is None or key < [self.best.values[goal] for goal in self.goals]:
            self.best = Found(placement, values)
            self.clock.say("plan: " + ", ".join(f"{goal} {values[goal]}" for goal in self.goals))

    def _close(self, goal: Goal, relaxed: Relaxed, fixed: Targets) -> Level:
        """Bring one goal's value and bound together as far as the clock allows."""
        bound = relaxed.bound
        if self._value(goal) > bound and self.clock.left_s > 0:
            self._place([*fixed, (goal, bound)])
        if self._value(goal) <= bound:
            return Level(goal, self._value(goal), self._value(goal), relaxed.closes_by)
        if self.clock.left_s > 0:
            outcome = self._place([*fixed, (goal, self._value(goal))], goal=goal, effort=LAST_EFFORT)
            if outcome.status in ("optimal", "feasible") and outcome.bound is not None:
                bound = max(bound, outcome.bound)
            if outcome.status == "optimal" and self._value(goal) <= bound:
                return Level(goal, self._value(goal), self._value(goal), "search")
        return Level(goal, self._value(goal), bound, "not closed")

    def _value(self, goal: Goal) -> Fraction:
        return self._found().values[goal]

    def _found(self) -> Found:
        if self.best is None:
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        return self.best


def _counted(counts: Counts) -> Iterator[tuple[tuple[str, object], IntVar]]:
    """Every variable that a count solution decides, by its meaning."""
    for name in ("used", "carriers", "chosen", "ways", "entries", "enters"):
        for key, variable in getattr(counts, name).items():
            yield (name, key), variable


def _hint_counts(counts: Counts, near: CountSolution) -> None:
    counts.model.clear_hints()
    known = dict(_counted(near.counts))
    hinted: set[int] = set()
    for key, variable in _counted(counts):
        if key in known and variable.index not in hinted:  # a row's only entry is one variable under two names
            hinted.add(variable.index)
            counts.model.add_hint(variable, near.solved.value(known[key]))


def _copy_counts(counts: Counts, like: CountSolution) -> None:
    known = dict(_counted(like.counts))
    for key, variable in _counted(counts):
        counts.model.add(variable == (like.solved.value(known[key]) if key in known else 0))
