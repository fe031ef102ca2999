"""What is taken in a time: against direct sums, the distributions of scipy, and the record of a fleet."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from allocator.stocking.demand import Counted, Demand, Normal, OrderProcess, compound_poisson, demand_of


@pytest.mark.parametrize("mean", [0.02, 3.5, 80.0, 900.0])
def test_single_pieces_are_poisson(mean: float) -> None:
    chance = compound_poisson(mean, np.array([0.0, 1.0]), int(mean + 15 * math.sqrt(mean) + 20))
    assert chance == pytest.approx(stats.poisson.pmf(np.arange(len(chance)), mean), abs=1e-12)


def test_batches_against_the_sum_over_numbers_of_orders() -> None:
    one = np.array([0.0, 0.5, 0.0, 0.3, 0.2])
    found = compound_poisson(2.3, one, 60)
    direct, so_many = np.zeros(60), np.array([1.0])
    for orders in range(40):
        direct[: len(so_many)] += stats.poisson.pmf(orders, 2.3) * so_many[:60]
        so_many = np.convolve(so_many, one)[:60]
    assert found == pytest.approx(direct, abs=1e-12)


def test_logarithmic_batches_are_negative_binomial() -> None:
    """A known pair: Poisson orders with logarithmic sizes take a negative binomial number."""
    p, r = 0.4, 3.0
    sizes = np.concatenate(([0.0], stats.logser.pmf(np.arange(1, 400), p)))
    found = compound_poisson(-r * math.log(1 - p), sizes, 120)
    assert found == pytest.approx(stats.nbinom.pmf(np.arange(120), r, 1 - p), abs=1e-10)


def test_vehicles_in_batches_are_added_up_per_vehicle() -> None:
    """Mean and variance of a compound Poisson sum: rate x E[x], rate x E[x2]."""
    trailer = OrderProcess(Fraction(2), {1: Fraction(1, 2), 4: Fraction(1, 2)})
    camper = OrderProcess(Fraction(3), {1: Fraction(1)})
    demand = demand_of([(trailer, 2), (camper, 5), (camper, 0)])
    assert demand is not None
    month = demand.over(365 / 12)
    assert isinstance(month, Counted)
    places = np.arange(len(month.chance))
    assert month.mean == pytest.approx(2 * 0.5 * (2 + 8) + 3 * 5)
    variance = (places**2) @ month.chance - month.mean**2
    assert variance == pytest.approx(2 * 0.5 * (4 + 64) + 3 * 25)
    assert demand.largest == 8 and demand.step == 1


def test_nothing_is_taken_of_what_no_vehicle_needs() -> None:
    assert demand_of([(OrderProcess(Fraction(2), {1: Fraction(1)}), 0)]) is None
    assert demand_of([(OrderProcess(Fraction(0), {1: Fraction(1)}), 3)]) is None


def test_short_and_left_agree_with_their_definitions() -> None:
    counted = Demand(0.4, {2: 0.7, 5: 0.3}).over(10)
    assert isinstance(counted, Counted)
    places = np.arange(len(counted.chance))
    for level in (-3, 0, 1, 7, 40, 5000):
        assert counted.left(level) == pytest.approx(np.maximum(level - places, 0) @ counted.chance, abs=1e-9)
        assert counted.short(level) == pytest.approx(np.maximum(places - level, 0) @ counted.chance, abs=1e-8)
        assert counted.within(level) == pytest.approx(counted.chance[places <= level].sum(), abs=1e-12)


def test_so_many_pieces_that_the_normal_curve_will_do() -> None:
    """Just beyond what is counted out the two agree to a thousandth."""
    many = Demand(4000.0, {1: 0.5, 2: 0.5})
    curve = many.over(10)
    assert isinstance(curve, Normal)
    counted = Counted(compound_poisson(40_000.0, many.one_order.chance, 64_000))
    for level in (59_000, 60_000, 60_500, 61_500):
        assert curve.within(level) == pytest.approx(counted.within(level), abs=2e-3)
