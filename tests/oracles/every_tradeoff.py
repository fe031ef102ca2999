"""
Every point that no plan of a tiny panel beats, by trying everything (``brute_force.py``).

Comes in as the sizing table with goals and steps; goes out as whole numbers of steps.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import ceil

from allocator.sizing.sized import Sized
from tests.oracles.brute_force import Search, Values, cost


def every_tradeoff(sized: Sized, step_by_goal: Mapping[str, Fraction]) -> set[tuple[int, ...]]:
    """Return the steps of every plan that no other one beats, in the order of the goals given."""
    rules = sized.requirements.scenario.rules
    search = _Search(sized, tuple(step_by_goal), {aim.goal: aim.most for aim in rules.aims if aim.most is not None})
    search.step_by_goal = step_by_goal
    search.run()
    return search.points


class _Search(Search):
    """The same visit; a plan is beaten if one that was found is no worse in any goal."""

    step_by_goal: Mapping[str, Fraction]

    def run(self) -> Values | None:
        self.points: set[tuple[int, ...]] = set()
        return super().run()

    def _steps(self, values: Mapping[str, Fraction]) -> tuple[int, ...]:
        return tuple(ceil(cost(goal, values) / step) for goal, step in self.step_by_goal.items())

    def _beaten(self, floor: Mapping[str, Fraction]) -> bool:
        if any(cost(goal, floor) > most for goal, most in self.most.items()):
            return True
        steps = self._steps(floor)
        return any(all(mine <= other for mine, other in zip(point, steps, strict=True)) for point in self.points)

    def _keep(self, values: Values) -> None:
        steps = self._steps(values)
        beaten = {point for point in self.points if all(a <= b for a, b in zip(steps, point, strict=True))}
        self.points = (self.points - beaten) | {steps}
