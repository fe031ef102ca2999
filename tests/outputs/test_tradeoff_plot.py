"""The plot of trade-offs: every plan has a number, none is written over another, and better is lower left."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure

from allocator.outputs.tradeoffs.plot import NEAR, labels, plot_pair
from allocator.tradeoffs import find_tradeoffs
from tests.builders import build_sized
from tests.solving.test_goals import ROOMY

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


def test_the_axis_of_spare_ways_runs_backwards() -> None:
    """More is better, and lower left is better: the fullest panel stands on top, and ticks say how many are spare."""
    front = find_tradeoffs(build_sized(**ROOMY), ("bays", "spare-ways"))
    axes = Figure().subplots()
    plot_pair(axes, front, "bays", "spare-ways")
    bottom, top = axes.get_ylim()
    tick = axes.yaxis.get_major_formatter()
    assert (tick(-16, None), tick(-4, None)) == ("16", "4")
    places = [tuple(float(at) for at in line.get_xydata()[0]) for line in axes.lines if len(line.get_xdata()) == 1]
    assert sorted(places) == [(1, -4), (2, -10), (3, -16)] and bottom < -16 and top > -4
    assert "more is better" in axes.get_ylabel()
