"""The split of a row's ways into strip pieces is exact: it finds a division wherever trying all of them does."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.solving.splitting import split

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
