"""
Which few offers to keep: exact, goal after goal.

Comes in as the columns of each member (``model/choosing.py``); goes out as a Choice with what is proven of it. Range
selection calls it with module types as offers and vehicles as members; p-median and warehouse location are the same.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from ortools.sat.python.cp_model import LinearExpr

from allocator.errors import NoPlanInTime
from allocator.model.choosing import Column, Cost, build_choosing
from allocator.solving.engine import Clock, solve

EFFORT = 60.0
"""Deterministic effort for each goal."""


@dataclass(frozen=True)
class Choice:
    """
    What to keep.

    Attributes
    ----------
    kept
        The offers that some member takes, or that are forced, in the order given.
    column_by_member
        The column that each member takes.
    cost
        Total of all members and of what is kept, one number for each goal.
    bound
        No choice costs less, of a goal after the first: none with so little of the goals before.
    """

    kept: tuple[str, ...]
    column_by_member: Mapping[str, Column]
    cost: Cost
    bound: Cost

    @property
    def is_best(self) -> bool:
        """Whether no choice is better."""
        return self.cost == self.bound


def choose(
    columns: Mapping[str, Sequence[Column]],
    offers: Sequence[str],
    clock: Clock,
    *,
    most: int | None = None,
    forced: Collection[str] = (),
    fixed: Mapping[str, Cost] | None = None,
    effort: float = EFFORT,
) -> Choice | None:
    """
    Choose what to keep.

    Parameters
    ----------
    columns
        Of every member: sets of offers that would do, with their costs; all costs are of one length.
    offers
        What may be kept; columns that ask for others are left aside.
    clock
        Wall time and interrupts.
    most
        How many offers may be kept; none: any number.
    forced
        Offers that are kept in any case.
    fixed
        What keeping an offer costs by itself.
    effort
        Deterministic effort of the solver for each goal.

    Returns
    -------
    Choice | None
        None where no choice does for every member.

    Raises
    ------
    NoPlanInTime
        If effort, limit or interrupt came before any choice.
    """
    offered = frozenset(offers)
    open_to = {
        member: [column for column in list_of if column.requires <= offered] for member, list_of in columns.items()
    }
    if not all(open_to.values()):
        return None
    fixed = fixed or {}
    num_goals = len(next(column.cost for list_of in open_to.values() for column in list_of))
    problem = build_choosing(open_to, offers, fixed, num_goals)
    model = problem.model
    for offer in forced:
        model.add(problem.kept[offer] == 1)
    if most is not None:
        model.add(LinearExpr.sum(list(problem.kept.values())) <= most)
    best, bound = None, list[int]()
    for total in problem.totals:
        model.minimize(total)
        solved = solve(model, clock, effort=effort)
        if not solved.has_solution or solved.objective is None or solved.bound is None:
            if solved.status == "infeasible" and best is None:
                return None
            break
        best = {offer for offer, variable in problem.kept.items() if solved.value(variable)}
        bound.append(solved.bound)
        model.add(total <= solved.objective)
        model.clear_hints()
        for variable in problem.kept.values():
            model.add_hint(variable, solved.value(variable))
    if best is None:
        raise NoPlanInTime("no choice was found within the limit", interrupted=clock.stop.is_set())
    return _choice(best, open_to, offers, forced, fixed, bound, num_goals)


def _choice(
    kept: AbstractSet[str],
    columns: Mapping[str, Sequence[Column]],
    offers: Sequence[str],
    forced: Collection[str],
    fixed: Mapping[str, Cost],
    bound: list[int],
    num_goals: int,
) -> Choice:
    """Read a choice anew from what is kept: the cheapest column of each member, and of equal ones the first."""
    taken = {
        member: min((column for column in list_of if column.requires <= kept), key=lambda column: column.cost)
        for member, list_of in columns.items()
    }
    in_use = set(forced).union(*(column.requires for column in taken.values()))
    costs = [column.cost for column in taken.values()]
    costs += [fixed[offer] for offer in offers if offer in in_use and offer in fixed]
    cost = tuple(sum(part[goal] for part in costs) for goal in range(num_goals))
    for goal in range(len(bound), num_goals):  # never reached: all that is known is the least of each member
        bound.append(sum(min(column.cost[goal] for column in list_of) for list_of in columns.values()))
    return Choice(tuple(offer for offer in offers if offer in in_use), taken, cost, tuple(bound))
