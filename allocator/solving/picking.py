"""
The best set of orders to build from the shelf: exact, goal after goal.

Comes in as what each order takes, what there is, and worths; goes out as the orders to build with what is proven.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

from allocator.model.picking import build_picking
from allocator.solving.engine import Clock, solve

EFFORT = 20.0
GUARD_S = 600.0


@dataclass(frozen=True, slots=True)
class Picked:
    """Orders to build, by their place in the list; ``is_best``: no set is better in any goal, the first goal first."""

    orders: tuple[int, ...]
    is_best: bool


def pick(
    takes: Sequence[Mapping[str, int]],
    stock: Mapping[str, int],
    worths: Sequence[Sequence[int]],
    can_build: Callable[[Collection[int]], bool] = lambda orders: True,
) -> Picked:
    """
    Pick the orders to build.

    Parameters
    ----------
    takes
        Of each order: pieces by part.
    stock
        Pieces on the shelf; a part that is not named never lacks.
    worths
        Of each goal: the worth of each order; the first goal counts most.
    can_build
        Says whether a set of orders can be built in ways that counts do not see (how strips are cut). Where it says no,
        no set that holds these orders can be built either.
    """
    if not takes:
        return Picked((), True)
    clock = Clock(time.monotonic() + GUARD_S)
    refused: list[Collection[int]] = []
    while True:
        is_best, chosen = True, tuple[int, ...]()
        goals = build_picking(takes, stock)
        for orders in refused:
            goals.not_all_of(orders)
        for worth in worths:
            goals.model.maximize(goals.total(worth))
            solved = solve(goals.model, clock, effort=EFFORT)
            is_best &= solved.status == "optimal"
            if not solved.has_solution or solved.objective is None:
                break
            chosen = tuple(order for order, built in enumerate(goals.built) if solved.value(built))
            goals.model.add(goals.total(worth) >= solved.objective)
        if can_build(chosen):
            return Picked(chosen, is_best)
        refused.append(chosen)
