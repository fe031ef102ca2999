"""Every figure is whole: unit, source, confidence; and tables that bound others do."""

from __future__ import annotations

from allocator import figures
from allocator.sizing.fuses import ambient_share


def test_every_figure_has_unit_source_and_mark():
    assert len(figures.ALL) >= 25
    for name, figure in figures.ALL.items():
        assert figure.unit and len(figure.source) > 10, name
        assert figure.confidence in ("C", "C2", "X", "M", "P"), name


def test_smallest_share_of_each_published_row_bounds_its_curve():
    """The curves claim to be the smallest published share, rounded down: no published row may lie below its curve."""
    for (letter, rating_a), steps in figures.FUSE_PUBLISHED.value.items():
        for ambient_c, amps in steps:
            assert ambient_share(letter, ambient_c) * rating_a <= amps + 1e-9, (letter, rating_a, ambient_c)
