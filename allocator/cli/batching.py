"""
``allocator batch``: a folder of scenarios in, a folder with a result for each and the table of all out.

Every result is written when it is there. So whatever stops a batch, the next run of the command goes on from there.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from allocator.batch.engines import ClusterEngine, Engine, LocalEngine, usable_cores
from allocator.batch.keeping import Results
from allocator.batch.rows import FINAL, STATUSES, Row, Status
from allocator.batch.running import Batch, Standing, finish, look, num_by_status
from allocator.batch.table import table_csv, table_data
from allocator.batch.tasks import Options, versions_here
from allocator.cli.answers import Answer
from allocator.cli.folder import RECORD, out_folder, written
from allocator.cli.interrupts import Interrupts, current
from allocator.cli.progress import BatchBar
from allocator.cli.records import Run
from allocator.cli.statuses import BAD_INPUT, BUG, DONE, INTERRUPTED, NO_PLAN, NOT_KEPT
from allocator.notices import CAUTIONS
from allocator.outputs.goals import value_text
from allocator.outputs.summary import columns
from allocator.requirements.scenario import Goal

__all__ = ["Asked", "Options", "batch", "usable_cores"]

SUMMARY = "summary.csv"
RESULTS = "results"
_STOPPING = b"stopping: every result that was written stays; interrupt again to abort at once\n"
_MOST_SHOWN = 40
"""Rows that the terminal shows; of a longer table only those that could not be planned."""
_STATUS: dict[Status, int] = {
    "failed": BUG,
    "bad input": BAD_INPUT,
    "cannot be met": NOT_KEPT,
    "no plan in time": NO_PLAN,
    "worker died": NO_PLAN,
    "not done": NO_PLAN,
}
"""Exit status by what became of scenarios; the first one that occurs counts."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line says: who does the work, and how."""

    jobs: int
    cluster: str | None
    options: Options

    def engine(self) -> Engine:
        """Return who does the work."""
        return LocalEngine(self.jobs) if self.cluster is None else ClusterEngine(self.cluster)


def batch(folder: Path, out: Path, asked: Asked) -> Answer:
    """
    Plan every scenario of a folder that has no result yet.

    Parameters
    ----------
    folder
        Holds a folder for each scenario.
    out
        Folder for the results.
    asked
        Who does the work, and how.

    Returns
    -------
    Answer
        Status 130 if the user stopped it; else that of the worst scenario.
    """
    run = Run("batch", folder)
    interrupts = current()
    work = Batch(folder, asked.options, versions_here())
    results = Results(out / RESULTS)
    with out_folder(out, [SUMMARY, RECORD]) as made:
        with run.step("looking"):
            standing = look(work, results)
        already = frozenset(standing.rows)
        with results.opened(), run.step("planning"):
            if len(already) < len(standing.names):
                with _bar(standing, interrupts) as told:
                    stop = interrupts.note(_STOPPING)
                    finish(work, standing, asked.engine(), results, stop=stop, told=told)
        interrupts.hold()
        made.files.mkdir()
        rows = standing.table
        (made.files / SUMMARY).write_text(table_csv(rows, CAUTIONS), encoding="utf-8", newline="\n")
        run.write(made, work.versions, _record(asked, standing, already, interrupts.stop))
        names = made.place()
    return _answer(out, standing, already, names, interrupts.stop.is_set())


@contextmanager
def _bar(standing: Standing, interrupts: Interrupts) -> Iterator[Callable[[Row], None]]:
    """Show a bar, if anybody sits there, and take it away even when the command is aborted."""
    bar = BatchBar(len(standing.names), len(standing.rows))
    interrupts.undo.append(bar.stop)
    try:
        yield bar.row
    finally:
        bar.stop()


def _record(asked: Asked, standing: Standing, already: frozenset[str], stop: threading.Event) -> dict[str, Any]:
    return {
        "time_limit_s": asked.options.time_limit_s,
        "drawings": asked.options.drawings,
        "jobs": asked.jobs if asked.cluster is None else None,
        "cluster": asked.cluster,
        "interrupted": stop.is_set(),
        "done_before": sorted(already),
        "seconds_by_scenario": dict(sorted(standing.seconds.items())),
        "deaths_by_scenario": dict(sorted(standing.deaths.items())),
    }


def _answer(out: Path, standing: Standing, already: frozenset[str], names: list[str], was_interrupted: bool) -> Answer:
    rows = standing.table
    counts = num_by_status(rows)
    data = {
        "interrupted": was_interrupted,
        "out": str(out),
        "files": names,
        "done_before": len(already),
        "counts": {status: counts[status] for status in STATUSES},
        "scenarios": table_data(rows),
    }
    status = INTERRUPTED if was_interrupted else next((code for word, code in _STATUS.items() if counts[word]), DONE)
    return Answer("\n".join(_lines(out, rows, len(already))) + "\n", data, _notes(standing, was_interrupted), status)


def _notes(standing: Standing, was_interrupted: bool) -> str:
    again = "the same command goes on from here"
    if was_interrupted:
        return f"interrupted: {len(standing.rows)} of {len(standing.names)} are done; {again}\n"
    if standing.was_left:
        return f"the cluster is gone: {len(standing.rows)} of {len(standing.names)} are done; {again}\n"
    open_rows = sum(row.status not in FINAL for row in standing.table)
    return f"{open_rows} to be tried again: {again}\n" if open_rows else ""


def _lines(out: Path, rows: list[Row], num_already: int) -> Iterator[str]:
    counts = num_by_status(rows)
    said = ", ".join(f"{counts[status]} {status}" for status in STATUSES if counts[status])
    before = f" ({num_already} of them before)" if num_already else ""
    yield f"{len(rows)} {'scenario' if len(rows) == 1 else 'scenarios'}: {said}{before}"
    telling = [row for row in rows if row.status not in ("done", "not done")]
    shown = rows if len(rows) <= _MOST_SHOWN else telling[:_MOST_SHOWN]
    if shown:
        yield ""
        yield from columns([_HEAD, *map(_shown, shown)], right=(2, 3, 4, 5, 6, 7))
    yield ""
    yield written(out, f"{SUMMARY} with every row, and {RESULTS}/ with a folder for each scenario").rstrip()


_HEAD = ("scenario", "status", "circuits", "bays", "types", "entries", "peak", "price", "")
_GOALS: tuple[Goal, ...] = ("bays", "module-types", "strip-pieces", "peak-utilisation", "price")


def _shown(row: Row) -> tuple[str, ...]:
    values = (value_text(goal, row.values[goal], row.currency) if row.values else "" for goal in _GOALS)
    remark = row.message or ("cut by time" if row.depends_on_time else "")
    if row.status == "done" and row.open_goals and not remark:
        remark = f"not proven: {', '.join(row.open_goals)}"
    return row.scenario, row.status, str(row.circuits or ""), *values, remark
