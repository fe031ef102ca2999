"""The sheets for the bench of every sample, drawn once for all tests."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import pytest

from allocator.outputs.sheet import Sheet
from allocator.outputs.workshop.sheets import bench_documents
from tests.outputs.conftest import BUNDLED, SAMPLES, content_of

HARDEST = ("small-long", "small-any-script", "library-bus")
"""Long labels on little paper, all scripts, and a vehicle with every field filled in."""
PAPERS = [
    pytest.param(name, marks=() if name in HARDEST else pytest.mark.long) for name in [*sorted(SAMPLES), *BUNDLED]
]


@cache
def documents(name: str) -> Mapping[str, tuple[Sheet, ...]]:
    """Return every document for the bench of a sample."""
    return bench_documents(content_of(name))


@cache
def papers(name: str) -> tuple[Sheet, ...]:
    """Return every sheet for the bench of a sample."""
    return tuple(sheet for sheets in documents(name).values() for sheet in sheets)
