"""Ways of ordering: their figures against simulation and enumeration, and the best ones against all others."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import pytest

from allocator.stocking.demand import Counted, Demand
from allocator.stocking.policy import (
    Costs,
    best_lot,
    best_reorder,
    best_s_and_s,
    judge,
    keeping,
    least_level_for_service,
    lot_cost,
    positions_of_s_and_s,
    uniform,
)

Z = 3.89
"""Of 10,000 sound tests one fails at so many standard errors."""


@dataclass(frozen=True)
class Simulated:
    """What came of a shelf that was run: share of orders met in full with its standard error, and pieces on hand."""

    service: float
    error: float
    on_hand: float


def simulate(
    demand: Demand,
    reorder: int,
    quantity: int,
    lead: float,
    review: float,
    periods: int,
    seed: int,
    *,
    up_to: int | None = None,
) -> Simulated:
    """
    Run a shelf, order by order, from the position that is worst for it.

    A period is the time between two looks, or a lead time. What is short is owed. The standard error comes from batches
    of periods, because what follows closely is alike.
    """
    draw = random.Random(seed)
    numbers, shares = zip(*demand.share_by_number.items(), strict=True)
    length = review or lead
    position, net = reorder + 1, reorder + 1
    on_way: list[tuple[float, int]] = []
    met = [[0, 0] for _ in range(50)]
    held = now = 0.0
    next_order, next_look = draw.expovariate(demand.orders_per_day), review or math.inf

    def fill() -> None:
        nonlocal position
        if position <= reorder:
            ordered = (up_to - position) if up_to is not None else -(-(reorder + 1 - position) // quantity) * quantity
            on_way.append((now + lead, ordered))
            position += ordered

    end = periods * length
    while now < end:
        arrives = on_way[0][0] if on_way else math.inf
        then = min(arrives, next_order, next_look, end)
        held += max(net, 0) * (then - now)
        now = then
        if then == arrives:
            net += on_way.pop(0)[1]
        elif then == next_look:
            fill()
            next_look += review
        elif then == next_order:
            number = draw.choices(numbers, shares)[0]
            batch = met[min(49, int(50 * now / end))]
            batch[0] += net >= number
            batch[1] += 1
            net -= number
            position -= number
            next_order = now + draw.expovariate(demand.orders_per_day)
            if not review:
                fill()
    rates = [good / of for good, of in met if of]
    mean = sum(good for good, _ in met) / sum(of for _, of in met)
    spread = sum((rate - mean) ** 2 for rate in rates) / (len(rates) - 1)
    return Simulated(mean, math.sqrt(spread / len(rates)), held / end)


SHELVES = {
    "single pieces": (Demand(0.3, {1: 1.0}), 1, 12.0, 0.0),
    "vehicles in batches": (Demand(0.15, {2: 0.6, 8: 0.4}), 10, 14.0, 0.0),
    "packs that share a step with what is taken": (Demand(0.15, {4: 0.7, 12: 0.3}), 10, 14.0, 0.0),
    "a look every week": (Demand(0.2, {1: 0.5, 3: 0.5}), 5, 9.0, 7.0),
    "far slower than its lead time": (Demand(0.01, {6: 1.0}), 20, 10.0, 0.0),
}


def promised(name: str, service: float) -> tuple[int, int, float, float]:
    """Return r and Q of the least shelf with a service, and what it promises."""
    demand, quantity, lead, review = SHELVES[name]
    reorder = least_level_for_service(
        demand, lambda level: uniform(level, quantity, demand.step), lead, review, service
    )
    judged = judge(demand, uniform(reorder, quantity, demand.step), lead, review)
    return reorder, quantity, judged.service, judged.on_hand


@pytest.mark.parametrize("name", SHELVES)
@pytest.mark.parametrize(
    "periods", [10_000, pytest.param(200_000, marks=pytest.mark.long)], ids=["sample", "long"]
)  # fmt: skip
def test_a_simulated_shelf_keeps_the_promise(name: str, periods: int) -> None:
    """Over at least 10,000 periods: the promised service within its confidence interval, and the stock on hand."""
    demand, _, lead, review = SHELVES[name]
    reorder, quantity, service, on_hand = promised(name, 0.95)
    seen = simulate(demand, reorder, quantity, lead, review, periods, seed=7)
    assert service >= 0.95
    assert abs(seen.service - service) <= Z * max(seen.error, 1e-4)
    assert seen.on_hand == pytest.approx(on_hand, rel=0.05)


@pytest.mark.parametrize("name", SHELVES)
def test_no_lower_level_gives_the_service(name: str) -> None:
    demand, quantity, lead, review = SHELVES[name]
    for share in (0.5, 0.9, 0.99):
        reorder, *_ = promised(name, share)
        assert judge(demand, uniform(reorder - 1, quantity, demand.step), lead, review).service < share


def test_an_empty_shelf_promises_nothing_to_slow_movers() -> None:
    """The share of time in which nothing is owed would be 95 % here, with nothing on the shelf."""
    demand = Demand(0.005, {1: 1.0})
    nothing = judge(demand, {0: 1.0}, 10, 0)
    assert demand.over(10).within(0) > 0.95
    assert nothing.service == 0.0
    assert least_level_for_service(demand, lambda level: {level + 1: 1.0}, 10, 0, 0.9) + 1 == 1


@pytest.mark.parametrize(("step", "quantity"), [(50, 1000), (50, 100), (1, 7), (4, 30), (1, 1)])
@pytest.mark.parametrize("service", [0.05, 0.5, 0.95])
def test_the_least_level_is_found_however_large_the_lot(step: int, quantity: int, service: float) -> None:
    """Against every level there is, also those below zero where a lot is many times what is taken."""
    demand = Demand(0.001, {step: 0.7, 2 * step: 0.3})

    def met(level: int) -> float:
        return judge(demand, uniform(level, quantity, demand.step), 10, 0).service

    found = least_level_for_service(demand, lambda level: uniform(level, quantity, demand.step), 10, 0, service)
    assert found == next(level for level in range(-2 * quantity - 200, 200) if met(level) >= service)


@pytest.mark.parametrize("seed", range(6))
def test_best_reorder_and_lot_against_enumeration(seed: int) -> None:
    draw = random.Random(seed)
    step = draw.choice((1, 1, 2, 3))
    demand = Demand(draw.uniform(0.1, 0.8), {step: 0.6, 2 * step: 0.4})
    costs = Costs(draw.uniform(0.5, 2), draw.uniform(3, 20), draw.choice((0, 5, 40)))
    pack, taken = draw.choice((1, 2, 5)), demand.over(draw.randint(2, 9))
    for quantity in (pack, 3 * pack):
        levels = {r: keeping(taken, costs, uniform(r, quantity, demand.step)) for r in range(-40, 60)}
        found = best_reorder(taken, costs, quantity, demand.step)
        assert levels[found] == pytest.approx(min(levels.values()))
    every = {
        (r, q): lot_cost(demand, taken, costs, r, q) for q in range(pack, 60, pack) for r in range(-q - 20, 40)
    }  # fmt: skip
    assert every[best_lot(demand, taken, costs, pack)] == pytest.approx(min(every.values()))


@pytest.mark.parametrize("seed", range(4))
def test_best_s_and_s_against_enumeration(seed: int) -> None:
    draw = random.Random(seed)
    demand = Demand(draw.uniform(0.5, 2), {1: 0.7, 3: 0.3})
    one, taken = demand.over(1), demand.over(1 + draw.choice((0, 2)))
    costs = Costs(1, draw.uniform(3, 12), draw.uniform(1, 12))
    assert isinstance(one, Counted)

    def cost(low: int, high: int) -> float:
        positions = positions_of_s_and_s(one, low, high)
        orders = sum(weight * (1 - one.within(level - low - 1)) for level, weight in positions.items())
        return costs.order * orders + keeping(taken, costs, positions)

    low, high, least = best_s_and_s(one, taken, costs)
    assert cost(low, high) == pytest.approx(least)
    every = [cost(s, big) for s in range(-3, 16) for big in range(s + 1, s + 22)]
    assert least == pytest.approx(min(every))


def test_s_and_s_in_simulation() -> None:
    demand, lead, review = Demand(0.3, {1: 0.5, 2: 0.5}), 6.0, 7.0
    one = demand.over(review)
    assert isinstance(one, Counted)
    judged = judge(demand, positions_of_s_and_s(one, 6, 13), lead, review)
    seen = simulate(demand, 6, 7, lead, review, 10_000, seed=3, up_to=13)
    assert abs(seen.service - judged.service) <= Z * seen.error
    assert seen.on_hand == pytest.approx(judged.on_hand, rel=0.03)
