"""The least number of members of any clash, told from plans: against trying every choice of demands."""

from __future__ import annotations

import random
import time
from collections.abc import Collection
from itertools import combinations

import pytest

from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.known import Known
from allocator.explaining.smallest import fewest_of_any
from allocator.solving.engine import Clock
from tests.explaining.test_against_all_subsets import ALWAYS, panel, verdicts
from tests.explaining.test_clashes import LONG_S


def least_that_hits(gaps: Collection[Names], names: Names) -> int:
    """Members of the least choice that takes one from each gap, and the circuit with what is said of it: by trying."""
    return next(
        size
        for size in range(len(names) + 1)
        for chosen in combinations(sorted(names), size)
        if all(gap & frozenset(chosen) for gap in gaps)
    )


@pytest.mark.parametrize("seed", [0, 3])
def test_what_is_proven_when_time_is_up_is_never_too_much(seed: int) -> None:
    """From one plan on, more plans prove more, and all of them just what the smallest clash of all has."""
    inquiry = Inquiry(panel(seed), Clock(time.monotonic() + LONG_S))
    inquiry.__dict__["demands"] = {n: demand for n, demand in inquiry.demands.items() if not n.startswith(ALWAYS)}
    can_be = verdicts(inquiry)
    smallest = min(len(kept) for kept, holds in can_be.items() if not holds)
    gaps = [inquiry.everything - kept for kept, holds in can_be.items() if holds and kept == inquiry.holding(kept)]
    random.Random(seed).shuffle(gaps)
    known = Known(inquiry)
    known.sets.append(known.everything)
    inquiry.clock.stop.set()
    proven = []
    for number in (0, 1, 2, 4, len(gaps)):
        known.gaps = gaps[:number]
        proven.append(fewest_of_any(known))
        assert least_that_hits(known.gaps, inquiry.everything) <= max(1, proven[-1]) <= smallest
    assert proven == sorted(proven)
    assert (proven[0], proven[-1]) == (1, smallest)
    assert smallest > 1
