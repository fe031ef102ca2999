"""
What modules can be filled with, as a count: needs have weights, and no filling of a module weighs more than so much.

Comes from ``solving/fillings.py`` with weights; adds one rule to ``Sums``. Where few loads fill a module up to its
ampere limit it says more than the sum of all loads, which takes them to be divisible.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.cover import Cover
from allocator.model.frame import Frame
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


def loads_in_sum(frame: Frame) -> Iterator[Filling]:
    """Yield the loads of needs that can be at one panel only as weights, where every module with rows has a limit."""
    for site in frame.panels:
        types = {instance.module for instance in frame.instances if instance.panel == site.name}
        with_rows = [module for module in sorted(types) if frame.sized.module_by_id[module].rows]
        limits = {module: frame.sized.module_limit_ma.get((site.name, module)) for module in with_rows}
        most = {module: limit for module, limit in limits.items() if limit is not None}
        for case in frame.cases if most and len(most) == len(limits) else ():
            loads = {
                index: members.load_ma_by_case[case]
                for index, members in enumerate(frame.classes)
                if members.takes_way and all(choice.option.panel == site.name for choice in members.choices)
            }
            others = dict.fromkeys(frame.sized.module_by_id, 0)
            yield Filling(site.name, loads, others | most)


def cover_of_fillings(cover: Cover, frame: Frame, filling: Filling) -> None:
    """Rule module-current, as a count of modules: needs that can be at one panel only are held there."""
    weight = sum(weight * len(frame.classes[index].needs) for index, weight in filling.weight_by_class.items())
    here = {module: number for (panel, module), number in cover.modules.items() if panel == filling.panel}
    cover.model.add(
        LinearExpr.sum([filling.most_by_module[module] * number for module, number in here.items()]) >= weight
    )
