"""
Which module types to keep: for each number of them the best set, as a curve with what every further type gains.

Comes in as the members of a fleet; goes out as a Range. Bays over the fleet come first, then the price of the housings
(carriers and modules with their accessories), each vehicle weighted by how many of it are built in a year. Relaxations
choose (``solving/housing.py``, ``solving/choosing.py``); only the housings that a chosen set needs are planned in full,
and what a plan refuses sends the choice back. A point is exact when all of its housings have checked plans.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Any, TypeVar

from allocator.errors import CannotBeMet, NoPlanInTime
from allocator.model.choosing import Column, Cost
from allocator.sizing.sized import Sized
from allocator.solving.choosing import Choice, choose
from allocator.solving.engine import Clock
from allocator.solving.housing import Housings, LeastHousing, found_housings
from allocator.stocking.curve import Range, RangePoint, VehicleHousing, Without, only_source_of
from allocator.stocking.housing_plans import Answered, confirm
from allocator.stocking.members import NO_LIMIT, Member
from allocator.stocking.spreading import Submit, spread

R = TypeVar("R")
MONTHS = 12
_FINEST = 1_000_000
_SHARE_FOR_PLANS = 0.85
"""Share of the time after which points are left to their bounds, so that there is a whole curve."""
_AT_ONCE = 16
_MOST_REFUSALS = 25
"""Housings of one vehicle that plans may refuse before its price is left to its bound."""


@dataclass
class RangeSearch:
    """The search for the best sets, with what is known of every vehicle."""

    members: Sequence[Member]
    clock: Clock
    plan_limit_s: float
    submit: Submit | None = None
    _was_cut: bool = False
    _answers: dict[tuple[str, tuple[tuple[str, int], ...]], Answered] = field(default_factory=dict)

    @cached_property
    def _housings(self) -> Mapping[str, Housings]:
        return {member.name: Housings(member.sized, self.clock) for member in self.members}

    @cached_property
    def _weights(self) -> tuple[Mapping[str, int], Fraction]:
        """Whole weights by vehicle, and what one of them is in vehicles a year."""
        yearly = {member.name: member.process.vehicles_per_month * MONTHS for member in self.members}
        scale = min(_FINEST, lcm(*(number.denominator for number in yearly.values())))
        return {name: round(number * scale) for name, number in yearly.items()}, Fraction(1, scale)

    @cached_property
    def offers(self) -> tuple[str, ...]:
        """Types that are worth keeping for some vehicle, in the catalogue's order."""
        worth = {name for housings in self._housings.values() for found in housings.all() for name in found.types}
        catalogue = self.members[0].sized.requirements.catalogue
        return tuple(module.id for module in catalogue.modules if module.id in worth)

    def run(self) -> Range:
        """
        Find the curve.

        Raises
        ------
        CannotBeMet
            If a vehicle cannot be built with all types there are.
        """
        _ = self._plans_until  # counted from here on
        self._look_at_all()
        last = self.point(len(self.offers))
        if last is None:
            raise CannotBeMet([f"vehicle {self._unbuildable(self.offers)}: no plan, whatever types are kept"])
        points = [replace(last, most=len(last.kept))]
        without: list[Without] = []
        has_fewest = len(last.kept) == 1
        try:
            for most in range(len(last.kept) - 1, 0, -1):
                point = self.point(most)
                if point is None:
                    has_fewest = all(housings.is_whole for housings in self._housings.values())
                    break
                points.append(point)
                has_fewest = most == 1
            for module in last.kept:
                without.append(self._without(module))
        except NoPlanInTime:
            if self.clock.stop.is_set():
                raise
        planned = sum(answer.confirmed is not None for answer in self._answers.values())
        was_cut = self._was_cut or self.clock.left_s <= 0
        return Range(self.offers, tuple(reversed(points)), tuple(without), planned, was_cut, has_fewest)

    def _look_at_all(self) -> None:
        """Find the least housings of every vehicle."""
        arguments = [(member.sized, self.clock.left_s) for member in self.members]
        for member, found in zip(self.members, self._spread(found_housings, arguments, "housings"), strict=True):
            self._housings[member.name].know(*found)

    def _spread(self, function: Callable[..., R], arguments: Sequence[tuple[Any, ...]], what: str) -> list[R]:
        return spread(function, arguments, self.clock, self.submit, what)

    def point(self, most: int, *, leave_out: Collection[str] = ()) -> RangePoint | None:
        """Return the best set of so many types; None where no such set builds every vehicle."""
        offers = [offer for offer in self.offers if offer not in leave_out]
        while True:
            choice = self._choose(offers, most)
            if choice is None:
                return None
            taken = {member.name: self._taken(member.name, choice) for member in self.members}
            answers = self._confirmed(taken, choice.kept)
            # Every refusal takes a housing away, and there are finitely many.
            if not any(answer.refusal is not None for answer in answers.values()):
                return self._point(most, taken, answers, self._bound(offers, most, choice))

    def _columns(self, *, for_bound: bool = False) -> dict[str, list[Column]]:
        columns: dict[str, list[Column]] = {}
        for name, housings in self._housings.items():
            found = [Column(item.types, self._cost(name, item.bays, item.cents)) for item in housings.all()]
            if for_bound and not housings.is_whole:
                # Whatever was left out costs no less than the last one found.
                found.append(Column(frozenset(), found[-1].cost if found else (0, 0)))
            columns[name] = found
        return columns

    def _cost(self, vehicle: str, bays: int, cents: int) -> Cost:
        weight = self._weights[0][vehicle]
        return weight * bays, weight * cents

    def _choose(self, offers: Sequence[str], most: int) -> Choice | None:
        return choose(self._columns(), offers, self.clock, most=most)

    def _bound(self, offers: Sequence[str], most: int, choice: Choice) -> Cost:
        if all(housings.is_whole for housings in self._housings.values()):
            return choice.bound
        relaxed = choose(self._columns(for_bound=True), offers, self.clock, most=most)
        if relaxed is None:
            raise RuntimeError("columns that were added left no choice")
        return relaxed.bound

    def _taken(self, vehicle: str, choice: Choice) -> LeastHousing:
        types = choice.column_by_member[vehicle].requires
        return next(found for found in self._housings[vehicle].all() if found.types == types)

    def _confirmed(self, taken: Mapping[str, LeastHousing], kept: Sequence[str]) -> dict[str, Answered]:
        """
        Plan the housings that are not planned yet, and learn from those that no plan fits.

        A refusal is followed by a plan that may use all that is kept, as often as it likes: its bays are the fewest of
        every set within. Then only the price is open, and after some refusals it is left to its bound.
        """
        self._plan(taken)
        refused = {name: housing for name, housing in taken.items() if self._answer(name, housing).refusal is not None}
        within = {
            name: LeastHousing(dict.fromkeys(kept, NO_LIMIT), housing.bays, housing.cents)
            for name, housing in refused.items()
        }
        self._plan(within)
        for name, housing in refused.items():
            fallback = self._answer(name, within[name]).confirmed
            at_price = sum(refusal.bays is None for refusal in self._housings[name].refusals)
            if at_price > _MOST_REFUSALS and fallback is not None and fallback.bays == housing.bays:
                self._answers[_key(name, housing)] = Answered(fallback)
        return {name: self._answer(name, housing) for name, housing in taken.items()}

    def _answer(self, name: str, housing: LeastHousing) -> Answered:
        return self._answers[_key(name, housing)]

    def _plan(self, wanted: Mapping[str, LeastHousing]) -> None:
        """Look for plans within housings that were not asked for before."""
        names = [name for name, housing in wanted.items() if _key(name, housing) not in self._answers]
        for first in range(0, len(names), _AT_ONCE):
            some = names[first : first + _AT_ONCE]
            left_s = min(self.clock.left_s, self._plans_until - time.monotonic())
            if left_s > 0:
                limit_s = min(self.plan_limit_s, left_s)
                answers = self._spread(confirm, [(self._sized[name], wanted[name], limit_s) for name in some], "plan")
            else:  # what is left of the time is for the bounds of all points
                answers, self._was_cut = [Answered() for _ in some], True
            for name, answer in zip(some, answers, strict=True):
                self._answers[_key(name, wanted[name])] = answer
                if answer.refusal is not None:
                    self._housings[name].refuse(answer.refusal)

    @cached_property
    def _plans_until(self) -> float:
        """When no more plans are begun, by the clock that only goes on."""
        return time.monotonic() + _SHARE_FOR_PLANS * self.clock.left_s

    @cached_property
    def _sized(self) -> Mapping[str, Sized]:
        return {member.name: member.sized for member in self.members}

    def _point(
        self, most: int, taken: Mapping[str, LeastHousing], answers: Mapping[str, Answered], bound: Cost
    ) -> RangePoint:
        by_vehicle = {}
        for name, housing in taken.items():
            confirmed = answers[name].confirmed
            if confirmed is None:
                by_vehicle[name] = VehicleHousing(housing.types, housing.bays, housing.cents, is_planned=False)
            else:
                by_vehicle[name] = VehicleHousing(confirmed.types, confirmed.bays, confirmed.cents, is_planned=True)
        costs = [self._cost(name, item.bays, item.cents) for name, item in by_vehicle.items()]
        unit = self._weights[1]
        bays, cents = (sum(part) * unit for part in zip(*costs, strict=True))
        kept = tuple(offer for offer in self.offers if offer in set().union(*(i.types for i in by_vehicle.values())))
        return RangePoint(most, kept, bays, cents, bound[0] * unit, bound[1] * unit, by_vehicle)

    def _without(self, module: str) -> Without:
        point = self.point(len(self.offers), leave_out=[module])
        if point is not None:
            return Without(module, point)
        others = [offer for offer in self.offers if offer != module]
        hit = tuple(self._unbuildable_ones(others))
        only = dict.fromkeys(thing for name in hit for thing in only_source_of(self._sized[name], module))
        return Without(module, None, hit, tuple(only))

    def _unbuildable(self, offers: Sequence[str]) -> str:
        return ", ".join(self._unbuildable_ones(offers))

    def _unbuildable_ones(self, offers: Sequence[str]) -> Iterator[str]:
        offered = frozenset(offers)
        for name, housings in self._housings.items():
            if not any(found.types <= offered for found in housings.all()):
                yield name


def _key(name: str, housing: LeastHousing) -> tuple[str, tuple[tuple[str, int], ...]]:
    return name, tuple(sorted(housing.modules.items()))


def search_range(
    members: Sequence[Member],
    *,
    time_limit_s: float,
    plan_limit_s: float = 20.0,
    submit: Submit | None = None,
    stop: threading.Event | None = None,
    progress: Callable[[str], None] | None = None,
) -> Range:
    """
    Find the best set of module types for each number of them.

    Parameters
    ----------
    members
        Vehicles of one catalogue.
    time_limit_s
        Wall time; what is not closed then says so.
    plan_limit_s
        Wall time of one plan.
    submit
        Gives out work on vehicles; none: all is done here.
    stop
        Set from outside to end early.
    progress
        Called with a line of text now and then.

    Raises
    ------
    CannotBeMet
        If a vehicle cannot be built with all types there are.
    NoPlanInTime
        If the time was up before anything was known.
    """
    clock = Clock(time.monotonic() + time_limit_s, progress=progress)
    if stop is not None:
        clock.stop = stop
    found = RangeSearch(members, clock, plan_limit_s, submit).run()
    if clock.stop.is_set():
        raise NoPlanInTime("the range was interrupted", interrupted=True)
    return found
