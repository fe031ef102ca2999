"""
Random vehicles with everything at once: each plan passes the checker.

What a plan calls best possible, a second model in another solver finds best possible too; and where there is said to be
no plan, it finds none.
"""

from __future__ import annotations

from collections import Counter

import pytest

from allocator.errors import CannotBeMet
from allocator.opinion import opinion_of_refusal, second_opinion
from allocator.solving import allocate
from allocator.verifying import verify
from tests.hostile.random_vehicles import random_vehicle

SAMPLE, PARTS, PER_PART = 6, 100, 125
"""About five in six have a plan: of 12,500 more than the 10,000 that are wanted."""


def check(seed: int) -> Counter[str]:
    """Plan one vehicle and ask for a second opinion; count what came of it."""
    sized = random_vehicle(seed)
    try:
        plan = allocate(sized)
    except CannotBeMet:
        verdict = opinion_of_refusal(sized, limit_s=20.0)
        assert verdict != "disagrees", seed
        return Counter({"no plan": 1, f"no plan: {verdict}": 1})
    assert verify(sized, plan) == ()
    proven = [result.goal for result in plan.goals if result.outcome != "best so far"]
    opinions = second_opinion(sized, plan, limit_s=20.0)
    for opinion in opinions:
        assert opinion.goal not in proven or opinion.verdict != "disagrees", (seed, opinion)
        assert opinion.verdict != "cannot say" or opinion.left_out
    told = Counter(opinion.verdict for opinion in opinions if opinion.goal in proven)
    return Counter({"plan": 1, "goal proven": len(proven), "goal open": len(plan.goals) - len(proven)}) + told


def test_random_vehicles() -> None:
    reached = sum((check(seed) for seed in range(SAMPLE)), Counter[str]())
    assert reached["plan"] >= SAMPLE / 2 and reached["agrees"] >= reached["goal proven"] / 2, reached


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_ten_thousand_random_vehicles(part: int) -> None:
    reached = sum((check(1000 + part * PER_PART + number) for number in range(PER_PART)), Counter[str]())
    assert reached["plan"] >= PER_PART * 0.7 and reached["agrees"] >= reached["goal proven"] / 2, reached
