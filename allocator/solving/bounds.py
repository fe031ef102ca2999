"""
Lower bounds for every goal from relaxations, each with a counted solution that has it.

Comes from ``Sized`` and the values of the goals before; goes to ``search.py``. Four relaxations, each inside the next:
the covering model (bays and copies), the balance model (peak), the tally model, and the placing model with only the
needs that counts misjudge.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import floor

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.balance import build_balance
from allocator.model.frame import Frame
from allocator.model.goals import Term
from allocator.model.learnt import Learnt
from allocator.model.tallies import Tallies
from allocator.plan.plan import ClosedBy
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Aim, Goal
from allocator.sizing.sized import Sized
from allocator.solving.balancing import SMALL, Balancing
from allocator.solving.engine import Clock, Solved, solve
from allocator.solving.floors import floor_of
from allocator.solving.grouping import fewest_pieces
from allocator.solving.hints import hint_like, hint_tallies, hint_whole, said_by_places, said_by_tallies
from allocator.solving.levels import Relaxed, Said
from allocator.solving.linear import LinearModel, LinearSolved
from allocator.solving.minimising import MISJUDGED, minimise, steps_for
from allocator.solving.models import BELOW, Built, Models, Part, Targets
from allocator.solving.starting import started

COUNT_EFFORT = 8.0
CLOSER_EFFORT = 1.0
FEEDS_EFFORT = 1.0
MANY = 250
"""Needs beyond which the other solver is asked for any counts, where this one found none."""
ANY_EFFORT, ANY_NODES = 1.0, 1000
"""Effort of the first look for any counts, and nodes of the other solver's, which comes next."""
Seen = Callable[[Sequence[Relaxed]], bool]
"""Looks for a plan like a counted solution, and says whether it found one."""
Meanwhile = Callable[[Sequence[Relaxed]], None]
"""Looks for any plan like a counted solution, because the next goal takes long."""


