"""
Value of every goal for a plan, and the load of every feed in every load case.

Comes in as a Plan with its Sized; goes out to ``solving/`` (which states them in the plan) and to summary and charts.
Everything is exact. The meanings are "Loads" and "Goals" in ``docs/definitions.md``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from allocator.plan.index import PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.plan.plan import Plan
from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized


@dataclass(frozen=True, slots=True)
class FeedLoad:
    """Load of one feed: whole milliamperes for each load case, in the scenario's order, against what it may carry."""

    feed: str
    load_ma_by_case: tuple[int, ...]
    rating_ma: int
    allowed_ma: Fraction

    @property
    def utilisation_by_case(self) -> tuple[Fraction, ...]:
        """Load as a share of what is allowed, exact, for each load case."""
        return tuple(load_ma / self.allowed_ma for load_ma in self.load_ma_by_case)


def feed_loads(index: PlanIndex) -> tuple[FeedLoad, ...]:
    """Return the load of every feed, with all feeds that branch from it; feeds in the scenario's order."""
    num_cases = len(index.sized.requirements.scenario.load_cases)
    known: dict[str, tuple[int, ...]] = {}

    def load_of(feed: str) -> tuple[int, ...]:
        if feed not in known:
            drawn = [item.need.load_ma_by_case for item in index.needs if item.feed == feed]
            drawn += [load_of(item.need.supplies) for item in index.needs if item.feed == feed and item.need.supplies]
            known[feed] = tuple(sum(column) for column in zip(*drawn, strict=True)) if drawn else (0,) * num_cases
        return known[feed]

    return tuple(
        FeedLoad(feed.name, load_of(feed.name), feed.rating_ma, feed.allowed_ma) for feed in index.sized.feeds.values()
    )


def measure(sized: Sized, plan: Plan) -> dict[Goal, Fraction]:
    """
    Work out the value of every goal, whether the scenario asks for it or not.

    Parameters
    ----------
    sized
        Sizing of ``plan.requirements``.
    plan
        Plan to measure.

    Returns
    -------
    dict[Goal, Fraction]
        Exact values: counts, a share for ``peak-utilisation``, cents for ``price``, mm2 for ``footprint``, mm for
        ``wire-length``.

    Raises
    ------
    InputError
        If the plan names things that do not exist.
    """
    return measure_index(PlanIndex(sized, plan))


def measure_index(index: PlanIndex) -> dict[Goal, Fraction]:
    """Work out the value of every goal of a plan that is indexed already."""
    bill = bill_of_index(index)
    shares = [share for load in feed_loads(index) for share in load.utilisation_by_case]
    footprint = (_exact(item.carrier.width) * _exact(item.carrier.height) for item in index.carriers)
    values: Mapping[Goal, Fraction | int] = {
        "bays": sum(item.carrier.bays for item in index.carriers),
        "module-types": len({item.module.id for item in index.modules}),
        "strip-pieces": len(index.entries),
        "peak-utilisation": max(shares, default=Fraction(0)),
        "long-jumpers": sum(item.jumper == "long" for item in index.needs),
        "price": bill.price_cents(index.sized.price_by_part),
        "carriers": len(index.carriers),
        "footprint": sum(footprint, Fraction(0)),
        "panels": len({item.panel for item in index.carriers}),
        "wire-length": sum(bill.wire_mm.values()),
    }
    return {goal: Fraction(value) for goal, value in values.items()}


def _exact(millimetres: float) -> Fraction:
    # the shortest text of the number is what the user wrote; the float itself may be a hair off
    return Fraction(repr(millimetres))
