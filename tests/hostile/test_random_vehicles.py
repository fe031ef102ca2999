"""
Random vehicles with feeds in a tree, relays, load cases, spare ways and separations: each plan passes the checker.

What a plan calls best possible, a second model in another solver finds best possible too.
"""

from __future__ import annotations

import pytest

from allocator.errors import CannotBeMet
from allocator.opinion import second_opinion
from allocator.solving import allocate
from allocator.verifying import verify
from tests.benchmarks.vehicles import vehicle

SAMPLE, PARTS, PER_PART = 4, 100, 100
SIZES = (5, 6, 7, 8, 9, 10, 12)


def check(seed: int) -> bool:
    """Plan one vehicle and ask for a second opinion; say whether there is a plan."""
    sized = vehicle(SIZES[seed % len(SIZES)], seed, tight=seed % 3 > 0)
    try:
        plan = allocate(sized)
    except CannotBeMet:
        return False
    assert verify(sized, plan) == ()
    proven = [result.goal for result in plan.goals if result.outcome != "best so far"]
    for opinion in second_opinion(sized, plan, limit_s=20.0):
        assert opinion.goal not in proven or opinion.verdict != "disagrees", opinion
        assert opinion.verdict != "cannot say" or opinion.left_out
    return True


def test_random_vehicles() -> None:
    assert sum(check(seed) for seed in range(SAMPLE)) >= SAMPLE / 2


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_ten_thousand_random_vehicles(part: int) -> None:
    assert sum(check(1000 + part * PER_PART + number) for number in range(PER_PART)) >= PER_PART / 2
