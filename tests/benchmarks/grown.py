"""
What a larger problem costs, measured: vehicles in which one thing grows, each allocated in a process of its own.

Comes in as the name of what grows, a size and a seed; goes out as seconds, and as the memory that the process took
beyond what it held before.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context

from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from tests.benchmarks.memory import held_mib
from tests.benchmarks.results import Row
from tests.benchmarks.timed import for_goals, timed_run, warm_up
from tests.benchmarks.vehicles import TIGHT, vehicle
from tests.builders import M

GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces")
USUAL = 80
"""Circuits of the vehicles in which something else grows."""
NEEDED = ("twin-7", "bar-6", "relay-8", "relay-5", "heavy-2")
"""Types without which no vehicle has a plan."""
MORE: Mapping[str, M] = {
    **{name: module for name, module in TIGHT.items() if name not in NEEDED},
    **{f"bar-{ways}": M((f"{ways}C strip",), limit_a=90, price=240 + 170 * ways) for ways in (3, 4, 5, 7, 8)},
    **{f"row-{ways}": M((f"{ways}F strip",), limit_a=90, price=210 + 160 * ways) for ways in (4, 5, 6, 8, 9)},
    "mixed-2": M(("4F strip",), sockets={"standard": 2}, limit_a=80, price=1710),
    "mixed-3": M(("5F strip",), sockets={"micro": 2}, limit_a=80, price=1790),
}


def _with_types(number: int, seed: int) -> Sized:
    more = list(MORE)[: number - len(NEEDED)]
    return vehicle(USUAL, seed, modules={name: TIGHT[name] for name in NEEDED} | {name: MORE[name] for name in more})


def _with_cases(number: int, seed: int) -> Sized:
    return vehicle(USUAL, seed, cases=[f"case-{index}" for index in range(number)])


@dataclass(frozen=True)
class Axis:
    """What grows, through which sizes, and the vehicle of a size and a seed."""

    sizes: Sequence[int]
    vehicle: Callable[[int, int], Sized]


AXES: Mapping[str, Axis] = {
    "circuits": Axis((20, 40, 60, 80, 120, 160, 200), lambda number, seed: vehicle(number, seed)),
    "feeds": Axis((4, 6, 8, 12, 16), lambda number, seed: vehicle(USUAL, seed, num_feeds=number)),
    "module types": Axis((5, 7, 10, 14, 20), _with_types),
    "load cases": Axis((2, 4, 8, 16), _with_cases),
}


def measure(name: str, size: int, seed: int, limit_s: float) -> Row:
    """Measure one vehicle in a fresh process."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(_measure_here, name, size, seed, limit_s).result()


def _measure_here(name: str, size: int, seed: int, limit_s: float) -> Row:
    warm_up()
    sized = for_goals(AXES[name].vehicle(size, seed), GOALS)
    before_mib = held_mib()
    run = timed_run(sized, limit_s=limit_s)
    proven = bool(run.reached) and all(level.proven for level in run.reached)
    mib = round(run.peak_mib - before_mib, 1)
    return {"axis": name, "size": size, "seconds": round(run.seconds, 3), "mib": mib, "proven": proven}
