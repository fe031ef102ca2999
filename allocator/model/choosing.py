"""
The choice model: which few offers to keep, so that every member does best with what is kept.

Comes in as the columns of each member, a column being a set of offers that would do for it and what that costs; goes
out as a CP-SAT model. A member's columns stand in order of cost, and one variable a level says "nothing up to here is
kept": the radius formulation of the p-median problem (Cornuejols, Nemhauser and Wolsey, "A canonical representation of
simple plant location problems and its applications", 1980), with sets of offers in place of single ones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from ortools.sat.python.cp_model import BoolVarT, CpModel, IntVar, LinearExpr, LinearExprT

Cost = tuple[int, ...]
"""One whole number for each goal, the first goal first."""


@dataclass(frozen=True, slots=True)
class Column:
    """A set of offers that together do for a member, and what it then costs."""

    requires: frozenset[str]
    cost: Cost


@dataclass(frozen=True)
class Choosing:
    """The model with its variables, and one total for each goal."""

    model: CpModel
    kept: Mapping[str, IntVar]
    totals: Sequence[LinearExprT]


def build_choosing(
    columns: Mapping[str, Sequence[Column]], offers: Sequence[str], fixed: Mapping[str, Cost], num_goals: int
) -> Choosing:
    """
    Build the model.

    Parameters
    ----------
    columns
        Of every member; it takes the one of least cost of which everything is kept.
    offers
        What may be kept.
    fixed
        What keeping an offer costs by itself; none where it is not named.
    num_goals
        Length of every cost.
    """
    model = CpModel()
    kept = {offer: model.new_bool_var(f"keep {offer}") for offer in offers}
    together: dict[frozenset[str], BoolVarT] = {}

    def all_of(requires: frozenset[str]) -> BoolVarT | bool:
        if len(requires) <= 1:
            return kept[next(iter(requires))] if requires else True
        if requires not in together:
            together[requires] = model.new_bool_var(" and ".join(sorted(requires)))
            for offer in requires:
                model.add_implication(together[requires], kept[offer])
        return together[requires]

    terms: list[list[LinearExprT]] = [[] for _ in range(num_goals)]
    for offer, cost in fixed.items():
        for goal, part in enumerate(cost):
            terms[goal].append(part * kept[offer])
    for member, list_of in columns.items():
        levels = [
            (cost, [column.requires for column in group])
            for cost, group in groupby(sorted(list_of, key=lambda column: column.cost), key=lambda column: column.cost)
        ]
        above: IntVar | None = None
        for number, (cost, sets) in enumerate(levels):
            here: list[BoolVarT | bool] = [all_of(requires) for requires in sets]
            clause = [*here, *([~above] if above is not None else [])]
            if number + 1 < len(levels):
                beyond = model.new_bool_var(f"{member} beyond {number}")
                clause.append(beyond)
                for goal in range(num_goals):
                    terms[goal].append((levels[number + 1][0][goal] - cost[goal]) * beyond)
                above = beyond
            model.add_bool_or(clause)
            if number == 0:
                for goal in range(num_goals):
                    terms[goal].append(cost[goal])
    return Choosing(model, kept, [LinearExpr.sum(list_of) for list_of in terms])
