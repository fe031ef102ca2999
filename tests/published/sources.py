"""
Published figures, registered where they are asserted: who prints them, and which columns of a test are his.

Rows of numbers and a source come in; a parametrized test goes out, and ``test_count.py`` alters each figure in turn and
counts those whose test then fails.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pytest

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Asserted:
    """One test of published figures; ``expects`` are the columns that the source prints, the others are its input."""

    source: str
    test: Callable[..., None]
    rows: tuple[Row, ...]
    expects: tuple[str, ...]
    example: int | None

    def figures(self) -> Iterator[tuple[Row, str]]:
        """Yield every row with each of its published columns."""
        for row in self.rows:
            for column in self.expects:
                yield row, column


ASSERTED: list[Asserted] = []
"""Every test of published figures, filled as the test modules are read."""


def published(
    source: str, names: str, rows: Sequence[Any], *, expects: str, example: int | None = None
) -> Callable[[Callable[..., None]], Any]:
    """
    Make a parametrized test over rows of one source, and register it.

    Parameters
    ----------
    source
        Who prints the figures.
    names
        Columns of the rows.
    rows
        One tuple for each test; of a single column the values alone.
    expects
        Columns that the source prints, and that the test asserts.
    example
        Number of the worked example that this is, in ``test_worked_examples.py``.
    """
    columns = names.split(", ")
    as_rows = [dict(zip(columns, row if len(columns) > 1 else (row,), strict=True)) for row in rows]

    def registered(test: Callable[..., None]) -> Any:
        ASSERTED.append(Asserted(source, test, tuple(as_rows), tuple(expects.split(", ")), example))
        return pytest.mark.parametrize(names, rows)(test)

    return registered
