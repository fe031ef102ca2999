"""
Panels whose optimum is known before the search: by counting, because they were built backwards, or by a second solver.

A few of each kind in every run, all of them under ``long``; their timings are in docs/benchmarks.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest

from allocator.sizing.sized import Sized
from allocator.solving import allocate
from allocator.verifying import verify
from tests.benchmarks import backwards, beyond
from tests.benchmarks.counting import counting_bounds
from tests.oracles.milp import best_levels

SMALL = [("one-type", 48), ("relays", 40), ("mixed", 40), ("tight-modules", 40)]
BACKWARDS = [(kind, size) for kind in backwards.KINDS for size in backwards.SIZES]
BEYOND = [(kind, seed) for kind, seeds in beyond.SEEDS.items() for seed in seeds]


def test_there_are_enough_of_them() -> None:
    assert len(BACKWARDS) >= 60 and {size for _, size in BACKWARDS} >= {40, 160}
    assert len(BEYOND) >= 30


@pytest.mark.parametrize(("kind", "size"), SMALL)
def test_backwards(kind: str, size: int) -> None:
    """The plan has the planted values, says that none can be better, and plain counting agrees."""
    reaches_what_was_planted(kind, size)


@pytest.mark.long
@pytest.mark.parametrize(("kind", "size"), BACKWARDS)
def test_all_backwards(kind: str, size: int) -> None:
    reaches_what_was_planted(kind, size)


def reaches_what_was_planted(kind: str, size: int) -> None:
    panel = backwards.planted(kind, size)
    assert len(panel.sized.requirements.circuits) == size
    assert counting_bounds(panel.sized) == panel.optimum
    assert proven(panel.sized) == panel.optimum


@pytest.mark.parametrize(("kind", "seed"), [(kind, seeds[0]) for kind, seeds in beyond.SEEDS.items()])
def test_beyond_counting(kind: str, seed: int) -> None:
    """Counting stops below the optimum; a second solver knows it, and the plan has it and proves it."""
    is_proven_beyond_counting(kind, seed)


@pytest.mark.long
@pytest.mark.parametrize(("kind", "seed"), BEYOND)
def test_all_beyond_counting(kind: str, seed: int) -> None:
    is_proven_beyond_counting(kind, seed)


def is_proven_beyond_counting(kind: str, seed: int) -> None:
    sized = beyond.beyond(kind, seed)
    best, counted = best_levels(sized), counting_bounds(sized)
    assert best is not None
    assert all(counted[goal] <= best[goal] for goal in counted)
    assert any(counted[goal] < best[goal] for goal in counted)
    assert proven(sized) == best


def proven(sized: Sized) -> Mapping[str, Fraction]:
    """Return the value of every goal; every one is proven, and the checker passes the plan."""
    plan = allocate(sized, workers=2)
    assert verify(sized, plan) == ()
    assert {result.outcome for result in plan.goals} == {"best possible"}
    return {result.goal: result.value for result in plan.goals}
