"""
Published figures, counted: each test of one says where the figure is printed, beside the figure itself.

Rows of numbers and a source come in; a parametrized test goes out, and ``test_count.py`` counts the rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

ROWS_BY_SOURCE: dict[str, int] = {}
"""Number of asserted rows by the source that prints them, filled as the test modules are read."""


def published(source: str, names: str, rows: Sequence[Any]) -> pytest.MarkDecorator:
    """Return a parametrized test over rows of one source, and count them."""
    ROWS_BY_SOURCE[source] = ROWS_BY_SOURCE.get(source, 0) + len(rows)
    return pytest.mark.parametrize(names, rows)
