"""
Random fleets by seed: so many realistic vehicles with ten module types to choose among, and how often each is ordered.

Comes in as a size and a seed; goes out as members of a fleet, built without files. ``python -m tests.benchmarks.fleets
NUM [SEED]`` finds the range of one and says how long it took.
"""

from __future__ import annotations

import random
import sys
import time
from fractions import Fraction

from allocator.batch.engines import usable_cores, worker_processes
from allocator.stocking.curve import Range
from allocator.stocking.demand import OrderProcess
from allocator.stocking.members import Member
from allocator.stocking.range import search_range
from tests.benchmarks.vehicles import TIGHT, vehicle
from tests.builders import M

TEN_TYPES = TIGHT | {
    "duo-7-5": M(("7F strip", "5C strip"), limit_a=130, price=2350),
    "mixed-standard": M(("5C strip",), sockets={"standard": 2}, limit_a=90, price=2040),
}
FEWEST, MOST = 10, 40
"""Circuits of a vehicle."""


def fleet(num_vehicles: int, seed: int) -> tuple[Member, ...]:
    """Return the members of a random fleet; equal arguments give equal fleets."""
    draw = random.Random(f"fleet-{seed}")
    members = []
    for number in range(num_vehicles):
        sized = vehicle(draw.randint(FEWEST, MOST), 1000 * seed + number, modules=TEN_TYPES)
        sizes = draw.choice(({1: Fraction(1)}, {1: Fraction(3, 4), 3: Fraction(1, 4)}))
        members.append(Member(f"v{number:03d}", sized, OrderProcess(Fraction(draw.randint(1, 12), 12), sizes)))
    return tuple(members)


def _say(found: Range, seconds: float) -> None:
    for point in found.points:
        planned = sum(housing.is_planned for housing in point.by_vehicle.values())
        exact = "exact" if point.is_exact else f"at least {float(point.least_bays)}, {float(point.least_cents):.0f}"
        print(
            f"{point.most:2} types: {float(point.bays):9.2f} bays, {float(point.cents):12.0f} cents, {exact}; "
            f"{planned} of {len(point.by_vehicle)} planned; {' '.join(point.kept)}"
        )
    must = [item.module for item in found.without if item.point is None]
    print(f"must stay: {', '.join(must) or 'none'}; {found.num_plans} plans; {seconds:.1f} s")


if __name__ == "__main__":
    members = fleet(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 0)
    begin = time.monotonic()
    with worker_processes(usable_cores()) as submit:
        found = search_range(members, time_limit_s=300, submit=submit)
    _say(found, time.monotonic() - begin)
