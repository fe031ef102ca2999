"""Groups of feeds and rows: as few pieces as trying every division finds, and as published."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from operator import mul
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.model.frame import Frame
from allocator.model.goals import GOAL_TERMS
from allocator.model.tallies import build_tallies
from allocator.solving import grouping
from allocator.solving.engine import Clock, solve
from allocator.solving.grouping import MOST_GROUPS, Group, grouped, regrouped
from tests.benchmarks.translated import strip_pieces

DATA = Path(__file__).parents[1] / "benchmarks" / "data" / "strip_pieces.json"
INSTANCES = {instance["id"]: instance for instance in json.loads(DATA.read_text(encoding="utf-8"))}


def pieces(feeds: Sequence[int], rows: Mapping[int, int]) -> int | None:
    """Return the pieces of the groups that are found, having counted what is in them."""
    groups = grouped(feeds, rows, Clock(time.monotonic() + 60))
    if groups is None:
        return None
    assert sorted(ways for group in groups for ways in group.feeds) == sorted(feeds)
    for place, width in enumerate(rows):
        assert sum(group.rows[place] for group in groups) <= rows[width]
    for group in groups:
        assert sum(group.feeds) <= sum(width * n for width, n in zip(rows, group.rows, strict=True))
    return sum(len(group.feeds) + sum(group.rows) - 1 for group in groups)


def by_hand(feeds: Sequence[int], rows: Sequence[int]) -> int | None:
    """Spread the ways of one feed after the other over the rows in every way, and count its rows."""

    def spreads(ways: int, left: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        for parts in product(*(range(min(ways, room) + 1) for room in left)):
            if sum(parts) == ways:
                yield parts

    reached = {tuple(rows): 0}
    for ways in feeds:
        further: dict[tuple[int, ...], int] = {}
        for left, so_far in reached.items():
            for parts in spreads(ways, left):
                rest = tuple(sorted(room - part for room, part in zip(left, parts, strict=True)))
                total = so_far + sum(part > 0 for part in parts)
                further[rest] = min(total, further.get(rest, total))
        reached = further
    return min(reached.values(), default=None)


@settings(deadline=None, derandomize=True, database=None, max_examples=60)
@given(st.lists(st.integers(1, 6), min_size=1, max_size=5), st.integers(0, 3), st.integers(0, 2))
def test_as_few_as_trying_everything(feeds: list[int], narrow: int, wide: int) -> None:
    found = pieces(feeds, {3: narrow, 5: wide})
    assert found == by_hand(feeds, [3] * narrow + [5] * wide)


@pytest.mark.parametrize("name", ["pcL_f30_w8_v4", "pcL_f25_w10_v0", "pc_f9_w8_s3_v"])
def test_known_optimum(name: str) -> None:
    """Source: tests/benchmarks/data/README.md."""
    instance = INSTANCES[name]
    assert pieces(instance["ways_per_feed"], {instance["row_width"]: instance["rows"]}) == instance["optimum"]


@pytest.mark.parametrize(("name", "more"), [("pc_f9_w8_s3_v", 3), ("pcL_f20_w6_v7", 2)])
def test_a_poor_tally_is_grouped_anew(name: str, more: int) -> None:
    """With more pieces than need be asked for, and then not: what is grouped fits into the whole model."""
    clock, best = Clock(time.monotonic() + 60), INSTANCES[name]["optimum"]
    x = build_tallies(Frame(strip_pieces(INSTANCES[name]).sized))
    pieces = GOAL_TERMS["strip-pieces"](x, None).expression
    poorer = x.model.clone()
    poorer.add(pieces >= best + more)
    poor = solve(poorer, clock, effort=8.0)
    x.model.minimize(pieces)
    for variable, value in regrouped(x, poor, clock):
        x.model.add(variable == value)
    assert solve(x.model, clock, effort=8.0).objective == best


def test_no_more_groups_are_listed_than_are_used(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 40 feeds over rows of eight widths there are two million; those that leave nothing idle come first."""
    made: list[Group] = []

    def noted(feeds: tuple[int, ...], rows: tuple[int, ...]) -> Group:
        made.append(group := Group(feeds, rows))
        return group

    monkeypatch.setattr(grouping, "Group", noted)
    rows = {2: 20, 3: 20, 4: 20, 5: 20, 6: 20, 8: 20, 10: 20, 12: 20}
    feeds = range(1, 41)
    assert grouped(list(feeds), rows, Clock(time.monotonic() + 60)) is not None
    assert MOST_GROUPS <= len(made) <= MOST_GROUPS + 1  # and one of the rest
    assert all(sum(group.feeds) == sum(map(mul, rows, group.rows)) for group in made[:MOST_GROUPS])
