"""
The picking model: which orders to build from what is on the shelf.

Comes in as what each order takes and what there is; goes out as a CP-SAT model: a knapsack with one limit a part.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python.cp_model import CpModel, IntVar, LinearExpr


@dataclass(frozen=True)
class Picking:
    """The model with its variables."""

    model: CpModel
    built: Sequence[IntVar]

    def total(self, worth: Iterable[int]) -> LinearExpr:
        """Return the sum of a worth over the orders that are built."""
        return LinearExpr.weighted_sum(self.built, list(worth))

    def not_all_of(self, orders: Iterable[int]) -> None:
        """Leave out every choice that builds all of some orders."""
        self.model.add_bool_or([~self.built[order] for order in orders])


def build_picking(takes: Sequence[Mapping[str, int]], stock: Mapping[str, int]) -> Picking:
    """
    Build the model.

    Parameters
    ----------
    takes
        Of each order: pieces by part.
    stock
        Pieces on the shelf by part; a part that is not named is not counted, and never lacks.
    """
    model = CpModel()
    built = [model.new_bool_var(f"order {number}") for number in range(len(takes))]
    for part, number in stock.items():
        wanted = [order.get(part, 0) for order in takes]
        if sum(wanted) > number:
            model.add(LinearExpr.weighted_sum(built, wanted) <= number)
    return Picking(model, built)
