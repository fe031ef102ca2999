"""Strips are cut from few lengths, and the bound tells the truth."""

from __future__ import annotations

from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from allocator.outputs.cutting import cut


def test_pieces_share_lengths() -> None:
    cutting = cut([9, 9, 8, 5, 1], 30)
    assert cutting.lengths == ((9, 9, 8, 1), (5,)) or sum(map(len, cutting.lengths)) == 5
    assert len(cutting.lengths) == cutting.fewest == 2 and cutting.is_best


def test_pieces_that_cannot_share_raise_the_bound() -> None:
    """Three pieces of 7 from lengths of 12: 21 ways would fill two lengths, but no two pieces share one."""
    cutting = cut([7, 7, 7], 12)
    assert (len(cutting.lengths), cutting.fewest) == (3, 3)


def test_where_it_might_be_better_it_says_so() -> None:
    """4 + 4 + 2 and 3 + 3 + 2 + 2 fill two lengths of 10; the longest-first cutting takes three."""
    cutting = cut([4, 4, 3, 3, 2, 2, 2], 10)
    assert cutting.fewest == 2 and cutting.is_best == (len(cutting.lengths) == 2)


@cache
def _fewest(pieces: tuple[int, ...], stock: int, free: tuple[int, ...] = ()) -> int:
    if not pieces:
        return 0
    best = 1 + _fewest(pieces[1:], stock, tuple(sorted((*free, stock - pieces[0]))))
    for place, room in enumerate(free):
        if room >= pieces[0]:
            rest = tuple(sorted((*free[:place], room - pieces[0], *free[place + 1 :])))
            best = min(best, _fewest(pieces[1:], stock, rest))
    return best


@given(st.lists(st.integers(1, 12), max_size=7), st.integers(12, 24))
def test_bound_and_cutting_enclose_the_fewest(pieces: list[int], stock: int) -> None:
    cutting = cut(pieces, stock)
    assert sorted(piece for length in cutting.lengths for piece in length) == sorted(pieces)
    assert all(sum(length) <= stock for length in cutting.lengths)
    assert cutting.fewest <= _fewest(tuple(sorted(pieces, reverse=True)), stock) <= len(cutting.lengths)
