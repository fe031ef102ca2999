"""Which few offers to keep: against published optima of the open data, and against enumeration."""

from __future__ import annotations

import itertools
import json
import random
import time
from pathlib import Path
from typing import Any

import pytest

from allocator.model.choosing import Column, Cost
from allocator.solving.choosing import choose
from allocator.solving.engine import Clock

DATA: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "data" / "packing" / "assortment.json").read_text(encoding="utf-8")
)
P_MEDIAN = DATA["p_median"]
TEN_THOUSANDTHS = 10_000
"""The data has up to four decimals; costs are whole numbers."""


def clock() -> Clock:
    return Clock(time.monotonic() + 300)


def distances(nodes: int, edges: list[int]) -> list[list[int]]:
    """Return shortest paths between all nodes (Floyd and Warshall)."""
    far = 10**9
    length = [[0 if i == j else far for j in range(nodes)] for i in range(nodes)]
    for one, other, between in zip(edges[::3], edges[1::3], edges[2::3], strict=True):
        length[one - 1][other - 1] = length[other - 1][one - 1] = between  # of two edges the last one, as published
    for via in range(nodes):
        for i in range(nodes):
            to_via = length[i][via]
            if to_via < far:
                length[i] = [min(old, to_via + more) for old, more in zip(length[i], length[via], strict=True)]
    return length


def columns_of(costs: list[list[int]]) -> dict[str, list[Column]]:
    return {
        str(member): [Column(frozenset([str(place)]), (cost,)) for place, cost in enumerate(row)]
        for member, row in enumerate(costs)
    }


@pytest.mark.parametrize(
    "instance",
    [pytest.param(item, id=item["id"], marks=[] if item["id"] == "pmed4" else pytest.mark.long) for item in P_MEDIAN],
)
def test_p_median(instance: dict[str, Any]) -> None:
    costs = distances(instance["nodes"], instance["edges"])
    places = [str(place) for place in range(instance["nodes"])]
    found = choose(columns_of(costs), places, clock(), most=instance["open"])
    assert found is not None and found.is_best
    assert found.cost == (instance["optimum"],)
    assert len(found.kept) <= instance["open"]


@pytest.mark.parametrize("instance", DATA["warehouse_instances"], ids=lambda item: item["id"])
def test_warehouse_location(instance: dict[str, Any]) -> None:
    costs = [[round(cost * TEN_THOUSANDTHS) for cost in row] for row in DATA["warehouse_costs"]]
    fixed: dict[str, Cost] = {str(n): (round(c * TEN_THOUSANDTHS),) for n, c in enumerate(instance["fixed"])}
    found = choose(columns_of(costs), list(fixed), clock(), fixed=fixed)
    assert found is not None and found.is_best
    assert found.cost[0] / TEN_THOUSANDTHS == pytest.approx(instance["optimum"], abs=0.001)


@pytest.mark.parametrize("seed", range(12))
def test_sets_of_offers_against_enumeration(seed: int) -> None:
    """Two goals, columns that ask for several offers, a forced one, and members that few choices please."""
    draw = random.Random(seed)
    offers = ["a", "b", "c", "d", "e"]
    columns = {
        f"m{member}": [
            Column(
                frozenset(draw.sample(offers, draw.randint(1, 3))), (draw.randint(1, 4), draw.randint(10, 40))
            )
            for _ in range(draw.randint(1, 6))
        ]
        for member in range(4)
    }  # fmt: skip
    forced = ["a"] if seed % 3 == 0 else []
    for most in range(1, 6):
        best = None
        for size in range(1, most + 1):
            for kept in itertools.combinations(offers, size):
                if set(forced) <= set(kept):
                    costs = [[c.cost for c in list_of if c.requires <= set(kept)] for list_of in columns.values()]
                    if all(costs):
                        total = tuple(map(sum, zip(*(min(open_to) for open_to in costs), strict=True)))
                        best = total if best is None else min(best, total)
        found = choose(columns, offers, clock(), most=most, forced=forced)
        assert (None if found is None else found.cost) == best
        assert found is None or found.is_best


def test_a_member_whom_nothing_pleases() -> None:
    columns = {"m": [Column(frozenset(["gone"]), (1,))]}
    assert choose(columns, ["a"], clock()) is None
