"""
How many pieces to keep and when to order again: base stock, (r, nQ) and (s, S), each judged exactly.

Comes in as the demand of a part with what a piece costs to keep, to order and to owe; goes out as a Policy. What is on
the shelf or on its way, less what is owed, is the *position*; after each order it is spread over some values with known
weights (``Positions``), and what the shelf holds a lead time later is the position less what was taken since. Sources:
Zipkin, "Foundations of Inventory Management", 2000, ch. 6; Snyder and Shen, "Fundamentals of Supply Chain Theory", 2nd
ed., 2019, ch. 4 and 5; for (s, S) Zheng and Federgruen, "Finding optimal (s, S) policies is about as simple as
evaluating a single policy", 1991.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from allocator.stocking.demand import Counted, Demand, Taken

Positions = Mapping[int, float]
"""Weight of each value of the position."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True, slots=True)
class Costs:
    """
    What a piece costs.

    Attributes
    ----------
    holding
        To keep it, by unit of time.
    shortage
        To owe it, by unit of time.
    order
        To place an order, whatever its size.
    """

    holding: float
    shortage: float
    order: float = 0.0

    def of(self, taken: Taken, level: float) -> float:
        """Return the mean cost of keeping and owing at a level, by unit of time."""
        return self.holding * taken.left(level) + self.shortage * taken.short(level)


@dataclass(frozen=True, slots=True)
class Judged:
    """
    What a way of ordering comes to.

    Attributes
    ----------
    service
        Share of orders that find all their pieces on the shelf.
    on_hand, owed
        Mean number of pieces.
    """

    service: float
    on_hand: float
    owed: float


def uniform(reorder: int, quantity: int, step: int) -> Positions:
    """
    Return the positions of (r, nQ): evenly over r + 1 to r + Q, as far as they can be reached.

    Where every order takes a multiple of ``step``, and so does a pack, the position keeps its remainder for ever: the
    lowest one is taken, with which the shelf is at its worst.
    """
    apart = math.gcd(step, quantity)
    return {reorder + 1 + place: apart / quantity for place in range(0, quantity, apart)}


def judge(demand: Demand, positions: Positions, lead_days: float, review_days: float) -> Judged:
    """
    Judge a way of ordering.

    Parameters
    ----------
    demand
        Of the part.
    positions
        The position after each order, or after each look at the shelf.
    lead_days
        From order to delivery.
    review_days
        Between two looks at the shelf; 0: it is always in view.
    """
    service = on_hand = owed = 0.0
    for days, share in _moments(lead_days, review_days):
        taken, met = demand.over(days), demand.over(days, and_an_order=True)
        for level, weight in positions.items():
            service += share * weight * met.within(level)
            on_hand += share * weight * taken.left(level)
            owed += share * weight * taken.short(level)
    return Judged(service, on_hand, owed)


def _moments(lead_days: float, review_days: float) -> list[tuple[float, float]]:
    """Return times since the position was set, with their shares: by Gauss over the time between two looks."""
    if not review_days:
        return [(lead_days, 1.0)]
    return [
        (lead_days + review_days * (node + 1) / 2, weight / 2) for node, weight in zip(_NODES, _WEIGHTS, strict=True)
    ]


def least_level_for_service(
    demand: Demand, positions_at: Callable[[int], Positions], lead_days: float, review_days: float, service: float
) -> int:
    """
    Return the least level at which so large a share of orders finds all its pieces.

    Parameters
    ----------
    positions_at
        Positions that belong to a level; a higher level has higher ones.
    """
    met = [(demand.over(days, and_an_order=True), share) for days, share in _moments(lead_days, review_days)]

    def reached(level: int) -> bool:
        positions = positions_at(level).items()
        return sum(share * weight * one.within(at) for one, share in met for at, weight in positions) >= service

    low, high = -max(positions_at(0)) - demand.largest, 1  # there no position is above zero, and no order is met
    while not reached(low + high):
        high *= 2
    return _first(reached, low, low + high)


def _first(holds: Callable[[int], bool], low: int, high: int) -> int:
    """Return the first number from ``low`` on for which something holds; it holds for ``high`` and from there on."""
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low


def base_stock(taken: Taken, costs: Costs) -> int:
    """Return the least level with P(taken <= level) >= shortage / (shortage + holding); no level costs less."""
    ratio = costs.shortage / (costs.shortage + costs.holding)
    high = 1
    while taken.within(high) < ratio:
        high *= 2
    return _first(lambda level: taken.within(level) >= ratio, 0, high)


