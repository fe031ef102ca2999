"""
Trade-offs: how long it takes until no plan of a bundled vehicle is missing, for the default goals.

In a warm process, sizing not included. Seconds of the processor stand beside those of the clock.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path

from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.tradeoffs import find_tradeoffs
from tests.benchmarks.results import Row
from tests.benchmarks.section import Section, Task, table

SCENARIOS = Path(__file__).parents[2] / "scenarios"
VEHICLES = tuple(sorted(path.parent.name for path in SCENARIOS.glob("*/scenario.toml")))
LIMIT_S, SHORT_S = 120, 5


def measure(name: str, limit_s: float) -> Row:
    """Compare bays, module types, strip pieces and price of a bundled vehicle."""
    sized = size(load_scenario(SCENARIOS / name))
    begin, begin_cpu = time.monotonic(), time.process_time()
    front = find_tradeoffs(sized, time_limit_s=limit_s)
    return {
        "circuits": len(sized.requirements.circuits),
        "plans": len(front.members),
        "open": len(front.open_cells),
        "seconds": round(time.monotonic() - begin, 1),
        "processor_s": round(time.process_time() - begin_cpu, 1),
    }


def _tasks(quick: bool) -> Iterable[Task]:
    for name in VEHICLES:
        yield Task(name, partial(measure, name, SHORT_S if quick else LIMIT_S))


def _page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        "Every plan of a bundled vehicle that no other beats in bays, module types, strip pieces and price (in steps "
        f"of 1 %), by `find_tradeoffs()` within {LIMIT_S} s. No plan is missing where no cell is open."
    )
    yield ""
    yield from table(
        ("vehicle", "circuits", "plans", "open cells", "time, s", "processor, s"),
        (
            (name, row["circuits"], row["plans"], row["open"], row["seconds"], row["processor_s"])
            for name, row in sorted(rows.items())
        ),
    )


SECTION = Section("tradeoffs", "Trade-offs", _tasks, _page)
