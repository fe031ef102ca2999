"""
How many pieces of a part are taken in a time: vehicles, ordered one by one or in batches, times pieces for each.

Comes in as order processes with pieces per vehicle; goes out as distributions. Orders come at random (Poisson), each
takes pieces by its size, so that what is taken is compound Poisson: its distribution is exact, by the recursion of
Panjer ("Recursive evaluation of a family of compound distributions", 1981). Counts are whole pieces; wire is counted in
steps, rounded up for each vehicle.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from statistics import NormalDist
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

DAYS_PER_MONTH = Fraction(365, 12)
MOST_POINTS = 60_000
"""Pieces up to which a distribution is counted out; far beyond, the normal curve is as good."""
_TAIL_SD = 12
_LARGEST_EXPONENT = 500.0
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OrderProcess:
    """
    How a vehicle is ordered.

    Attributes
    ----------
    orders_per_month
        Mean number of orders in a month; they come independently of each other.
    share_by_size
        Share of the orders that ask for so many vehicles; the shares add up to 1.
    """

    orders_per_month: Fraction
    share_by_size: Mapping[int, Fraction]

    @property
    def vehicles_per_month(self) -> Fraction:
        """Mean number of vehicles in a month."""
        return self.orders_per_month * sum(size * share for size, share in self.share_by_size.items())


class Taken(Protocol):
    """What is taken of a part in some time."""

    @property
    def mean(self) -> float:
        """Mean number of pieces."""

    def within(self, level: float) -> float:
        """Return the probability that no more than ``level`` pieces are taken."""

    def left(self, level: float) -> float:
        """Return how many of ``level`` pieces are left on average."""

    def short(self, level: float) -> float:
        """Return how many pieces ``level`` falls short on average."""


@dataclass(frozen=True)
class Counted:
    """A distribution counted out: ``chance[n]`` is the probability of n pieces; what is beyond its end never comes."""

    chance: Array

    @cached_property
    def _up_to(self) -> Array:
        return np.cumsum(self.chance)

    @cached_property
    def _left(self) -> Array:
        """Pieces left of a level: E[(y - D)+] is the sum of P(D <= k) for k below y."""
        return np.concatenate(([0.0], np.cumsum(self._up_to)))

    @cached_property
    def mean(self) -> float:
        """Mean number of pieces."""
        return float(np.arange(len(self.chance)) @ self.chance)

    def within(self, level: float) -> float:
        """Return the probability that no more than ``level`` pieces are taken."""
        if level < 0:
            return 0.0
        return float(min(1.0, self._up_to[min(int(level), len(self.chance) - 1)]))

    def left(self, level: float) -> float:
        """Return how many of ``level`` pieces are left on average."""
        end = len(self.chance)
        if level <= 0:
            return 0.0
        return float(self._left[int(level)]) if level <= end else float(self._left[end]) + level - end

    def short(self, level: float) -> float:
        """Return how many pieces ``level`` falls short on average."""
        return self.mean - level + self.left(level)


@dataclass(frozen=True, slots=True)
class Normal:
    """The normal curve, for so many pieces that counting them out is of no use."""

    mean: float
    deviation: float

    def within(self, level: float) -> float:
        """Return the probability that no more than ``level`` pieces are taken."""
        return NormalDist(self.mean, self.deviation).cdf(level)

    def left(self, level: float) -> float:
        """Return how many of ``level`` pieces are left on average."""
        return self.short(level) + level - self.mean

    def short(self, level: float) -> float:
        """Return how many pieces ``level`` falls short on average: the loss function of the normal distribution."""
        z = (level - self.mean) / self.deviation
        standard = NormalDist()
        return self.deviation * (standard.pdf(z) - z * (1 - standard.cdf(z)))


@dataclass(frozen=True)
class Demand:
    """
    What is taken of one part.

    Attributes
    ----------
    orders_per_day
        Orders that take any of it.
    share_by_number
        Share of these orders that take so many pieces.
    """

    orders_per_day: float
    share_by_number: Mapping[int, float]
    _known: dict[tuple[float, bool], Taken] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def step(self) -> int:
        """Largest number of which every order takes a multiple."""
        return math.gcd(*self.share_by_number)

    @property
    def largest(self) -> int:
        """Most pieces that one order takes."""
        return max(self.share_by_number)

    @property
    def pieces_per_order(self) -> float:
        """Mean number of pieces that an order takes."""
        return sum(number * share for number, share in self.share_by_number.items())

    @property
    def pieces_per_day(self) -> float:
        """Mean number of pieces taken in a day."""
        return self.orders_per_day * self.pieces_per_order

    @cached_property
    def one_order(self) -> Counted:
        """What one order takes."""
        chance = np.zeros(self.largest + 1)
        for number, share in self.share_by_number.items():
            chance[number] += share
        return Counted(chance)

    def over(self, days: float, *, and_an_order: bool = False) -> Taken:
        """
        Return what is taken in some days.

        Parameters
        ----------
        days
            The time, days.
        and_an_order
            Add what one order more takes: an order is met in full where both together find enough.
        """
        key = days, and_an_order
        if key not in self._known:
            self._known[key] = self._taken(days, and_an_order)
        return self._known[key]

    def _taken(self, days: float, and_an_order: bool) -> Taken:
        mean_orders = self.orders_per_day * days
        square = sum(number**2 * share for number, share in self.share_by_number.items())
        mean, variance = mean_orders * self.pieces_per_order, mean_orders * square
        points = mean + _TAIL_SD * math.sqrt(variance) + _TAIL_SD * self.largest
        if points / self.step > MOST_POINTS:
            extra = self.pieces_per_order if and_an_order else 0.0
            spread = square - self.pieces_per_order**2 if and_an_order else 0.0
            return Normal(mean + extra, math.sqrt(variance + spread))
        chance = compound_poisson(mean_orders, self.one_order.chance, int(points) + 1)
        if and_an_order:
            chance = np.convolve(chance, self.one_order.chance)
        return Counted(chance)


def demand_of(processes: Iterable[tuple[OrderProcess, int]]) -> Demand | None:
    """
    Add up what the orders of several vehicles take of one part.

    Parameters
    ----------
    processes
        Of each vehicle: how it is ordered, and how many pieces one vehicle takes.

    Returns
    -------
    Demand | None
        None where nothing is ever taken.
    """
    rate_by_number: dict[int, Fraction] = defaultdict(Fraction)
    for process, pieces in processes:
        for size, share in process.share_by_size.items():
            if pieces and share:
                rate_by_number[size * pieces] += process.orders_per_month * share
    total = sum(rate_by_number.values())
    if not total:
        return None
    shares = {number: float(rate / total) for number, rate in sorted(rate_by_number.items()) if rate}
    return Demand(float(total / DAYS_PER_MONTH), shares)


def compound_poisson(mean_orders: float, one_order: Array, points: int) -> Array:
    """
    Return the distribution of a Poisson number of orders that each take pieces.

    Parameters
    ----------
    mean_orders
        Mean number of orders.
    one_order
        Probability that an order takes 0, 1, 2, ... pieces; none takes 0.
    points
        Length of the result: probabilities of 0, 1, ..., points - 1 pieces.
    """
    halvings = max(0, math.ceil(math.log2(max(1e-300, mean_orders / _LARGEST_EXPONENT))))
    mean = mean_orders / 2**halvings  # of more orders at once the chance of none at all would be lost as zero
    numbers = np.flatnonzero(one_order)
    weights = mean * numbers * one_order[numbers]
    chance = np.zeros(points)
    chance[0] = math.exp(-mean)
    for total in range(1, points):
        count = int(np.searchsorted(numbers, total, side="right"))
        if count:
            chance[total] = weights[:count] @ chance[total - numbers[:count]] / total
    for _ in range(halvings):  # twice the orders: the sum of two like it, by Fourier transform because it is long
        waves = np.fft.rfft(chance, 2 * points)
        chance = np.maximum(np.fft.irfft(waves * waves, 2 * points)[:points], 0.0)
    return chance
