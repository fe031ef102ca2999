"""
The search: bounds from relaxations, plans from the placing model, goal after goal in the user's order.

Comes from ``Sized``; goes out as the best placement and its levels. Per goal: the relaxation gives a bound; a placement
that meets it closes the goal; if there is none, the placing model is minimised itself. Bounds are only trusted with the
exact values of the goals before them, and statuses are always read.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.frame import Frame
from allocator.model.learnt import Learnt
from allocator.requirements.amounts import sense
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from allocator.solving.attempt import Attempt, Found, attempt
from allocator.solving.bounds import Bounds
from allocator.solving.engine import Clock, Status
from allocator.solving.hints import CHOSEN, COUNTED, FILLED, LIKE
from allocator.solving.levels import Level, Relaxed, Said, rank
from allocator.solving.minimising import MISJUDGED, SET_BY_SET
from allocator.solving.models import Targets
from allocator.solving.module_fillings import ModuleFillings
from allocator.solving.module_sets import CLOSER_EFFORT, searched_whole
from allocator.solving.placement import Placement
from allocator.solving.standing import standing

EARLY_EFFORT, LAST_EARLY_EFFORT, PLACE_EFFORT = 1.0, 5.0, 5.0
MORE = 4.0
"""By how much the effort for any plan at all grows each time, until the clock ends it."""
NEARBY_EFFORT, FIRST_EFFORT, LAST_EFFORT = 4.0, 1.0, 10.0
SET_EFFORT, SOON_EFFORT = 4.0, 1.5
SETTLED_BY_COUNTS: tuple[Goal, ...] = ("bays", "module-types", "carriers", "footprint", "panels", "spare-ways")
"""Goals that a choice of modules and carriers settles."""
WHERE_THINGS_ARE = ("used", "at", "relay_at")
"""With these fixed, what is left is the choice of carriers and the like."""


@dataclass
class Search:
    """State of one search: what was learnt, and the best placement so far."""

    sized: Sized
    clock: Clock
    evaluate: Callable[[Placement], dict[Goal, Fraction]]
    learnt: list[Learnt] = field(default_factory=list)
    best: Found | None = None
    levels: list[Level] = field(default_factory=list)
    """Goals that are done with."""
    tallies_hold: bool = True
    """Whether the last solution of the tally model became a plan; if not, its bounds are not worth their time."""

    def __post_init__(self) -> None:
        self.bounds = Bounds(self.sized, self.clock, self.learnt)
        self.fillings = ModuleFillings(self.bounds.models, self.clock)

    @property
    def goals(self) -> tuple[Goal, ...]:
        """Goals in the user's order."""
        return self.bounds.goals

    def run(self) -> tuple[Found, list[Level]]:
        """
        Search until every goal is closed or the clock runs out.

        Raises
        ------
        CannotBeMet
            If a relaxation or the placing model has no solution.
        NoPlanInTime
            If the clock ran out before the first plan.
        """
        chain = self.bounds.relax([], self._early_plan, meanwhile=self._any_plan)
        self._first_plan(chain)
        fixed: list[tuple[Goal, Fraction]] = []
        for number, goal in enumerate(self.goals):
            if [(r.goal, r.limit) for r in chain[:number]] != fixed or number >= len(chain):
                chain = [Relaxed(level.goal, level.bound, level.value, allows=level.allows) for level in self.levels]
                if self.tallies_hold and self.clock.left_s > 0:
                    chain += self.bounds.relax(fixed, near=self._found().solution)
            if number >= len(chain):
                chain.append(self.bounds.least(goal))
            started = time.monotonic()
            level = self._close(goal, chain[number], fixed)
            self.bounds.spend(goal, started)
            value, bound = sense(goal) * level.value, sense(goal) * level.bound
            self.clock.say(f"{goal}: {value} (bound {bound}, {level.closed_by})")
            self.levels = [*self.levels, replace(level, allows=self.bounds.allows(goal, level.value))]
            fixed.append((goal, self.levels[-1].limit))
        self._give_back_what_nobody_used()
        return self.standing()

    def _give_back_what_nobody_used(self) -> None:
        """Bring goals with a tolerance down again as far as no other goal gets worse."""
        for level in self.levels:
            if level.allows is not None and self._value(level.goal) > level.value and self.clock.left_s > 0:
                now = [(goal, self._value(goal)) for goal in self.goals]
                self._place(now, near=self._found().solution, goal=level.goal)

    def standing(self) -> tuple[Found, list[Level]]:
        """
        Return the best placement so far with what is known of each of its goals; from any thread, at any time.

        Raises
        ------
        NoPlanInTime
            If there is no plan yet.
        """
        found = self._found()
        return found, standing(self.bounds, self.levels, found.values)

    def _early_plan(self, chain: Sequence[Relaxed]) -> bool:
        """
        Place a tallied solution with its choices as they are: most often there is a plan like it.

        Where a further goal comes to its end sooner than a plan is found, that goal's solution is placed instead.
        Only a solution that is no plan for certain ends the chain; one that was not settled may still become one.
        """
        targets = [(relaxed.goal, relaxed.limit) for relaxed in chain]
        if chain[-1].said is None:
            self._fill(targets, None)
            return self._meets(targets)
        if not self._waits(chain) and chain[-1].said is not None and self.clock.left_s > 0:
            last = self._ends(chain)
            status = self._place_like(targets, chain[-1].said, LAST_EARLY_EFFORT if last else EARLY_EFFORT)
            if status == "infeasible":
                closer = self.bounds.closer(targets, chain[-1].said)
                status = "infeasible" if closer is None else self._place_like(targets, closer, EARLY_EFFORT)
            self.tallies_hold = self._meets(targets) or status != "infeasible"
        return self.tallies_hold

    def _any_plan(self, chain: Sequence[Relaxed]) -> None:
        """Place the last tallied solution if there is no plan like it yet: whoever ends the search now has it then."""
        targets = [(relaxed.goal, relaxed.limit) for relaxed in chain]
        is_known = self.best is not None and (self.bounds.is_small or self._meets(targets))
        if not is_known and chain and chain[-1].said is not None and self.clock.left_s > 0:
            self._place_like(targets, chain[-1].said, EARLY_EFFORT)

    def _waits(self, chain: Sequence[Relaxed]) -> bool:
        """Whether a plan is looked for only after a further goal."""
        closed = self.best is not None and chain[-1].goal == "strip-pieces" and chain[-1].bound == chain[-1].value
        return not self._ends(chain) and (self.bounds.is_small or closed)

    def _ends(self, chain: Sequence[Relaxed]) -> bool:
        """Whether the next goal is none that counts can judge."""
        return self.goals[len(chain) : len(chain) + 1] in ((), *((goal,) for goal in MISJUDGED))

    def _first_plan(self, chain: Sequence[Relaxed]) -> None:
        """Find a placement near the counts, for ever fewer of their goals."""
        targets = [(relaxed.goal, relaxed.limit) for relaxed in chain]
        settled = [target for target in targets if target[0] in SETTLED_BY_COUNTS]
        near = chain[-1].said if chain else None
        for length in range(len(settled), -1, -1):
            if self.best is not None or self.clock.left_s <= 0:
                return
            outcome = self._place(settled[:length], near=near)
            effort = PLACE_EFFORT
            while length == 0 and outcome.status == "unknown" and self.clock.left_s > 0:
                effort *= MORE
                outcome = self._place([], near=near, effort=effort)
            if outcome.status == "infeasible" and length == 0:
                raise CannotBeMet(["the counts can be met, but no placement keeps all rules together"])

    def _meets(self, targets: Targets) -> bool:
        return self.best is not None and all(self.best.values[goal] <= value for goal, value in targets)

    def _place_like(self, targets: Targets, said: Said, effort: float) -> Status:
        """Place a counted solution as it is; else with its rows and whoever fits in; else only with its choices."""
        status: Status = "unknown"
        self._fill(targets, said)
        for fixing in LIKE:
            goal = self._after(targets) if fixing == COUNTED else None
            if not self._meets(targets) and self.clock.left_s > 0:
                status = self._place(targets, like=said, fixing=fixing, goal=goal, effort=effort).status
        return status

    def _fill(self, targets: Targets, said: Said | None) -> None:
        """Place needs in modules as filled with the choices of a counted solution, where amperes run out first."""
        wanted = not self._meets(targets) and self.clock.left_s > 0
        filled = self.fillings.filled(targets, said) if wanted else None
        if filled is not None and self.clock.left_s > 0:
            frame, held = filled
            self._place(targets[:-1], like=held, fixing=FILLED, goal=targets[-1][0], effort=EARLY_EFFORT, frame=frame)

    def _place(
        self,
        targets: Targets,
        *,
        like: Said | None = None,
        fixing: Collection[str] = CHOSEN,
        near: Said | None = None,
        goal: Goal | None = None,
        effort: float = PLACE_EFFORT,
        nearby: bool = False,
        frame: Frame | None = None,
    ) -> Attempt:
        """
        Look for a placement within the targets, keep it if it is better, and return how the last solve ended.

        ``like`` fixes what ``fixing`` names to a counted solution, ``near`` only hints it; with ``goal`` that goal is
        minimised; ``nearby`` only improves what is hinted, part by part. ``frame`` is smaller than that of all plans.
        """
        x, facts, clock = self.bounds.models.places(targets, frame=frame), self.learnt, self.clock
        made = attempt(x, facts, clock, like=like, fixing=fixing, near=near, goal=goal, effort=effort, nearby=nearby)
        if made.placement is not None and made.said is not None:
            self._keep(made.placement, made.said)
        return made

    def _keep(self, placement: Placement, solution: Said) -> None:
        values = self.evaluate(placement)
        key = rank(self.bounds.aims, values, self.levels)
        if self.best is None or key < rank(self.bounds.aims, self.best.values, self.levels):
            self.best = Found(placement, values, solution)
            self.clock.say("plan: " + ", ".join(f"{goal} {sense(goal) * values[goal]}" for goal in self.goals))

    def _close(self, goal: Goal, relaxed: Relaxed, fixed: Targets) -> Level:
        """Bring one goal's value and bound together as far as the clock allows."""
        if self._is_above(goal, relaxed.bound) and goal not in MISJUDGED:
            self._place(fixed, like=self._found().solution, fixing=WHERE_THINGS_ARE, goal=goal)
        likely = self.tallies_hold and goal not in MISJUDGED
        if self._is_above(goal, relaxed.bound) and relaxed.said is not None and likely:
            self._place_like([*fixed, (goal, relaxed.value)], relaxed.said, EARLY_EFFORT)
        is_small = self.bounds.is_small
        by_sets = goal in SET_BY_SET or (self.bounds.balancing.are_few and goal == "peak-utilisation")
        soon = by_sets and goal not in SET_BY_SET and not is_small
        if by_sets and self._searched_whole(goal, relaxed.bound, fixed, SOON_EFFORT if soon else CLOSER_EFFORT):
            return Level(goal, self._value(goal), self._value(goal), "search")
        if soon:
            relaxed = self.bounds.balancing.further(
                fixed,
                relaxed,
                lambda known: self._is_above(goal, known.bound),
                lambda targets, said: self._place_like(targets, said, EARLY_EFFORT),
            )
        is_open = self.tallies_hold and goal not in MISJUDGED and relaxed.bound < relaxed.value <= self._value(goal)
        if self._is_above(goal, relaxed.bound) and not is_open:
            tighter = self.bounds.tighten(fixed, goal, self._value(goal), self._found().solution)
            relaxed = tighter if tighter.bound > relaxed.bound else replace(relaxed, said=tighter.said or relaxed.said)
            if tighter.said is not None and self._is_above(goal, tighter.value):
                self._place_like([*fixed, (goal, tighter.value)], tighter.said, EARLY_EFFORT)
        if is_small and goal in MISJUDGED and self._searched_whole(goal, relaxed.bound, fixed):
            return Level(goal, self._value(goal), self._value(goal), "search")
        if self._is_above(goal, relaxed.bound) and goal not in MISJUDGED and not is_open:
            self._place([*fixed, (goal, relaxed.bound)], near=relaxed.said or self._found().solution)
        if self._is_above(goal, relaxed.bound) and is_small:  # most often this is the end
            level = self._search(goal, relaxed, fixed, FIRST_EFFORT)
            if level.proven:
                return level
            relaxed = replace(relaxed, bound=max(relaxed.bound, level.bound))
        if self._is_above(goal, relaxed.bound):
            here, now = self._found().solution, (goal, self._value(goal))
            self._place([*fixed, now], near=here, goal=goal, effort=NEARBY_EFFORT, nearby=True)
        return self._search(goal, relaxed, fixed, LAST_EFFORT)

    def _searched_whole(self, goal: Goal, bound: Fraction, fixed: Targets, effort: float = CLOSER_EFFORT) -> bool:
        def place(better: Targets, frame: Frame, said: Said) -> Attempt:
            return self._place(better, frame=frame, near=said, goal=goal, effort=min(effort, SET_EFFORT))

        models, clock = self.bounds.models, self.clock
        is_above = self._is_above(goal, bound)
        return is_above and searched_whole(models, clock, goal, fixed, lambda: self._value(goal), place, effort)

    def _search(self, goal: Goal, relaxed: Relaxed, fixed: Targets, effort: float) -> Level:
        """Minimise a goal with everything placed, from the best plan on; say what is known of it then."""
        bound = relaxed.bound
        if self._is_above(goal, bound):
            here = self._found().solution
            outcome = self._place([*fixed, (goal, self._value(goal))], near=here, goal=goal, effort=effort)
            if outcome.bound is not None:
                bound = max(bound, outcome.bound)
            if outcome.status == "optimal" and self._value(goal) <= bound:
                return Level(goal, self._value(goal), self._value(goal), "search")
        if self._value(goal) <= bound:
            return Level(goal, self._value(goal), self._value(goal), relaxed.closes_by)
        if self.clock.left_s <= 0:
            self.clock.was_cut = True
        return Level(goal, self._value(goal), bound, "cut by time" if self.clock.left_s <= 0 else "not closed")

    def _is_above(self, goal: Goal, bound: Fraction) -> bool:
        """Whether there is still something to gain, and time."""
        return self._value(goal) > bound and self.clock.left_s > 0

    def _after(self, targets: Targets) -> Goal | None:
        """Return the goal after those with a target, if it is one that counts misjudge: it is brought down at once."""
        after = next(iter(self.goals[len(targets) :]), None)
        return after if after in MISJUDGED else None

    def _value(self, goal: Goal) -> Fraction:
        return self._found().values[goal]

    def _found(self) -> Found:
        if self.best is None:
            raise NoPlanInTime("no plan was found within the limit", interrupted=self.clock.stop.is_set())
        return self.best
