"""
The strength of the search on random vehicles, goal by goal.

    python -m tests.benchmarks.strength --circuits 100 --seeds 0-4

prints for every vehicle and goal the value, the bound, how it was closed and the seconds it took, with the time of the
whole ``allocate()`` and the most memory it held; then a summary. ``--catalogue`` is tight (default), loose or both.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from fractions import Fraction
from statistics import median

from tests.benchmarks.timed import Run, timed_run, warm_up
from tests.benchmarks.vehicles import vehicle


def seeds_of(text: str) -> list[int]:
    """Read "0-4" or "3,5,8-10"."""
    seeds: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        seeds += range(int(first), int(last or first) + 1)
    return seeds


def lines_of(run: Run) -> Iterator[str]:
    """Yield one line for each goal."""
    for entry in run.reached:
        gap = "" if entry.proven else f"  gap {entry.gap:.2%}"
        value, bound = (_short(text) for text in (entry.value, entry.bound))
        yield f"  {entry.goal:<17}{value:>10} >= {bound:<10} {entry.closed_by:<15}{entry.seconds:8.2f} s{gap}"


def _short(text: str) -> str:
    value = Fraction(text)
    return text if value.denominator == 1 else f"{float(value):.5f}"


def summary_of(runs: Sequence[Run]) -> Iterator[str]:
    """Yield what all runs together say."""
    seconds = [run.seconds for run in runs]
    memory = max(run.peak_mib for run in runs)
    yield (
        f"{len(runs)} vehicles: median {median(seconds):.2f} s, worst {max(seconds):.2f} s, {memory:.0f} MiB, "
        f"{sum(not run.reached for run in runs)} without a plan"
    )
    for goal in dict.fromkeys(entry.goal for run in runs for entry in run.reached):
        entries = [entry for run in runs for entry in run.reached if entry.goal == goal]
        proven = sum(entry.proven for entry in entries)
        worst = max(entry.gap for entry in entries)
        yield (
            f"  {goal:<17} {proven:>3} of {len(entries)} proven, largest gap {worst:.2%}, "
            f"median {median(entry.seconds for entry in entries):.2f} s"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--circuits", type=int, default=100)
    parser.add_argument("--seeds", type=seeds_of, default=seeds_of("0-4"))
    parser.add_argument("--catalogue", choices=("tight", "loose", "both"), default="tight")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--limit", type=float, default=120.0, help="wall time of one allocation, s")
    asked = parser.parse_args()
    warm_up()
    runs: list[Run] = []
    for catalogue in ("tight", "loose") if asked.catalogue == "both" else (asked.catalogue,):
        for seed in asked.seeds:
            sized = vehicle(asked.circuits, seed, tight=catalogue == "tight")
            runs.append(timed_run(sized, limit_s=asked.limit, workers=asked.workers))
            run = runs[-1]
            print(f"{asked.circuits} circuits, seed {seed}, {catalogue}: ", end="")
            print(f"{run.seconds:.2f} s, {run.peak_mib:.0f} MiB, {run.ended}")
            print("\n".join(lines_of(run)), flush=True)
    print("\n".join(summary_of(runs)))


if __name__ == "__main__":
    main()
