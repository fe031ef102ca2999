"""How many figures of other people these tests hold the sums to, and whose."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from tests.published.sources import ROWS_BY_SOURCE


def test_enough_figures_of_enough_sources() -> None:
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        import_module(f"tests.published.{path.stem}")
    assert sum(ROWS_BY_SOURCE.values()) >= 120
    assert len(ROWS_BY_SOURCE) >= 12
    assert all(len(source) > 10 for source in ROWS_BY_SOURCE)
