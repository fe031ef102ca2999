"""
The balance model: lowest peak feed utilisation by choosing feeds alone, whatever the rows.

A relaxation of the count model in which only the accepted feeds, the tree of feeds and bonds between feeds are left.
Its optimum is the first bound on the peak; the count model is then asked for just that peak.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import Frame


@dataclass(frozen=True)
class Balance:
    """The balance model with its variables."""

    model: cp_model.CpModel
    chosen: Mapping[tuple[int, str], IntVar]
    """Needs of a class on a feed, by (class index, feed)."""
    draw: Mapping[tuple[str, int], IntVar]
    """Load of every feed in every case that matters, mA."""


def build_balance(frame: Frame) -> Balance:
    """Build the balance model of a frame."""
    model = cp_model.CpModel()
    chosen: dict[tuple[int, str], IntVar] = {}
    for index, members in enumerate(frame.classes):
        feeds = list(dict.fromkeys(choice.feed for choice in members.choices))
        for feed in feeds:
            chosen[index, feed] = model.new_int_var(0, len(members.needs), f"feed {index} {feed}")
        model.add(LinearExpr.sum([chosen[index, feed] for feed in feeds]) == len(members.needs))
    draw = {
        (name, case): model.new_int_var(0, floor(feed.allowed_ma), f"draw {name} {case}")
        for name, feed in frame.sized.feeds.items()
        for case in frame.cases
    }
    for (name, case), total in draw.items():
        parts: list[LinearExprT] = []
        for index, members in enumerate(frame.classes):
            if (index, name) in chosen:
                parts.append(members.load_ma_by_case[case] * chosen[index, name])
                if members.supplies is not None:
                    parts.append(draw[members.supplies, case])
        model.add(total == LinearExpr.sum(parts))
    for members in frame.classes:  # rule piece-current at a relay socket that a feed enters directly
        limit_ma = frame.sized.socket_limit_ma.get(members.supplies or "")
        if limit_ma is not None:
            for case in frame.cases:
                model.add(draw[str(members.supplies), case] + members.load_ma_by_case[case] <= limit_ma)
    _bonds(frame, model, chosen)
    return Balance(model, chosen, draw)


def _bonds(frame: Frame, model: cp_model.CpModel, chosen: dict[tuple[int, str], IntVar]) -> None:
    """Rules apart-feed and together-feed."""
    rules, class_of = frame.sized.requirements.scenario.rules, frame.class_by_need
    for feed in frame.sized.feeds:
        for bond in rules.apart:
            if bond.level == "feed":
                model.add(
                    LinearExpr.sum([chosen[k] for c in bond.circuits if (k := (class_of[c], feed)) in chosen]) <= 1
                )
        for bond in rules.together:
            if bond.level == "feed":
                first, *others = [chosen.get((class_of[c], feed), 0) for c in bond.circuits]
                for other in others:
                    model.add(first == other)
