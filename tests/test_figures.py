"""Every figure is whole: unit, source, confidence; and tables that bound others do."""

from __future__ import annotations

from allocator.figures import PUBLISHED
from allocator.sizing.fuses import ambient_share


def test_every_figure_has_unit_source_and_mark():
    figures = PUBLISHED.by_name()
    assert len(figures) >= 40
    for name, figure in figures.items():
        assert figure.unit and len(figure.source) > 10, name
        assert figure.confidence in ("C", "C2", "X", "M", "P"), name


def test_smallest_share_of_each_published_row_bounds_its_curve():
    """The curves claim to be the smallest published share, rounded down: no published row may lie below its curve."""
    rows = [
        (letter, rating_a, steps)
        for letter, by_rating in PUBLISHED.fuse_published.value.items()
        for rating_a, steps in by_rating.items()
    ]
    assert len(rows) >= 7
    for letter, rating_a, steps in rows:
        for ambient_c, amps in steps.items():
            assert ambient_share(letter, ambient_c) * rating_a <= amps + 1e-9, (letter, rating_a, ambient_c)
