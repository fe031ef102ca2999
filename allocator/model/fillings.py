"""
What modules can be filled with, as a count: needs have weights, and no filling of a module weighs more than so much.

Comes from ``solving/fillings.py`` with weights; adds one rule to ``Sums``. Where few loads fill a module up to its
ampere limit it says more than the sum of all loads, which takes them to be divisible.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.variables import Sums


@dataclass(frozen=True)
class Filling:
    """Weights of needs at a panel, with the most that a module of each type can hold of them."""

    panel: str
    weight_by_class: Mapping[int, int]
    most_by_module: Mapping[str, int]


def module_current_of_fillings(x: Sums, filling: Filling) -> None:
    """Rule module-current, as a count: what needs at a panel weigh, its modules can hold."""
    chosen: list[IntVar] = []
    weights: list[int] = []
    for index, weight in filling.weight_by_class.items():
        for cell, numbers in x.frame.classes[index].numbers_by_cell().items():
            if cell[0] == filling.panel:
                chosen += [x.chosen[index, number] for number in numbers]
                weights += [weight] * len(numbers)
    here = [(number, filling.most_by_module[module]) for panel, module, number in x.modules if panel == filling.panel]
    held = LinearExpr.weighted_sum([number for number, _ in here], [most for _, most in here])
    x.model.add(LinearExpr.weighted_sum(chosen, weights) <= held)
