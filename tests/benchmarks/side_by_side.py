"""
The search beside first fit with the best feed, and beside the direct model in CP-SAT and in HiGHS, in one run.

All work on the same vehicles towards bays, module types and strip pieces, with as many threads as the search has. The
direct model gets two runs: one with a long limit, for the time to equal proof, and one with just the time that the
search took, for the quality at equal time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from functools import partial
from math import exp, log

from tests.benchmarks.linear import Solver, by_cp_sat, by_highs
from tests.benchmarks.results import Row
from tests.benchmarks.rivals import GOALS, direct, first_fit
from tests.benchmarks.section import Section, Task, grouped, table
from tests.benchmarks.timed import for_goals, timed_run
from tests.benchmarks.vehicles import vehicle
from tests.oracles.greedy_feeds import Stuck

THREADS = 2
RIVALS: Mapping[str, Solver] = {"CP-SAT": by_cp_sat, "HiGHS": by_highs}
SIZES: Mapping[int, float] = {20: 60.0, 40: 120.0, 60: 300.0, 80: 300.0}
"""Limit of a rival by number of circuits, s."""
SEEDS = 5


def _tasks(quick: bool) -> Iterable[Task]:
    for size, limit_s in SIZES.items():
        for seed in range(1 if quick else SEEDS):
            yield Task(f"{size:03d}-{seed}", partial(_measure, size, seed, 10.0 if quick else limit_s))


def _measure(size: int, seed: int, limit_s: float) -> Row:
    sized = for_goals(vehicle(size, seed), GOALS)
    run = timed_run(sized, limit_s=limit_s, workers=THREADS)
    row: Row = {"size": size, "limit_s": limit_s, "ours": run.to_table()}
    try:
        row["first fit"] = asdict(first_fit(sized))
    except Stuck:
        row["first fit"] = None
    for name, solver in RIVALS.items():
        row[name] = asdict(direct(sized, solver, limit_s=limit_s, threads=THREADS))
        row[f"{name} in our time"] = asdict(direct(sized, solver, limit_s=run.seconds, threads=THREADS))
    return row


def _page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        "The same vehicles (eight module types) and the goals bays, module types, strip pieces, for the search and "
        "three rivals, on two threads each. *First fit* takes the largest first, each on its least loaded feed "
        "(`tests/oracles/greedy.py`). The *direct model* (`tests/benchmarks/direct.py`) has a yes-or-no variable for "
        "every circuit, row and feed; it starts at the first-fit plan (HiGHS: as a cut-off), has the counting bounds "
        "as rows, copies of a type in order and no more of them than counting allows, and is built anew after every "
        "goal. It sees how a row splits into pieces in sum only, which is to its advantage."
    )
    yield ""
    yield "Time to proven strip pieces; a time-out counts as the limit, so the ratios are at least what stands here:"
    yield ""
    head = ["circuits", "vehicles", "search: median s"]
    for name in RIVALS:
        head += [f"{name}: median s", "time-outs", "ratio"]
    yield from table(head, (_line(size, held) for size, held in grouped(rows, "size").items()))
    yield (
        "The ratio is the geometric mean over the vehicles. The aim was fifty times at 80 circuits. It is missed where "
        "rivals have a start, the counting bounds and copies in order: so they prove vehicles of 80 circuits as well."
    )
    yield ""
    yield "Quality; of two plans the better is the one that comes first in the order of the goals:"
    yield ""
    names = ["first fit", *RIVALS, *(f"{name} in our time" for name in RIVALS)]
    yield from table(
        ("circuits", *(f"{name}: better / equal / worse than the search" for name in names)),
        ((size, *(_compared(held, name) for name in names)) for size, held in grouped(rows, "size").items()),
    )


def _seconds(row: Row, name: str) -> float:
    """Return the time to proven pieces, or the limit."""
    if name == "ours":
        proven = len(row["ours"]["reached"]) == len(GOALS) and row["ours"]["reached"][-1]["proven"]
        return float(row["ours"]["seconds"]) if proven else max(row["limit_s"], row["ours"]["seconds"])
    after = row[name]["proven_after_s"]
    return float(after[-1]) if len(after) == len(GOALS) else max(row["limit_s"], row[name]["seconds"])


def _line(size: str, held: list[Row]) -> list[object]:
    def middle(name: str) -> str:
        times = sorted(_seconds(row, name) for row in held)
        return f"{times[len(times) // 2]:.2f}"

    line: list[object] = [size, len(held), middle("ours")]
    for name in RIVALS:
        ratios = [_seconds(row, name) / _seconds(row, "ours") for row in held]
        late = sum(len(row[name]["proven_after_s"]) < len(GOALS) for row in held)
        line += [middle(name), f"{late} of {len(held)}", f"{exp(sum(map(log, ratios)) / len(ratios)):.0f}"]
    return line


def _compared(held: list[Row], name: str) -> str:
    better = equal = worse = 0
    for row in held:
        ours = [int(level["value"]) for level in row["ours"]["reached"]]
        theirs = list(row[name]["values"]) if row[name] else []
        if theirs and (not ours or theirs < ours):
            better += 1
        elif theirs == ours:
            equal += 1
        else:
            worse += 1
    return f"{better} / {equal} / {worse}"


SECTION = Section("side-by-side", "Side by side", _tasks, _page)
