"""Numbers on the plot of trade-offs: every plan has one, and none is written over another."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.outputs.tradeoffs.plot import NEAR, labels

ENDS = (0.0, 100.0)
places = st.tuples(st.integers(10, 90).map(float), st.integers(10, 90).map(float))


@settings(deadline=None, derandomize=True, database=None)
@given(st.lists(places, min_size=1, max_size=12, unique=True))
def test_every_plan_has_its_number_once_and_none_touch(points: list[tuple[float, float]]) -> None:
    """Points that stay alone are apart from all others in one direction or the other."""
    written = labels({point: [number] for number, point in enumerate(points, 1)}, ENDS, ENDS)
    assert sorted(number for _, numbers in written for number in numbers) == list(range(1, len(points) + 1))
    for (x, y), numbers in written:
        for other in points:
            if points.index(other) + 1 not in numbers:
                assert abs(other[0] - x) >= NEAR[0] * 100 or abs(other[1] - y) >= NEAR[1] * 100


def test_points_that_touch_have_one_label_from_the_top() -> None:
    written = labels({(3.0, 28.0): [3, 4], (3.0, 30.0): [2], (3.0, 64.0): [1]}, (2.0, 4.0), (18.0, 72.0))
    assert written == [((3.0, 64.0), [1]), ((3.0, 30.0), [2, 3, 4])]
