"""
Many vehicles at once: how long ``allocator batch`` takes for them, and whether its memory stays as it is.

The real command, in a process of its own, on the random vehicles of ``fleet.py``. Memory is what all of its processes
hold together, each shared page counted once (PSS, Linux), looked at every two seconds.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import psutil

from tests.benchmarks.fleet import write_fleet
from tests.benchmarks.results import Row
from tests.benchmarks.section import Section, Task, table

NUM_CIRCUITS = 40
SIZES, SHORT = ((100, None), (1000, None), (1000, 3)), ((10, None),)
"""Vehicles, and the time limit of each in seconds where one is given."""
JOBS = 2
LOOK_S = 2.0
_COMMAND = (sys.executable, "-c", "from allocator.cli.main import run; run()")


def measure(number: int, limit_s: int | None) -> Row:
    """Plan so many vehicles with lists, each within a limit if there is one, and say how it went."""
    with TemporaryDirectory() as folder:
        write_fleet(Path(folder) / "fleet", number, NUM_CIRCUITS)
        words = ["batch", f"{folder}/fleet", "--out", f"{folder}/out", "--jobs", str(JOBS), "--json"]
        words += [] if limit_s is None else ["--time-limit", str(limit_s)]
        said, held = Path(folder, "said.json"), [0.0]
        begin = time.monotonic()
        with said.open("wb") as stream, subprocess.Popen([*_COMMAND, *words], stdout=stream) as process:
            while process.poll() is None:
                held.append(_held_mib(process.pid))
                time.sleep(LOOK_S)
        seconds = time.monotonic() - begin
        answer = json.loads(said.read_text(encoding="utf-8"))
        record = json.loads(Path(folder, "out", "run.json").read_text(encoding="utf-8"))
    rows = answer["scenarios"]
    quarter = max(1, len(held) // 4)
    return {
        "number": number,
        "limit_s": limit_s,
        "seconds": round(seconds, 1),
        "done": answer["counts"]["done"],
        "proven": sum(row["status"] == "done" and not row["open_goals"] for row in rows),
        "slowest_s": max(record["seconds_by_scenario"].values()),
        "peak_mib": round(max(held)),
        "second_quarter_mib": round(max(held[quarter : 2 * quarter] or held)),
        "last_quarter_mib": round(max(held[-quarter:])),
    }


def _held_mib(pid: int) -> float:
    total = 0
    try:
        processes = [psutil.Process(pid), *psutil.Process(pid).children(recursive=True)]
    except psutil.Error:
        return 0.0
    for process in processes:
        try:
            total += process.memory_full_info().pss
        except psutil.Error:
            continue
    return total / 1024**2


def _tasks(quick: bool) -> Iterable[Task]:
    for number, limit_s in SHORT if quick else SIZES:
        limit = "" if limit_s is None else f"-{limit_s}-s"
        yield Task(f"{number:04d}-vehicles{limit}", partial(measure, number, limit_s))


def _page(rows: Mapping[str, Row]) -> Iterator[str]:
    yield (
        f"Random vehicles of {NUM_CIRCUITS} circuits through `allocator batch` with {JOBS} workers: plan, check and "
        "lists of each, without drawings; start and reading of all files included. Where a time limit is given, it is "
        "`--time-limit`, for each vehicle. Memory is that of all processes together. Of the thousand three cannot be "
        "met, because their feeds cannot carry what is on them; others that are not done had no plan within the limit."
    )
    yield ""
    heads = ("vehicles", "limit, s", "time, s", "done", "all goals proven", "slowest, s", "peak, MiB")
    yield from table(
        (*heads, "2nd quarter", "last quarter"),
        (
            (row["number"], row.get("limit_s") or "", row["seconds"], row["done"], row["proven"], row["slowest_s"],
             row["peak_mib"], row["second_quarter_mib"], row["last_quarter_mib"])
            for _, row in sorted(rows.items())
        ),
    )  # fmt: skip


SECTION = Section("batches", "Many vehicles at once", _tasks, _page)
