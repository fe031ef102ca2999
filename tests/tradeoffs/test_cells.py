"""Cells cover just what no known point beats."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.tradeoffs.cells import Caps, holds, lies_in, split, unbeaten

SIDE = 5
points = st.lists(st.tuples(*[st.integers(0, SIDE - 1)] * 3), max_size=8)


@settings(derandomize=True, database=None, deadline=None)
@given(points)
def test_every_point_is_beaten_or_in_a_cell(known: list[tuple[int, int, int]]) -> None:
    """Never both: a cell holds no point that a known one beats or equals."""
    cells: list[Caps] = [(SIDE - 1, None, SIDE - 1)]
    for point in known:
        cells = split(cells, point)
    for point in product(range(SIDE), repeat=3):
        beaten = any(holds(point, other) for other in known)
        assert beaten != any(holds(caps, point) for caps in cells)


@settings(derandomize=True, database=None, deadline=None)
@given(points)
def test_no_cell_lies_in_another(known: list[tuple[int, int, int]]) -> None:
    cells: list[Caps] = [(None, None, None)]
    for point in known:
        cells = split(cells, point)
    assert [(a, b) for a in cells for b in cells if a is not b and lies_in(a, b)] == []


def test_unbeaten_points_are_sorted_and_single() -> None:
    assert unbeaten([(2, 1), (1, 2), (2, 1), (2, 2), (1, 3)]) == [(1, 2), (2, 1)]