def keeping(taken: Taken, costs: Costs, positions: Positions) -> float:
    """Return the mean cost of keeping and owing by unit of time, over positions."""
    return sum(weight * costs.of(taken, level) for level, weight in positions.items())


def best_reorder(taken: Taken, costs: Costs, quantity: int, step: int = 1) -> int:
    """Return the r at which (r, nQ) keeps and owes for least; every order takes a multiple of ``step`` pieces."""
    top = base_stock(taken, costs)

    def rises(reorder: int) -> bool:
        if math.gcd(step, quantity) == 1:  # one level is lost and one gained
            return costs.of(taken, reorder + 1 + quantity) >= costs.of(taken, reorder + 1)
        higher, here = (keeping(taken, costs, uniform(at, quantity, step)) for at in (reorder + 1, reorder))
        return higher >= here

    return _first(rises, top - 1 - quantity, top)  # the cost is convex in the level


def lot_cost(demand: Demand, taken: Taken, costs: Costs, reorder: int, quantity: int) -> float:
    """Return the mean cost of (r, nQ) in a day, of orders too; all costs are by the day."""
    return costs.order * lots_per_day(demand, quantity) + keeping(taken, costs, uniform(reorder, quantity, demand.step))


def lots_per_day(demand: Demand, quantity: int) -> float:
    """Return how many orders (r, nQ) places in a day: an order of x pieces sets one off with the chance x / Q, or 1."""
    shares = demand.share_by_number.items()
    return demand.orders_per_day * sum(share * min(number, quantity) for number, share in shares) / quantity


def best_lot(demand: Demand, taken: Taken, costs: Costs, pack: int = 1) -> tuple[int, int]:
    """
    Return the r and Q of least cost, Q a multiple of the pack.

    What keeping and owing cost at the best r never falls with Q, because more and worse levels share in it: once it
    alone is no less than the best cost so far, no larger Q is better.
    """
    best, least, quantity = (0, 0), math.inf, pack
    while True:
        reorder = best_reorder(taken, costs, quantity, demand.step)
        cost = lot_cost(demand, taken, costs, reorder, quantity)
        if cost < least:
            best, least = (reorder, quantity), cost
        if cost - costs.order * lots_per_day(demand, quantity) >= least:
            return best
        quantity += pack


def best_s_and_s(one_period: Counted, taken: Taken, costs: Costs) -> tuple[int, int, float]:
    """
    Return s, S and the mean cost of a period of the best (s, S): at or below s it is ordered up to S.

    Parameters
    ----------
    one_period
        What is taken between two looks at the shelf.
    taken
        What is taken until the order of one look is there and the next look comes.
    """
    chance = one_period.chance
    keep = [1 / (1 - float(chance[0]))]  # visits to the position S - n before the next order

    def visits(number: int) -> float:
        while len(keep) <= number:
            n = len(keep)
            last = min(n, len(chance) - 1)
            keep.append(sum(float(chance[k]) * keep[n - k] for k in range(1, last + 1)) * keep[0])
        return keep[number]

    def cost(low: int, high: int) -> float:
        total = costs.order + sum(visits(n) * costs.of(taken, high - n) for n in range(high - low))
        return total / sum(visits(n) for n in range(high - low))

    middle = base_stock(taken, costs)
    low = middle - 1
    while cost(low, middle) > costs.of(taken, low):
        low -= 1
    best, least, high = middle, cost(low, middle), middle + 1
    while costs.of(taken, high) <= least:
        if cost(low, high) < least:
            best = high
            while cost(low, best) <= costs.of(taken, low + 1) and low + 1 < best:
                low += 1
            least = cost(low, best)
        high += 1
    return low, best, least


def positions_of_s_and_s(one_period: Counted, low: int, high: int) -> Positions:
    """Return the positions of (s, S) after each look: in proportion to how often each is visited."""
    chance = one_period.chance
    visits = [1 / (1 - float(chance[0]))]
    for n in range(1, high - low):
        last = min(n, len(chance) - 1)
        visits.append(sum(float(chance[k]) * visits[n - k] for k in range(1, last + 1)) * visits[0])
    return {high - n: weight / sum(visits) for n, weight in enumerate(visits)}
