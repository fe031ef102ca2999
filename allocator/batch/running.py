"""
Give out tasks, keep every result as it comes, and say what became of each scenario.

Comes in as a folder of scenarios, an engine and the folder of results; goes out as rows. Only as many tasks are read
and given out as the engine can use, so that memory does not grow with the number of scenarios.
"""

from __future__ import annotations

import threading
from collections import Counter, deque
from collections.abc import Callable, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, field
from pathlib import Path

from allocator.batch.engines import GONE, Engine
from allocator.batch.keeping import Results
from allocator.batch.rows import Made, Row, without_plan
from allocator.batch.tasks import Options, Task, Versions, scenario_names, task_of
from allocator.errors import Fault, InputError

POLL_S = 0.1


@dataclass(frozen=True)
class Batch:
    """A folder of scenarios, and what is asked of each."""

    folder: Path
    options: Options
    versions: Versions

    def task(self, name: str) -> Task:
        """Read one scenario."""
        return task_of(self.folder, name, self.options, self.versions)


@dataclass
class Standing:
    """How far a batch has come."""

    names: tuple[str, ...]
    rows: dict[str, Row] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)
    """Of the scenarios that were done now."""
    deaths: Counter[str] = field(default_factory=Counter)
    """How often a worker died over a scenario."""
    was_left: bool = False
    """Whether the cluster was lost."""

    @property
    def table(self) -> list[Row]:
        """A row for every scenario, in the order of their names."""
        return [self.rows.get(name, Row(scenario=name, status="not done")) for name in self.names]


def look(batch: Batch, results: Results) -> Standing:
    """
    Find which scenarios have a result that counts.

    Raises
    ------
    InputError
        If there are no scenarios, or a result would have to replace what no batch wrote.
    """
    standing = Standing(tuple(scenario_names(batch.folder)))
    for name in standing.names:
        try:
            row = results.finished(name, batch.task(name).fingerprint)
        except InputError:  # told when its turn comes
            continue
        if row is not None:
            standing.rows[name] = row
    results.refuse_foreign(name for name in standing.names if name not in standing.rows)
    return standing


def finish(
    batch: Batch,
    standing: Standing,
    engine: Engine,
    results: Results,
    *,
    stop: threading.Event,
    told: Callable[[Row], None],
) -> None:
    """
    Do what is not done yet.

    Parameters
    ----------
    standing
        What ``look`` found; it is brought up to date with every result.
    engine
        Closed in the end, whatever happens.
    stop
        Set from outside to end at once; what was kept stays.
    told
        Called with every row after its result was kept.

    Raises
    ------
    OSError
        If a result cannot be written.
    """
    run = _Run(batch, standing, engine, results, told)
    try:
        run.waiting.extend(name for name in standing.names if name not in standing.rows)
        while (run.waiting or run.running) and not stop.is_set() and not standing.was_left:
            run.give_out()
            run.take_in(POLL_S)
        run.take_in(0)
    finally:
        engine.close()


@dataclass
class _Run:
    batch: Batch
    standing: Standing
    engine: Engine
    results: Results
    told: Callable[[Row], None]
    waiting: deque[str] = field(default_factory=deque)
    running: dict[Future[Made], Task] = field(default_factory=dict)

    def give_out(self) -> None:
        """Read and give out as many tasks as the engine can use."""
        try:
            while self.waiting and len(self.running) < self.engine.width:
                name = self.waiting.popleft()
                task = self.task(name)
                if task is not None:
                    self.running[self.engine.submit(task)] = task
        except ConnectionError:
            self.standing.was_left = True

    def task(self, name: str) -> Task | None:
        """Read a scenario; one that cannot be read is told at once."""
        try:
            return self.batch.task(name)
        except InputError as error:
            self.keep(without_plan(name, "bad input", *error.faults), "")
            return None

    def take_in(self, timeout_s: float) -> None:
        """Wait a moment, and keep what has come."""
        if not self.running:
            return
        for future in wait(self.running, timeout_s, FIRST_COMPLETED).done:
            task = self.running.pop(future)
            made = self.made(task, future)
            if made is not None:
                self.keep(made, task.fingerprint)

    def made(self, task: Task, future: Future[Made]) -> Made | None:
        """Return what came of a task; None if it is to be given out again, or never will be."""
        try:
            return future.result()
        except self.engine.died as error:
            self.standing.deaths[task.name] += 1
            if self.standing.deaths[task.name] < self.engine.tries:
                self.waiting.append(task.name)
                return None
            return without_plan(task.name, "worker died", _death(error))
        except self.engine.hung:
            message = "the work did not end in time, and was ended"
            return without_plan(task.name, "no plan in time", Fault("hung", message))
        except GONE:
            self.standing.was_left = True
            return None
        except Exception as error:  # a worker that lacks the program, say; the others go on
            message = f"the worker could not take it up: {type(error).__name__}: {error}".splitlines()[0]
            return without_plan(task.name, "failed", Fault("worker", message))

    def keep(self, made: Made, fingerprint: str) -> None:
        self.results.keep(made, fingerprint)
        self.standing.rows[made.row.scenario] = made.row
        self.standing.seconds[made.row.scenario] = made.seconds
        self.told(made.row)


def _death(error: BaseException) -> Fault:
    message = "every worker that had this scenario died"
    known = "a lack of memory is the usual reason; the other scenarios went on"
    return Fault("worker-died", message, f"{type(error).__name__}: {error}".splitlines()[0], known, "run it again")


def num_by_status(rows: list[Row]) -> Mapping[str, int]:
    """Count rows by status."""
    return Counter(row.status for row in rows)
