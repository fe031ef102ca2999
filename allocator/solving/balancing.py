"""
The peak in counts: how far it comes down, step by step from the best counted solution so far.

Comes from ``Models`` and the values of the goals before; goes to ``bounds.py``, for the first steps, and ``search.py``,
for those after a plan. Each solution is handed on at once, because time may be up at any step.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from allocator.model.balance import build_balance
from allocator.model.frame import Frame
from allocator.model.goals import Term, peak_term
from allocator.model.tallies import Tallies
from allocator.solving.engine import Clock, Solved
from allocator.solving.hints import hint_whole, said_by_tallies
from allocator.solving.levels import Relaxed, Said
from allocator.solving.minimising import BALANCE_FURTHER, GUESS, PROOF, Step, minimise, steps_for
from allocator.solving.models import Models, Targets

SMALL = 60
"""Needs up to which counts are settled before the first plan, and a goal is searched before it is improved nearby."""
FEW = 150
"""Needs up to which the peak is soon searched whole with one set of modules, once a plan is there."""


@dataclass
class Balancing:
    """The peak of one search in the tally model; of its solutions the last one is kept."""

    models: Models
    clock: Clock
    _last: tuple[Frame, Sequence[int]] | None = None

    @property
    def are_few(self) -> bool:
        """Whether there are so few needs that sets of modules come after the first steps."""
        return len(self.models.sized.needs) <= FEW

    def first(self, x: Tallies, term: Term, meanwhile: Callable[[], None]) -> Solved:
        """Minimise the peak of a tally model, never below what amperes alone allow."""
        balance = build_balance(x.frame)
        peak = peak_term(balance.model, self.models.sized, balance.draw).expression
        is_small = len(self.models.sized.needs) <= SMALL
        balanced = minimise(balance.model, peak, self.clock, GUESS if is_small else PROOF)
        steps = steps_for("peak-utilisation", self.are_few)
        # As a rule of the model that bound makes presolve call solvable models infeasible (vehicle 13 of 40 circuits).
        solved = minimise(x.model, term.expression, self.clock, steps, known=balanced.bound, meanwhile=meanwhile)
        if solved.has_solution:
            self._last = x.frame, solved.all_values
        return solved

    def further(
        self,
        fixed: Targets,
        relaxed: Relaxed,
        is_open: Callable[[Relaxed], bool],
        place: Callable[[Targets, Said], object],
    ) -> Relaxed:
        """
        Go on where the first steps ended.

        Parameters
        ----------
        fixed, relaxed
            Values of the goals before, and what is known of the peak.
        is_open
            Whether that leaves something to gain, and time.
        place
            Makes a plan within targets of a counted solution, if it can.
        """
        for step in BALANCE_FURTHER:
            if is_open(relaxed) and relaxed.bound < relaxed.value:
                before, relaxed = relaxed, self._step(fixed, relaxed, step)
                if relaxed.said is not None and relaxed.value < before.value:
                    place([*fixed, (relaxed.goal, relaxed.value)], relaxed.said)
        return relaxed

    def _step(self, fixed: Targets, relaxed: Relaxed, step: Step) -> Relaxed:
        built = self.models.tallies(fixed)
        x, term = built.x, built.terms[relaxed.goal]
        if self._last is not None and self._last[0] is x.frame:
            hint_whole(x.model, self._last[1])
            x.model.add(term.expression <= term.whole(relaxed.value))
        solved = minimise(x.model, term.expression, self.clock, (step,))
        bound = relaxed.bound if solved.bound is None else max(relaxed.bound, term.value(solved.bound))
        if not solved.has_solution or solved.objective is None:
            return replace(relaxed, bound=bound)
        self._last = x.frame, solved.all_values
        value = term.value(solved.objective)
        self.clock.say(f"relaxation, {relaxed.goal}: {value} (bound {bound})")
        return replace(relaxed, bound=bound, value=value, said=said_by_tallies(x, solved))
