"""
Worked examples of stock planning, each through the functions that the shelf is planned with.

They are those of Snyder and Shen, "Fundamentals of Supply Chain Theory", 2nd ed., 2019, as the package stockpyl (MIT)
ships them; their numbers are in the names. Where the book has continuous demand, the normal curve stands in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
import pytest
from scipy.integrate import quad

from allocator.stocking.demand import Counted, Demand, Normal, compound_poisson
from allocator.stocking.lots import (
    JointItem,
    economic_lot,
    economic_lot_with_owing,
    joint_orders,
    lot_cost_a_time,
    lot_with_breaks,
    lots_over_time,
)
from allocator.stocking.policy import Costs, base_stock, best_lot, best_reorder, best_s_and_s, lot_cost
from tests.published.sources import published

BOOK = "Snyder and Shen, Fundamentals of Supply Chain Theory"
CLOSE = 1e-6


def close(value: float) -> object:
    return pytest.approx(value, rel=CLOSE)


def poisson(mean: float) -> Counted:
    return Counted(compound_poisson(mean, np.array([0.0, 1.0]), int(mean + 20 * math.sqrt(mean) + 40)))


@published(BOOK, "order, holding, rate, quantity, cost", [(8, 0.225, 1300, 304.0467800, 68.41052551)],
           expects="quantity, cost")  # fmt: skip
def test_example_3_1(order: float, holding: float, rate: float, quantity: float, cost: float) -> None:
    assert economic_lot(order, holding, rate) == close(quantity)
    assert lot_cost_a_time(order, holding, rate, economic_lot(order, holding, rate)) == close(cost)


@published(BOOK, "shortage, quantity, share, cost", [(5, 310.8125552, 0.04306220, 66.92136355)],
           expects="quantity, share, cost")  # fmt: skip
def test_example_3_8(shortage: float, quantity: float, share: float, cost: float) -> None:
    found, owed = economic_lot_with_owing(8, 0.225, shortage, 1300)
    assert (found, owed) == (close(quantity), close(share))
    keeping = (0.225 * (found * (1 - owed)) ** 2 + shortage * (found * owed) ** 2) / (2 * found)
    assert keeping + 8 * 1300 / found == close(cost)


@published(BOOK, "quantity, cost", [(800, 978.60)], expects="quantity, cost")
def test_example_3_5(quantity: float, cost: float) -> None:
    assert lot_with_breaks(8, 0.3, 1300, {0: 0.75, 400: 0.72, 800: 0.68}) == (close(quantity), close(cost))


@published(BOOK, "lots, cost", [((210.0, 0.0, 150.0, 0.0), 1380.0)], expects="cost")
def test_example_3_9(lots: Sequence[float], cost: float) -> None:
    assert lots_over_time([90, 120, 80, 70], 500, 2) == (list(lots), close(cost))


@published(BOOK, "cycle, cost", [(3.103164454, 837.8544026)], expects="cycle, cost")
def test_joint_replenishment(cycle: float, cost: float) -> None:
    found = joint_orders(600, [JointItem(120, 160, 1), JointItem(840, 20, 1), JointItem(300, 50, 1)])
    assert (found.cycle, found.multiples, found.cost) == (close(cycle), (1, 3, 1), close(cost))


@published(BOOK, "level, cost", [(56.60395593, 1.997605193)], expects="level, cost")
def test_example_4_3(level: float, cost: float) -> None:
    """Of whole numbers the least one above; the cost is that of the level itself."""
    taken, costs = Normal(50, 8), Costs(0.18, 0.70)
    assert NormalDist(50, 8).inv_cdf(0.70 / 0.88) == close(level)
    assert base_stock(Normal(50e6, 8e6), costs) / 1e6 == close(level)
    assert costs.of(taken, level) == close(cost)


@published(BOOK, "holding, shortage, mean, level, cost",
           [(0.18, 0.70, 50, 56, 1.797235212), (1, 4, 6, 8, 3.570106946)], expects="level, cost")  # fmt: skip
def test_newsvendor_with_poisson(holding: float, shortage: float, mean: float, level: int, cost: float) -> None:
    taken, costs = poisson(mean), Costs(holding, shortage)
    assert base_stock(taken, costs) == level
    assert costs.of(taken, level) == close(cost)


@published(BOOK, "low, high, cost", [(4, 10, 8.034111561)], expects="low, high, cost")
def test_example_4_7(low: int, high: int, cost: float) -> None:
    assert best_s_and_s(poisson(6), poisson(6), Costs(1, 4, 5)) == (low, high, close(cost))


LEAD = Normal(1300 / 12, 150 * math.sqrt(1 / 12))
FINE = 1000
"""Parts of a piece in which r and Q are sought, where the book has no whole numbers."""


@published(BOOK, "cost", [78.07116251], expects="cost")
def test_example_5_1(cost: float) -> None:
    costs = Costs(0.225, 7.5, 8)
    keeping, _ = quad(lambda level: costs.of(LEAD, level), 126.8, 126.8 + 328.5)
    assert (8 * 1300 + keeping) / 328.5 == close(cost)


@published(BOOK, "quantity, reorder", [(300.0, 129.4272799), (308.5737801, 128.6378144)], expects="reorder")
def test_example_5_2(quantity: float, reorder: float) -> None:
    """In thousandths of a piece: the least whole number of them is within one of the book's."""
    fine = Normal(LEAD.mean * FINE, LEAD.deviation * FINE)
    found = best_reorder(fine, Costs(0.225, 7.5), round(quantity * FINE))
    assert found / FINE == pytest.approx(reorder, abs=1.5 / FINE)


@published(BOOK, "quantity", [308.5737801], expects="quantity")
def test_example_5_2_quantity(quantity: float) -> None:
    assert economic_lot_with_owing(8, 0.225, 7.5, 1300)[0] == close(quantity)


@published(BOOK, "reorder, quantity, cost", [(3, 5, 107.9235806)], expects="reorder, quantity, cost")
def test_example_5_8(reorder: int, quantity: int, cost: float) -> None:
    demand, costs = Demand(1.5, {1: 1.0}), Costs(20, 150, 100)
    assert best_lot(demand, demand.over(2), costs) == (reorder, quantity)
    assert lot_cost(demand, demand.over(2), costs, reorder, quantity) == close(cost)


@published("own sums, after the same book, ch. 4", "shortage, mean, cover, level, cost, service",
           [(4, 6, 3, 22, 6.138782873, 0.855090), (19, 0.5, 5, 5, 3.738995235, 0.957979)],
           expects="level, cost, service")  # fmt: skip
def test_base_stock_under_review(
    shortage: float, mean: float, cover: float, level: int, cost: float, service: float
) -> None:
    taken, costs = Demand(mean, {1: 1.0}).over(cover), Costs(1, shortage)
    assert base_stock(taken, costs) == level
    assert costs.of(taken, level) == close(cost)
    assert taken.within(level) == pytest.approx(service, abs=6e-7)


@published(BOOK, "short, left", [(0.04552796, 1.34552796)], expects="short, left")
def test_loss_of_the_normal_curve(short: float, left: float) -> None:
    standard = Normal(0, 1)
    assert standard.short(1.3) == pytest.approx(short, abs=1e-8)
    assert standard.left(1.3) == pytest.approx(left, abs=1e-8)


@published(BOOK, "short, left", [(0.51760953, 3.51760953)], expects="short, left")
def test_loss_of_poisson(short: float, left: float) -> None:
    taken = poisson(15)
    assert (taken.short(18), taken.left(18)) == (close(short), close(left))
