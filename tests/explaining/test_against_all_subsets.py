"""
Clashes and ways out of tiny panels, against every subset of what is asked for.

Whether a subset can be met is told by ``tests/oracles/brute_force.py``, which tries every seating and knows no model.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

import pytest

from allocator.explaining.clashes import clash_of
from allocator.explaining.inquiry import Inquiry, Names
from allocator.requirements.scenario import Requirements
from allocator.solving.engine import Clock
from tests.builders import A, F, M, P, build_sized
from tests.explaining.test_clashes import LONG_S
from tests.oracles.brute_force import best_values

MOST_DEMANDS = 8
ALWAYS = ("limits of", "feeds of", "fuse format of", "relay class of", "room of")
"""Demands that hold in every subset: without the last there would be too many modules to try."""


def panel(seed: int) -> Requirements:
    """A panel with few parts and some wishes, chosen at random; most of them cannot be met."""
    draw = random.Random(seed)
    names = ["a", "b"]
    feeds = {"main": F(draw.choice((4, 6, 9)))} | ({"aux": F(4)} if draw.random() < 0.4 else {})
    circuits = {
        name: A(
            draw.choice((2, 3)),
            relays=("micro",) if draw.random() < 0.25 else (),
            pin=draw.choice((None, None, "cab/1/A/1", "cab/2")),
        )
        for name in names
    }
    wishes: dict[str, Any] = {}
    if draw.random() < 0.5:
        wishes["apart"] = [(tuple(draw.sample(names, 2)), draw.choice(("feed", "row", "module")))]
    if draw.random() < 0.3:
        wishes["together"] = [(tuple(draw.sample(names, 2)), "row")]
    if draw.random() < 0.3:
        wishes["spares"] = [{"fuse_format": "F", "count": draw.choice((1, 2))}]
    return build_sized(
        circuits=circuits,
        modules={"way": M((f"{draw.choice((1, 2))}F strip",), {"micro": 1}), "row": M(("2F strip",))},
        most={"row": draw.choice((0, 1))},
        feeds=feeds,
        panels={"cab": P(draw.choice((1, 1, 2)))},
        **wishes,
    ).requirements


def subsets(names: Names) -> Iterator[Names]:
    for size in range(len(names) + 1):
        yield from map(frozenset, combinations(sorted(names), size))


def check(seed: int) -> bool:
    """Compare one panel; say whether it was one that cannot be met, and small enough to try everything."""
    inquiry = Inquiry(panel(seed), Clock(time.monotonic() + LONG_S))
    inquiry.__dict__["demands"] = {n: demand for n, demand in inquiry.demands.items() if not n.startswith(ALWAYS)}
    if len(inquiry.demands) > MOST_DEMANDS:
        return False
    can_be = verdicts(inquiry)
    clash = clash_of(inquiry)
    if can_be[inquiry.everything]:
        assert clash is None
        return False
    assert clash is not None
    members = frozenset(member.demand.name for member in clash.members)
    assert not can_be[members]
    assert all(can_be[members - {name}] for name in members)
    assert (clash.is_smallest, clash.is_irreducible, clash.proved_again) == (True, True, True)
    assert len(members) == min(len(kept) for kept, holds in can_be.items() if not holds)
    gaps = [inquiry.everything - kept for kept, holds in can_be.items() if holds]
    weights = [sum(inquiry.demands[name].weight for name in gap) for gap in gaps]
    for remedy in clash.remedies:
        assert frozenset(demand.name for demand, _ in remedy.eased) in gaps
    if clash.remedies:
        assert clash.remedies[0].weight == min(weights)
    return True


def verdicts(inquiry: Inquiry) -> Mapping[Names, bool]:
    """Whether each subset can be met, by trying everything."""
    known: dict[Names, bool] = {}
    found: dict[Names, bool] = {}
    for kept in subsets(inquiry.everything):
        holding = inquiry.holding(kept)
        if holding not in known:
            case = inquiry.case(holding)
            assert case is not None
            known[holding] = not case.sized.needs or best_values(case.sized) is not None
        found[kept] = known[holding]
    return found


@pytest.mark.parametrize("seed", range(5))
def test_the_clash_is_one_of_the_smallest_of_all_subsets(seed: int) -> None:
    assert check(seed) is (seed != 2), "the second seed can be built"


@pytest.mark.long
@pytest.mark.parametrize("seed", range(5, 60))
def test_of_many_more(seed: int) -> None:
    check(seed)
