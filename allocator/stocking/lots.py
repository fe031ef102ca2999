"""
How much to order at once, where demand is steady or known: lot sizes, price breaks, a calendar, joint orders.

Comes in as costs and needs in one unit of time and of money; goes out as quantities. Sources: Harris, "How many parts
to make at once", 1913; Wagner and Whitin, "Dynamic version of the economic lot size model", 1958; Silver, "A simple
method of determining order quantities in joint replenishments under deterministic demand", 1976; all as in Snyder and
Shen, "Fundamentals of Supply Chain Theory", 2nd ed., 2019, ch. 3.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass


def economic_lot(order: float, holding: float, rate: float) -> float:
    """Return the quantity of least cost where an order costs ``order``, a piece ``holding``, and ``rate`` are taken."""
    return math.sqrt(2 * order * rate / holding)


def lot_cost_a_time(order: float, holding: float, rate: float, quantity: float) -> float:
    """Return what ordering and keeping cost by unit of time."""
    return order * rate / quantity + holding * quantity / 2


def economic_lot_with_owing(order: float, holding: float, shortage: float, rate: float) -> tuple[float, float]:
    """Return the quantity of least cost, and the share of it that is owed when it comes."""
    return math.sqrt(2 * order * rate * (holding + shortage) / (holding * shortage)), holding / (holding + shortage)


def lot_with_breaks(
    order: float, holding_share: float, rate: float, price_from: Mapping[int, float], pack: int = 1
) -> tuple[float, float]:
    """
    Return quantity and cost by unit of time, where the price of all pieces falls with the quantity.

    Parameters
    ----------
    holding_share
        Cost of keeping a piece by unit of time, as a share of its price.
    price_from
        Price of a piece by the quantity from which it holds; the least quantity is 0 or 1.
    pack
        Quantities are multiples of it; with 1 they need not be whole.
    """
    best: tuple[float, float] | None = None
    starts = sorted(price_from)
    for number, start in enumerate(starts):
        price, holding = price_from[start], holding_share * price_from[start]
        end = starts[number + 1] if number + 1 < len(starts) else math.inf
        wanted = economic_lot(order, holding, rate)
        for quantity in _near(min(max(wanted, start), end), pack):
            if not start <= quantity < end or quantity <= 0:
                continue
            cost = price * rate + lot_cost_a_time(order, holding, rate, quantity)
            if best is None or cost < best[1]:
                best = quantity, cost
    if best is None:
        raise ValueError("no price holds for any quantity")
    return best


def _near(quantity: float, pack: int) -> tuple[float, ...]:
    """Return the quantity; with packs of several the multiples on either side."""
    if pack == 1:
        return (quantity,)
    below = math.floor(quantity / pack) * pack
    return (below, below + pack)


def lots_over_time(needs: Sequence[float], order: float, holding: float | Sequence[float]) -> tuple[list[float], float]:
    """
    Return what to order in each period, and what it costs: exact, by dynamic programming.

    Parameters
    ----------
    needs
        Pieces that are taken in each period.
    order
        Cost of an order.
    holding
        Cost of keeping a piece to the next period.
    """
    holding = [holding] * len(needs) if isinstance(holding, int | float) else list(holding)
    cost, before = [0.0], [0]
    for end in range(1, len(needs) + 1):
        best = math.inf, end - 1
        keeping = 0.0
        for start in range(end - 1, -1, -1):
            # What is taken from ``start + 1`` on comes at ``start`` and waits one period longer than from there.
            keeping += holding[start] * sum(needs[start + 1 : end]) if start + 1 < end else 0.0
            needed = sum(needs[start:end]) > 0
            best = min(best, (cost[start] + (order if needed else 0.0) + keeping, start))
        cost.append(best[0])
        before.append(best[1])
    lots = [0.0] * len(needs)
    end = len(needs)
    while end:
        lots[before[end]] = sum(needs[before[end] : end])
        end = before[end]
    return lots, cost[-1]


@dataclass(frozen=True, slots=True)
class JointItem:
    """One line of a joint order: what the line costs, what keeping a piece costs, and how many are taken."""

    order: float
    holding: float
    rate: float


@dataclass(frozen=True, slots=True)
class JointOrder:
    """Time between two joint orders, how many of them each line waits for, and the cost by unit of time."""

    cycle: float
    multiples: tuple[int, ...]
    cost: float


def joint_orders(shared: float, items: Sequence[JointItem]) -> JointOrder:
    """
    Return a rhythm for ordering several parts together; a good one, not proven best.

    Parameters
    ----------
    shared
        Cost of an order, however many lines it has.
    items
        Its lines.
    """
    ratios = [item.order / (item.holding * item.rate) for item in items]
    first = min(range(len(items)), key=lambda number: ratios[number])
    base = (shared + items[first].order) / (items[first].holding * items[first].rate)
    multiples = tuple(1 if number == first else _multiple(ratio / base) for number, ratio in enumerate(ratios))
    return _joint(shared, items, multiples)


def _multiple(ratio: float) -> int:
    """Return the least whole m with m (m + 1) >= ratio."""
    return max(1, math.ceil((math.sqrt(1 + 4 * ratio) - 1) / 2))


def _joint(shared: float, items: Sequence[JointItem], multiples: tuple[int, ...]) -> JointOrder:
    orders = shared + sum(item.order / multiple for item, multiple in zip(items, multiples, strict=True))
    keeping = sum(item.holding * item.rate * multiple for item, multiple in zip(items, multiples, strict=True))
    cycle = math.sqrt(2 * orders / keeping)
    return JointOrder(cycle, multiples, orders / cycle + keeping * cycle / 2)
