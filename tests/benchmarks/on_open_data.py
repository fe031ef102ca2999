"""The open data, solved through `allocate()` as panels (``translated.py``), and strips through the cutting plan."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from functools import partial

from allocator.requirements.scenario import Goal
from allocator.solving.cutting import cut
from allocator.solving.engine import Clock
from allocator.solving.packing import pack
from tests.benchmarks.results import Row
from tests.benchmarks.section import Section, Task, grouped, seconds, table
from tests.benchmarks.timed import CANNOT, timed_run
from tests.benchmarks.translated import FAMILIES, Case, Instance, instances
from tests.builders import MINI_PANELS, mini_panel

LIMIT_S, SHORT_S, PACKING_S = 120.0, 10.0, 10.0
SMALL = 120
"""Items up to which a bin packing is to be proven within ``PACKING_S``."""
TOO_HEAVY = ("hard0", "hard1")
"""More amperes than one feed of the tests' catalogue carries: packed without a panel around it."""
MINI: Mapping[Goal, str] = {
    "bays": "bays",
    "module-types": "module_types",
    "strip-pieces": "strip_pieces",
    "peak-utilisation": "peak_feed_utilisation",
    "price": "price",
}
FUNCTIONS = {name: f"`allocate`: {family.functions}" for name, family in FAMILIES.items()} | {
    "bin packing, 121 items and more": "`allocate`: `solving.splitting.split`, `solving.packing.pack`",
    "bin packing, too heavy for a feed": "`solving.packing.pack`",
    "cutting stock": "`solving.cutting.cut` (strips of a plan), `solving.packing.pack`",
    "mini panels": "`allocate`: all",
}


def _tasks(quick: bool) -> Iterable[Task]:
    for name, family in FAMILIES.items():
        seen: set[str] = set()
        for instance in instances(family.file)[: 2 if quick else None]:
            for translate in family.translations:
                case = translate(instance)
                if case.name in TOO_HEAVY:
                    yield Task(f"heavy {case.name}", partial(_packed, instance, SHORT_S if quick else LIMIT_S))
                elif case.name not in seen:
                    seen.add(case.name)
                    group, limit_s = _group(name, instance, quick)
                    yield Task(f"{name} {case.name}", partial(_allocated, group, case, limit_s))
    for instance in instances("cutting_stock.csv")[: 2 if quick else None]:
        yield Task(f"cutting {instance['id']}", partial(_cut, instance))
    for panel in MINI_PANELS[: 2 if quick else None]:
        expected = panel["expected"]
        best = None if expected == "infeasible" else {g: Fraction(expected[field]) for g, field in MINI.items()}
        case = Case(panel["id"], mini_panel(panel), best)
        yield Task(f"mini {case.name}", partial(_allocated, "mini panels", case, SHORT_S if quick else LIMIT_S))


def _group(name: str, instance: Instance, quick: bool) -> tuple[str, float]:
    if name == "bin packing" and int(instance["items"]) <= SMALL:
        return name, PACKING_S
    return ("bin packing, 121 items and more" if name == "bin packing" else name), SHORT_S if quick else LIMIT_S


def _allocated(group: str, case: Case, limit_s: float) -> Row:
    run = timed_run(case.sized, limit_s=limit_s)
    values = {level.goal: Fraction(level.value) for level in run.reached}
    proven = bool(run.reached) and all(level.proven for level in run.reached)
    solved = run.ended == CANNOT if case.best is None else proven and values == case.best
    reached = "; ".join(f"{level.goal} {level.value}, bound {level.bound}" for level in run.reached) or run.ended
    known = "no plan" if case.best is None else ", ".join(f"{goal} {value}" for goal, value in case.best.items())
    wrong = (run.ended == CANNOT) != (case.best is None) if run.ended == CANNOT else proven and values != case.best
    return _row(group, run.seconds, solved, wrong, reached, known)


def _packed(instance: Instance, limit_s: float) -> Row:
    started = time.monotonic()
    sizes = [int(size) for size in instance["sizes"].split()]
    packing = pack(sizes, int(instance["capacity"]), Clock(started + limit_s))
    reached = f"bins {len(packing.holders)}, bound {packing.fewest}"
    return _counted(
        "bin packing, too heavy for a feed", started, len(packing.holders), packing.fewest, instance, reached
    )


def _cut(instance: Instance) -> Row:
    started = time.monotonic()
    lengths, demands = (map(int, instance[field].split()) for field in ("lengths", "demands"))
    pieces = [length for length, demand in zip(lengths, demands, strict=True) for _ in range(demand)]
    cutting = cut(pieces, int(instance["stock_length"]))
    reached = f"lengths {cutting.num_stock}, bound {cutting.fewest}"
    return _counted("cutting stock", started, cutting.num_stock, cutting.fewest, instance, reached)


def _counted(group: str, started: float, number: int, bound: int, instance: Instance, reached: str) -> Row:
    best = int(instance["optimum"])
    wrong = bound > best or number < best
    return _row(group, time.monotonic() - started, number == bound == best, wrong, reached, str(best))


def _row(group: str, took_s: float, solved: bool, wrong: bool, reached: str, known: str) -> Row:
    said = {"reached": reached, "known": known}
    return {"family": group, "seconds": round(took_s, 3), "solved": solved, "wrong": wrong} | said


def _page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        "Published and generated instances with a known optimum (`tests/benchmarks/data`, sources there), each said as "
        "a panel and given to `allocate()`; the functions that bear the load stand beside it. Proven means that value "
        f"and bound are the known optimum, or that a plan is ruled out where none exists. Limit {LIMIT_S:.0f} s, for "
        f"bin packing up to {SMALL} items {PACKING_S:.0f} s. Wrong would be a claim that the known optimum refutes."
    )
    yield ""
    lines = []
    for family, held in grouped(rows, "family").items():
        proven, wrong = (sum(row[what] for row in held) for what in ("solved", "wrong"))
        times = seconds([row["seconds"] for row in held])
        lines.append((family, FUNCTIONS[family], len(held), proven, wrong, times))
    yield from table(("family", "functions", "instances", "proven", "wrong", "median / worst s"), lines)
    for name, row in rows.items():
        if not row["solved"]:
            yield f"- {name}: {row['reached']}; known: {row['known']}."
    yield ""


SECTION = Section("open-data", "Open data", _tasks, _page)
