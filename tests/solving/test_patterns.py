"""Holders of several kinds: as cheap as trying every set finds, with a bound that is not above it."""

from __future__ import annotations

import json
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.solving.engine import Clock
from allocator.solving.patterns import Kind, Pattern, Patterns, Thing

DATA = Path(__file__).parents[1] / "benchmarks" / "data" / "variable_sized.json"
INSTANCES = {instance["id"]: instance for instance in json.loads(DATA.read_text(encoding="utf-8"))}


def cheapest(patterns: Patterns, stages: Sequence[int] = (100, 400)) -> tuple[int, int]:
    """Return cost and bound, having counted what lies where."""
    held, bound = patterns.cheapest(None, 0, stages)
    assert held is not None
    for number, thing in enumerate(patterns.things):
        assert sum(pattern.held[number] for pattern in held) == thing.number
    for pattern in held:
        kind = patterns.kinds[pattern.kind]
        inside = [(thing, count) for thing, count in zip(patterns.things, pattern.held, strict=True) if count]
        assert sum(thing.size * count for thing, count in inside) <= kind.capacity
        assert sum(thing.places * count for thing, count in inside) <= kind.places
        assert kind.takes is None or {n for n, count in enumerate(pattern.held) if count} <= kind.takes
    return patterns.cost(held), bound


@pytest.mark.parametrize("name", ["vs_q3_x1_n50_v0", "vs_q5_x3_n50_v0", "vs_q5_x3_n25_v0"])
def test_known_optimum_of_several_sizes(name: str) -> None:
    """Source: tests/benchmarks/data/README.md."""
    instance = INSTANCES[name]
    things = [Thing(size, number) for size, number in Counter(instance["items"]).items()]
    kinds = [Kind(capacity, cost) for capacity, cost in instance["bins"]]
    cost, bound = cheapest(Patterns(things, kinds, Clock(time.monotonic() + 60)))
    assert bound <= cost == instance["optimum"]


def by_hand(
    things: Sequence[tuple[int, int, int]], kinds: Sequence[Kind], open_: tuple[tuple[int, int, int], ...]
) -> int:
    """Put the first thing (size, places, sort) into each open holder (kind, room, places left) and each new one."""
    if not things:
        return sum(kinds[kind].cost for kind, _, _ in open_)
    (size, places, sort), rest = things[0], things[1:]
    new = tuple((number, kind.capacity, kind.places) for number, kind in enumerate(kinds))
    best = 10**9
    for at, (kind, room, left) in enumerate((*open_, *new)):
        takes = kinds[kind].takes
        if size <= room and places <= left and (takes is None or sort in takes):
            others = open_[:at] + open_[at + 1 :]
            best = min(best, by_hand(rest, kinds, (*others, (kind, room - size, left - places))))
    return best


KINDS = st.tuples(st.integers(5, 14), st.integers(1, 20), st.integers(1, 4), st.sets(st.integers(0, 4)))
THINGS = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 1)), min_size=1, max_size=5)


@settings(deadline=None, derandomize=True, database=None, max_examples=80)
@given(THINGS, st.lists(KINDS, min_size=1, max_size=2))
def test_as_cheap_as_trying_everything(
    things: list[tuple[int, int]], kinds: list[tuple[int, int, int, set[int]]]
) -> None:
    """The first kind takes all sorts, so that there is always a way."""
    offered = [
        Kind(capacity, cost, places, None if number == 0 else frozenset(takes))
        for number, (capacity, cost, places, takes) in enumerate(kinds)
    ]
    sorts = [Thing(size, 1, places) for size, places in things]
    cost, bound = cheapest(Patterns(sorts, offered, Clock(time.monotonic() + 60)))
    assert bound <= cost
    assert cost == by_hand([(size, places, n) for n, (size, places) in enumerate(things)], offered, ())


def test_what_must_be_apart_is_never_together() -> None:
    """Two sorts that fit into one holder but must be apart take two, and the third lies with either."""

    def surplus(pattern: Pattern) -> int | None:
        return 1 if pattern.held[0] and pattern.held[1] else None

    things, kinds = [Thing(2, 1), Thing(3, 1), Thing(1, 1)], [Kind(6)]
    assert cheapest(Patterns(things, kinds, Clock(time.monotonic() + 60)))[0] == 1
    assert cheapest(Patterns(things, kinds, Clock(time.monotonic() + 60), surplus))[0] == 2


def test_a_thing_that_fits_nowhere_has_no_holders() -> None:
    assert Patterns([Thing(6, 1)], [Kind(5)], Clock(time.monotonic() + 60)).cheapest(None, 0)[0] is None
