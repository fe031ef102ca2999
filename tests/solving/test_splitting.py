"""The split of a row's ways into strip pieces is exact: it finds a division wherever trying all of them does."""

from __future__ import annotations

import time
from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.solving.engine import Clock
from allocator.solving.splitting import Undecided, split

Loads = Sequence[Sequence[int]]
repeatable = settings(deadline=None, derandomize=True, database=None)


@st.composite
def rows(draw: st.DrawFn) -> tuple[Loads, int, int]:
    """Loads of up to six ways in one or two cases, the limit of a piece, and a number of pieces."""
    num_cases = draw(st.integers(1, 2))
    way = st.lists(st.integers(0, 9), min_size=num_cases, max_size=num_cases)
    return draw(st.lists(way, min_size=1, max_size=6)), draw(st.integers(4, 14)), draw(st.integers(1, 4))


def holds(pieces: Sequence[Sequence[int]], loads: Loads, limit: int) -> bool:
    """Whether no piece is empty, and each carries its ways in every case."""
    return all(
        piece and all(sum(loads[way][case] for way in piece) <= limit for case in range(len(loads[0])))
        for piece in pieces
    )


def can_be_split(loads: Loads, limit: int, num_pieces: int) -> bool:
    """Try every assignment of ways to pieces."""
    for owner in product(range(num_pieces), repeat=len(loads)):
        pieces = [[way for way, piece in enumerate(owner) if piece == number] for number in range(num_pieces)]
        if holds(pieces, loads, limit):
            return True
    return False


@settings(repeatable, max_examples=200)
@given(rows())
def test_a_division_is_found_wherever_there_is_one(row: tuple[Loads, int, int]) -> None:
    loads, limit, num_pieces = row
    pieces = split(loads, limit, num_pieces)
    assert (pieces is not None) == can_be_split(loads, limit, num_pieces)
    if pieces is not None:
        assert len(pieces) == num_pieces
        assert sorted(way for piece in pieces for way in piece) == list(range(len(loads)))
        assert holds(pieces, loads, limit)


def test_cases_that_never_run_together_share_a_piece() -> None:
    assert split([[6, 0], [0, 6], [4, 4]], 10, 1) == [[0, 1, 2]]


def test_the_largest_first_is_not_enough() -> None:
    """First fit in falling order puts 6 and 4 together and then fails: 6 3 3 and 4 4 4 is the only division."""
    pieces = split([[6], [4], [4], [4], [3], [3]], 12, 2)
    assert pieces is not None
    assert sorted(map(tuple, pieces)) == [(0, 4, 5), (1, 2, 3)]


def test_a_piece_more_than_ways_is_refused() -> None:
    assert split([[1]], 10, 2) is None
    assert split([[1], [1]], 10, 2) == [[0], [1]]


def test_many_ways_are_packed_as_a_whole() -> None:
    """24 ways of 7, 5 and 3 A fill eight pieces of 15 A to the last ampere; seven are too few, nine leave room."""
    loads = [[load] for load in (7, 5, 3) for _ in range(8)]
    pieces = split(loads, 15, 8)
    assert pieces is not None and holds(pieces, loads, 15)
    assert sorted(way for piece in pieces for way in piece) == list(range(24))
    assert split(loads, 15, 7) is None
    more = split(loads, 15, 9)
    assert more is not None and len(more) == 9 and holds(more, loads, 15)


def test_many_ways_without_time_are_left_open() -> None:
    """Thirds of a limit that go together in one way only: neither yes nor no, rather than a guess."""
    sizes = [34, 33, 33, 35, 34, 31, 36, 35, 29, 37, 36, 27, 38, 37, 25, 39, 38, 23, 30, 41, 29, 44, 31, 25]
    loads = [[size] for size in sizes]
    with pytest.raises(Undecided):
        split(loads, 100, 8, Clock(time.monotonic()))
    pieces = split(loads, 100, 8)
    assert pieces is not None and holds(pieces, loads, 100)
