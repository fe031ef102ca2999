"""
How many figures of other people these tests really hold the sums to, and whose.

A figure counts only if the test of it notices when it is altered: each one is made larger and smaller (or swapped for
another text) in turn, and the test must fail each time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests.published.sources import ASSERTED, Asserted

for module in sorted(Path(__file__).parent.glob("test_*.py")):
    if module.stem != Path(__file__).stem:
        import_module(f"tests.published.{module.stem}")

LARGER, SMALLER = 1.4, 0.6
FIGURES_WANTED, SOURCES_WANTED, EXAMPLES_WANTED = 120, 12, 25


def altered(value: Any, others: set[str]) -> Iterator[Any]:
    """Yield the figure made larger and smaller; a text as each other text; of several numbers each in turn."""
    if isinstance(value, tuple):
        for place, part in enumerate(value):
            for other in altered(part, others):
                yield (*value[:place], other, *value[place + 1 :])
    elif isinstance(value, str):
        yield from sorted(others - {value})
    elif value is None:
        yield 1.0
    else:
        yield from (value * LARGER, value * SMALLER)


def num_figures(value: Any) -> int:
    return sum(map(num_figures, value)) if isinstance(value, tuple) else 1


def others_of(item: Asserted, row: Any, column: str) -> set[str]:
    same_row = {text for name, text in row.items() if name in item.expects and isinstance(text, str)}
    return same_row | {other[column] for other in item.rows if isinstance(other[column], str)}


@pytest.mark.parametrize("item", ASSERTED, ids=lambda item: item.test.__name__)
def test_every_figure_counts(item: Asserted) -> None:
    """The test of it fails when it is altered, whichever way."""
    for row, column in item.figures():
        alterations = list(altered(row[column], others_of(item, row, column)))
        assert alterations, f"{column} of {row} has nothing to be mixed up with"
        for other in alterations:
            try:
                item.test(**{**row, column: other})
            except (AssertionError, pytest.fail.Exception):
                continue
            raise AssertionError(f"{item.test.__name__} does not notice {column} = {other!r} in {row}")


def test_enough_figures_of_enough_sources() -> None:
    figures = Counter[str]()
    for item in ASSERTED:
        figures[item.source] += sum(num_figures(row[column]) for row, column in item.figures())
    assert figures.total() >= FIGURES_WANTED
    assert len(figures) >= SOURCES_WANTED
    assert all(len(source) > 10 for source in figures)


def test_no_figure_is_counted_twice() -> None:
    """The same columns of the same source in two tests would be one figure told twice."""
    seen = Counter(
        (item.source, item.example, str(sorted(row.items(), key=str)), column)
        for item in ASSERTED
        for row, column in item.figures()
    )
    assert [key for key, count in seen.items() if count > 1] == []


def test_every_worked_example_is_there() -> None:
    assert {item.example for item in ASSERTED} - {None} == set(range(1, EXAMPLES_WANTED + 1))
