"""
Every set of module types that is worth keeping for one vehicle, with the least housing that it gives.

Comes from ``Sized``; goes out as columns for ``choosing.py``: sets of types by rising cost, none with a cheaper one
inside it. Bays come first, then the price of the housing. They are relaxations (``model/housing.py``) until a plan
confirms them; what a plan refuses is learnt, and the columns that it touches are made anew.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ortools.sat.python.cp_model import LinearExpr

from allocator.model.frame import Frame
from allocator.model.housing import Housing, build_housing
from allocator.sizing.sized import Sized
from allocator.solving.engine import Clock, solve

EFFORT = 2.0
MOST_COLUMNS = 250
"""Sets of one vehicle; what lies beyond is taken to cost no more than the last one, which is a bound still."""
_TYPES = 64


@dataclass(frozen=True, slots=True)
class LeastHousing:
    """The least housing of one set of types: number of modules of each, bays, and price in cents."""

    modules: Mapping[str, int]
    bays: int
    cents: int

    @property
    def types(self) -> frozenset[str]:
        """Module types in use."""
        return frozenset(self.modules)


@dataclass(frozen=True, slots=True)
class Refusal:
    """No plan has at most so many modules of each type and fewer than ``bays`` bays; None: any number of bays."""

    modules: Mapping[str, int]
    bays: int | None


@dataclass
class Housings:
    """The housings of one vehicle; ``refusals`` is what plans have taught."""

    sized: Sized
    clock: Clock
    refusals: list[Refusal] = field(default_factory=list)
    _found: list[LeastHousing] = field(default_factory=list)
    _is_whole: bool = False
    _is_known: bool = False

    def refuse(self, refusal: Refusal) -> None:
        """Learn that no plan is within a limit; columns that kept to it are forgotten."""
        self.refusals.append(refusal)
        self._found = [found for found in self._found if not _is_within(found, refusal)]
        self._is_known = False

    def all(self) -> Sequence[LeastHousing]:
        """Return the least housing of every set of types worth keeping, the cheapest first."""
        if not self._is_known:
            self._enumerate()
        return self._found

    def know(self, found: Sequence[LeastHousing], is_whole: bool) -> None:
        """Take over what was found elsewhere for the same vehicle."""
        self._found, self._is_whole, self._is_known = list(found), is_whole, True

    @property
    def is_whole(self) -> bool:
        """Whether no set was left out for number or effort."""
        return self._is_whole

    def _model(self) -> Housing:
        """Build the model without the sets found so far and all that hold them."""
        housing = build_housing(Frame(self.sized))
        for refusal in self.refusals:
            housing.beyond(refusal.modules, refusal.bays)
        for found in self._found:
            housing.not_all_of(found.types)
        return housing

    def _enumerate(self) -> None:
        """
        Ask for the cheapest housing again and again, each time without the sets found and all that hold them.

        What holds a set that was found cannot be cheaper, because it would have come first: number of bays by number of
        bays, and by price within each.
        """
        self._is_whole = False
        while len(self._found) < MOST_COLUMNS:
            housing = self._model()
            housing.cover.model.minimize(housing.cover.bays)
            solved = solve(housing.cover.model, self.clock, effort=EFFORT, linear=0)
            if solved.status != "optimal" or solved.objective is None:
                self._is_whole = solved.status == "infeasible"
                break
            if not self._with_bays(housing, solved.objective):
                break
        self._found.sort(key=lambda found: (found.bays, found.cents, sorted(found.types)))
        self._is_known = True

    def _with_bays(self, housing: Housing, bays: int) -> bool:
        """Add the housings of one number of bays; say no if it was too much effort."""
        model = housing.cover.model
        model.add(housing.cover.bays <= bays)
        model.minimize(
            LinearExpr.weighted_sum([housing.price, *housing.used.values()], [_TYPES, *[1] * len(housing.used)])
        )
        while len(self._found) < MOST_COLUMNS:
            solved = solve(model, self.clock, effort=EFFORT, linear=0)
            if solved.status != "optimal":
                return solved.status == "infeasible"
            modules = {
                name: number
                for name in housing.used
                if (number := sum(solved.value(v) for (_, m), v in housing.cover.modules.items() if m == name))
            }
            self._found.append(LeastHousing(modules, bays, (solved.objective or 0) // _TYPES))
            housing.not_all_of(modules)
        return False


def _is_within(found: LeastHousing, refusal: Refusal) -> bool:
    few = all(number <= refusal.modules.get(module, 0) for module, number in found.modules.items())
    return few and (refusal.bays is None or found.bays < refusal.bays)


def found_housings(sized: Sized, time_limit_s: float) -> tuple[Sequence[LeastHousing], bool]:
    """Return the housings of one vehicle, and whether none was left out; with a clock of its own."""
    housings = Housings(sized, Clock(time.monotonic() + time_limit_s))
    return housings.all(), housings.is_whole
