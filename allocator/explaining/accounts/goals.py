"""
The account of a plan, goal by goal.

Comes in as an indexed plan; goes out as an Account for every goal that the plan states, in the plan's order.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from allocator.explaining.accounts import entries, housing, loads, materials, room
from allocator.explaining.accounts.account import Account
from allocator.plan.index import PlanIndex
from allocator.requirements.scenario import Goal

ACCOUNTS: Mapping[Goal, Callable[[PlanIndex], Account]] = {
    "bays": housing.bays,
    "module-types": housing.module_types,
    "strip-pieces": entries.strip_pieces,
    "peak-utilisation": loads.peak_utilisation,
    "long-jumpers": loads.long_jumpers,
    "price": materials.price,
    "carriers": housing.carriers,
    "footprint": housing.footprint,
    "panels": housing.panels,
    "wire-length": materials.wire_length,
    "copper": materials.copper,
    "spare-ways": room.spare_ways,
}


def accounts_of(index: PlanIndex) -> tuple[Account, ...]:
    """
    Say where the amount of every goal of a plan comes from.

    Parameters
    ----------
    index
        Look-ups into the plan.

    Returns
    -------
    tuple of Account
        In the order of the plan's goals; each adds up to the goal's value.
    """
    return tuple(ACCOUNTS[result.goal](index) for result in index.plan.goals)