@dataclass
class Bounds:
    """The relaxations of one search, with what is known of their frames."""

    sized: Sized
    clock: Clock
    learnt: list[Learnt]
    seconds_by_goal: dict[Goal, float] = field(default_factory=dict)
    chain: Sequence[Relaxed] = ()
    """What the relaxations last said of every goal, each for the values before it; it grows as they go on."""
    _least: dict[Goal, Relaxed] = field(default_factory=dict)
    _counted: tuple[Frame, Sequence[int]] | None = None
    """The first solution of the tally model of a frame, to start the next search at."""

    def __post_init__(self) -> None:
        self.models = Models(self.sized, self.clock, self.learnt)
        self.balancing = Balancing(self.models, self.clock)

    @property
    def goals(self) -> tuple[Goal, ...]:
        """Goals in the user's order."""
        return self.sized.requirements.scenario.rules.goals

    @property
    def is_small(self) -> bool:
        """Whether there are so few needs that a search comes to its end more often than not."""
        return len(self.sized.needs) <= SMALL

    @property
    def aims(self) -> tuple[Aim, ...]:
        """Goals in the user's order, with their tolerances and caps."""
        return self.models.aims

    def allows(self, goal: Goal, value: Fraction) -> Fraction | None:
        """Return up to which value the goals after one may use it, given its best value; None: no tolerance."""
        aim = self.aims[self.goals.index(goal)]
        return None if aim.tolerance is None else aim.allowed(value)

    def spend(self, goal: Goal, started: float) -> None:
        """Add the time since ``started`` to a goal's account."""
        self.seconds_by_goal[goal] = self.seconds_by_goal.get(goal, 0.0) + time.monotonic() - started

    def relax(
        self,
        fixed: Targets,
        seen: Seen = lambda chain: True,
        near: Said | None = None,
        meanwhile: Meanwhile = lambda chain: None,
    ) -> list[Relaxed]:
        """
        Minimise the goals after ``fixed`` one by one in the tally model, within what those before allow.

        It ends after the first goal that counts misjudge (``MISJUDGED``), because what comes after depends on its true
        value; at a solution that ``seen`` makes no plan of; or before a goal that the effort was too small for.
        ``near`` is a plan to start at.

        Raises
        ------
        CannotBeMet
            If already the relaxation has no solution, with no goal before it: else it may only be that those of the
            goals before, which are relaxed as well, are out of reach.
        NoPlanInTime
            If nothing is fixed and the clock ran out before any solution.
        """
        chain: list[Relaxed] = []
        if not fixed:
            self._check_feeds()
        if not fixed and self.goals[0] == "bays":
            modules = self._modules(seen)
            chain = [replace(relaxed, allows=self.allows(relaxed.goal, relaxed.value)) for relaxed in modules]
        before = [Relaxed(goal, self.least(goal).bound, value, "counting bound") for goal, value in fixed]
        self.chain = [*before, *chain]
        x: Tallies | None = None
        for goal in self.goals[len(self.chain) :]:
            done = [(relaxed.goal, relaxed.limit) for relaxed in self.chain]
            if x is None or self.models.frame(done) is not x.frame:
                built = self.models.tallies(done)
                x, terms = built.x, built.terms
                near = self.chain[-1].said or near if self.chain else near
                if self._counted is not None and self._counted[0] is x.frame:
                    hint_whole(x.model, self._counted[1])
                elif near is not None:
                    hint_tallies(x, near)
            started = time.monotonic()
            solved = self._least_in_tallies(x, goal, terms[goal], lambda: meanwhile(self.chain))
            self.spend(goal, started)
            if solved.status == "infeasible" and not self.chain:
                raise CannotBeMet(["the counts of ways, sockets, bays and amperes cannot be met together"])
            if not solved.has_solution or solved.objective is None or solved.bound is None:
                break
            bound, value = terms[goal].value(solved.bound), terms[goal].value(solved.objective)
            if goal == "strip-pieces":
                bound = max(bound, self.least(goal).bound)
                value = max(bound, value)
            allows = self.allows(goal, value)
            chain.append(Relaxed(goal, bound, value, allows=allows, said=said_by_tallies(x, solved)))
            self.chain = [*before, *chain]
            self.clock.say(f"relaxation, {goal}: {sense(goal) * value} (bound {sense(goal) * bound})")
            if allows is not None:
                x = None  # it holds the value itself as a limit by now
            if goal in MISJUDGED or not seen(self.chain):
                break
        if not chain and not fixed:
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        return chain

    def _check_feeds(self) -> None:
        """Refuse what no choice of feeds can carry: the counts of rows and ways would hide it for long."""
        model = build_balance(self.models.widest).model
        if solve(model, self.clock, effort=FEEDS_EFFORT).status == "infeasible":
            raise CannotBeMet(["the feeds cannot carry what may be on them, whatever is on which"])

    def _least_in_tallies(self, x: Tallies, goal: Goal, term: Term, meanwhile: Callable[[], None]) -> Solved:
        if goal == "peak-utilisation":
            return self.balancing.first(x, term, meanwhile)
        if goal == "strip-pieces":
            known = term.whole(self.least(goal).bound)
            return fewest_pieces(x, term.expression, self.clock, steps_for(goal, self.is_small), known, meanwhile)
        return minimise(x.model, term.expression, self.clock, steps_for(goal, self.is_small), meanwhile=meanwhile)

    def tighten(self, fixed: Targets, goal: Goal, value: Fraction, near: Said | None) -> Relaxed:
        """
        Minimise a goal with just the needs placed that decide it: a better bound, at a higher price.

        Of few needs, only what is less than ``value``, the goal's in a plan, is asked for: mostly there is nothing.
        """
        below = [(goal, value - BELOW)] if self.is_small else []
        part: Part = "misjudged and relays" if goal in MISJUDGED else "misjudged"
        built = self.models.places([*fixed, *below], part)
        x, terms = built.x, built.terms
        if near is not None:
            hint_like(x, near)
        x.counts.model.minimize(terms[goal].expression)
        solved = solve(x.counts.model, self.clock, effort=COUNT_EFFORT)
        if solved.bound is None and not (below and solved.status == "infeasible"):
            return self.least(goal)
        bound = value if solved.bound is None else terms[goal].value(solved.bound)
        self.clock.say(f"closer relaxation, {goal}: bound {sense(goal) * bound} ({solved.status})")
        if not solved.has_solution or solved.objective is None:
            return Relaxed(goal, bound, bound)
        return Relaxed(goal, bound, terms[goal].value(solved.objective), said=said_by_places(x, solved))

    def closer(self, targets: Targets, near: Said) -> Said | None:
        """Return a solution within the targets with the needs placed that counts misjudge, if one is found."""
        x = self.models.places(targets, "misjudged").x
        hint_like(x, near)
        solved = solve(x.counts.model, self.clock, effort=CLOSER_EFFORT)
        self.clock.say(f"closer relaxation: {'may do' if solved.has_solution else solved.status}")
        return said_by_places(x, solved) if solved.has_solution else None

    def least(self, goal: Goal) -> Relaxed:
        """Return what holds of a goal in every plan, whatever the values of the goals before."""
        if goal not in self._least:
            floor = floor_of(self.sized, goal)
            self._least[goal] = Relaxed(goal, floor, floor, "counting bound")
        return self._least[goal]

    def _modules(self, seen: Seen) -> list[Relaxed]:
        """
        Close the bays, and the module types where they come next: one number of bays after the other.

        The covering model says how many bays and, within them, types are the fewest; the tally model then has just the
        copies that fit. A number that no early plan confirms is asked for with some needs placed.
        """
        first = self._covered([], "bays")
        if first is None:
            raise CannotBeMet(["there are not enough bays for the ways, sockets and amperes that are needed"])
        most = sum(site.max_bays for site in self.sized.requirements.scenario.panels)
        if self.aims[0].most is not None:
            most = min(most, floor(self.aims[0].most))
        for number in range(first, most + 1):
            by: ClosedBy = "counting bound" if number == first else "relaxation"
            alone = [Relaxed("bays", Fraction(number), Fraction(number), by)]
            if self.goals[1:2] == ("module-types",) and self.aims[0].tolerance is None:
                types = Fraction(self._covered([("bays", Fraction(number))], "module-types") or 0)
                both = self._within_reach([*alone, Relaxed("module-types", types, types, "counting bound")], seen)
                if both is not None:
                    return both
            chain = self._within_reach(alone, seen)
            if chain is not None:
                return chain
        raise CannotBeMet(["the counts of ways, sockets, bays and amperes cannot be met together"])

    def _within_reach(self, chain: list[Relaxed], seen: Seen) -> list[Relaxed] | None:
        """Return the chain, with a solution where there is one; None where no plan is within it."""
        if seen(chain):  # needs with one choice each may be placed without counts
            return chain
        started = time.monotonic()
        targets = [(relaxed.goal, relaxed.value) for relaxed in chain]
        said = ", ".join(f"{goal} {value}" for goal, value in targets)
        built = self.models.tallies(targets)
        x, solved = built.x, self._any_tallies(built, targets)
        self.clock.say(f"relaxation, {said}: {'may do' if solved.has_solution else solved.status}")
        self.spend(chain[-1].goal, started)
        if solved.status == "infeasible":
            return None
        if solved.has_solution:
            self._counted = x.frame, solved.all_values
            chain[-1] = replace(chain[-1], said=said_by_tallies(x, solved))
            if seen(chain):
                return chain
        started = time.monotonic()
        places = self.models.places(targets, "misjudged").x
        solved = solve(places.counts.model, self.clock, effort=COUNT_EFFORT)
        self.clock.say(f"closer relaxation, {said}: {'may do' if solved.has_solution else solved.status}")
        self.spend(chain[-1].goal, started)
        if solved.has_solution:
            chain[-1] = replace(chain[-1], said=said_by_places(places, solved))
        return None if solved.status == "infeasible" else chain

    def _any_tallies(self, built: Built[Tallies], targets: Targets) -> Solved | LinearSolved:
        """Look for any solution; of many needs for one with the modules that covering has, and few strip pieces."""
        start = None if self.is_small else started(self.models, targets, self.clock)
        if start is not None:
            return start
        is_large = len(self.sized.needs) > MANY
        solved = solve(built.x.model, self.clock, effort=ANY_EFFORT if is_large else COUNT_EFFORT)
        if solved.status != "unknown" or not is_large or self.clock.left_s <= 0:
            return solved
        linear = LinearModel(built.x.model, {}).minimise({}, {}, {}, self.clock, nodes=ANY_NODES, gap=0.0)
        return linear if linear.has_solution else solved  # that there is none is no proof: it counts in floating point

    def _covered(self, targets: Targets, goal: Goal) -> int | None:
        """Return the covering bound on bays or module types; None where ways and sockets cannot be covered at all."""
        cover = self.models.cover()
        terms = {"bays": cover.bays, "module-types": cover.types}
        for other, value in targets:
            cover.model.add(terms[other] <= floor(value))
        cover.model.minimize(terms[goal])
        solved = solve(cover.model, self.clock, effort=COUNT_EFFORT, is_small=True)
        return None if solved.status == "infeasible" else solved.bound or 0
