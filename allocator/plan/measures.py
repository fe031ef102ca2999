"""
Value of every goal for a plan, and the load of every feed in every load case.

Comes in as a Plan with its Sized; goes out to ``solving/`` (which states them in the plan) and to summary and charts.
Everything is exact. The meanings are "Loads" and "Goals" in ``docs/definitions.md``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from allocator.plan.index import EntryAt, NeedAt, PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.plan.plan import Plan
from allocator.plan.why import Counts
from allocator.requirements.amounts import sense
from allocator.requirements.catalogue import bays_by_carrier
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


def need_loads(index: PlanIndex) -> Mapping[str, tuple[int, ...]]:
    """Return what flows through the way (or directly fed socket) of every need, mA by load case; by the need's id."""
    found: dict[str, tuple[int, ...]] = {}

    def load_of(item: NeedAt) -> tuple[int, ...]:
        if item.need.id not in found:
            branches = [load_of(below) for below in index.needs if below.feed == item.need.supplies]
            found[item.need.id] = _added([item.need.load_ma_by_case, *branches])
        return found[item.need.id]

    return {item.need.id: load_of(item) for item in index.needs}


def feed_loads(index: PlanIndex) -> tuple[FeedLoad, ...]:
    """Return the load of every feed, with all feeds that branch from it; feeds in the scenario's order."""
    nothing = (0,) * len(index.sized.requirements.scenario.load_cases)
    by_need = need_loads(index)
    return tuple(
        FeedLoad(
            feed.name,
            _added([nothing, *(by_need[item.need.id] for item in index.needs if item.feed == feed.name)]),
            feed.rating_ma,
            feed.allowed_ma,
        )
        for feed in index.sized.feeds.values()
    )


def entry_load_ma(index: PlanIndex, entry: EntryAt, by_need: Mapping[str, tuple[int, ...]]) -> tuple[int, ...]:
    """Return what flows in at a feed entry, mA by load case; ``by_need`` comes from ``need_loads``."""
    nothing = (0,) * len(index.sized.requirements.scenario.load_cases)
    return _added([nothing, *(by_need[item.need.id] for item in index.needs_of(entry))])


def _added(columns: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    return tuple(sum(case) for case in zip(*columns, strict=True))


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
        ``wire-length``, mm3 for ``copper``.

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
        "copper": sum((index.sized.area_mm2_by_wire[wire] * mm for wire, mm in bill.wire_mm.items()), Fraction(0)),
        "spare-ways": _spare_ways(index),
    }
    return {goal: Fraction(value) for goal, value in values.items()}


def counts_of(plan: Plan) -> Counts:
    """Count bays, module types and strip pieces of a plan that is not indexed."""
    bays = bays_by_carrier(plan.requirements.catalogue)
    return Counts(
        bays=sum(bays[item.carrier] for item in plan.carriers),
        module_types=len({item.module for item in plan.modules}),
        strip_pieces=len(plan.pieces),
    )


def costs(values: Mapping[Goal, Fraction]) -> dict[Goal, Fraction]:
    """Return what a search minimises: the values, with the sign turned where more is better (``amounts.sense``)."""
    return {goal: sense(goal) * value for goal, value in values.items()}


def _spare_ways(index: PlanIndex) -> int:
    ways = sum(row.ways for item in index.modules for row in item.module.rows)
    return ways - sum(item.way is not None and item.need.kind != "spare" for item in index.needs)


def _exact(millimetres: float) -> Fraction:
    # the shortest text of the number is what the user wrote; the float itself may be a hair off
    return Fraction(repr(millimetres))
