"""Panels whose optimum is known beforehand: built backwards, or solved by a second solver."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import partial

from allocator.sizing.sized import Sized
from tests.benchmarks import backwards, beyond
from tests.benchmarks.counting import counting_bounds
from tests.benchmarks.results import Row
from tests.benchmarks.section import Section, Task, grouped, seconds, table
from tests.benchmarks.timed import Run, timed_run
from tests.oracles.milp import best_levels

LIMIT_S, SHORT_S = 120.0, 10.0


def _backwards_tasks(quick: bool) -> Iterable[Task]:
    for kind in backwards.KINDS:
        for size in backwards.SIZES[:2] if quick else backwards.SIZES:
            yield Task(f"{kind}-{size:03d}", partial(_measure_backwards, kind, size, SHORT_S if quick else LIMIT_S))


def _measure_backwards(kind: str, size: int, limit_s: float) -> Row:
    panel = backwards.planted(kind, size)
    best = {str(goal): str(value) for goal, value in panel.optimum.items()}
    return {"kind": kind} | _against(panel.sized, best, limit_s)


def _beyond_tasks(quick: bool) -> Iterable[Task]:
    for kind, seeds in beyond.SEEDS.items():
        for seed in seeds[:2] if quick else seeds:
            yield Task(f"{kind}-{seed:02d}", partial(_measure_beyond, kind, seed, SHORT_S if quick else LIMIT_S))


def _measure_beyond(kind: str, seed: int, limit_s: float) -> Row:
    sized = beyond.beyond(kind, seed)
    best = best_levels(sized)
    assert best is not None, "every panel of the list has a plan"
    counted = counting_bounds(sized)
    above = [goal for goal in counted if counted[goal] < best[goal]]
    row = _against(sized, {goal: str(value) for goal, value in best.items()}, limit_s)
    return {"kind": kind, "above": above} | row


def _against(sized: Sized, best: Mapping[str, str], limit_s: float) -> Row:
    run = timed_run(sized, limit_s=limit_s)
    values = {level.goal: level.value for level in run.reached}
    proven = bool(run.reached) and all(level.proven for level in run.reached)
    return {"best": best, "optimal": values == best, "proven": proven, "run": run.to_table()}


def _backwards_page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        "Rows are filled to the last way, one feed each, and everything is shuffled "
        "(`tests/benchmarks/backwards.py`). Bays, module types and strip pieces are then the counting bounds, which "
        "`tests/benchmarks/counting.py` counts anew."
    )
    yield ""
    yield from _table(rows)


def _beyond_page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        "Panels of which a second model (`tests/oracles/milp.py`, solved by HiGHS) says that bays or strip pieces "
        "cannot come down to what counting ways, sockets, feeds, amperes and large loads allows. Goals: bays, module "
        "types, strip pieces, peak utilisation."
    )
    yield ""
    yield from _table(rows)
    bays = sum("bays" in row["above"] for row in rows.values())
    pieces = sum("strip-pieces" in row["above"] for row in rows.values())
    yield f"Above counting are the bays of {bays} and the strip pieces of {pieces} of {len(rows)} panels."
    yield ""


def _table(rows: Mapping[str, Row]) -> Iterator[str]:
    lines = []
    for kind, held in grouped(rows, "kind").items():
        times = [Run.from_table(row["run"]).seconds for row in held]
        optimal, proven = (sum(row[what] for row in held) for what in ("optimal", "proven"))
        lines.append((kind, len(held), optimal, proven, seconds(times)))
    yield from table(("kind", "panels", "optimal", "proven", "median / worst s"), lines)
    for name, row in rows.items():
        if not (row["optimal"] and row["proven"]):
            reached = ", ".join(
                f"{level['goal']} {level['value']} (bound {level['bound']})" for level in row["run"]["reached"]
            )
            best = ", ".join(f"{goal} {value}" for goal, value in row["best"].items())
            yield f"- {name}: {reached or row['run']['ended']}; known: {best}."
    yield ""


BACKWARDS = Section("backwards", "Panels built backwards", _backwards_tasks, _backwards_page)
BEYOND = Section("beyond", "Panels beyond counting", _beyond_tasks, _beyond_page)
