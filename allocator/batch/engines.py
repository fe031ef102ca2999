"""
Who does the work: processes of this machine, or the workers of a cluster. Both hand out standard futures.

The processes are those of ``crew.py``; the cluster is dask.distributed's, through its own executor.
"""

from __future__ import annotations

import logging
import os
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, TimeoutError
from contextlib import contextmanager
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING, Any, Protocol, cast

from pebble import ProcessExpired

from allocator.batch.crew import Crew
from allocator.batch.rows import Made
from allocator.batch.tasks import Task
from allocator.errors import Fault, InputError
from allocator.leftovers import clear_leftovers

if TYPE_CHECKING:
    from distributed import Client

MOST_EXTRA_S = 120.0
"""Sizing, proof of a refusal and drawing may take so long beyond the time limit before a worker counts as hung."""
CLOSING_S = 1.0
CONNECTING_S = 10


class Engine(Protocol):
    """An executor of tasks."""

    tries: int
    """How often a task whose worker died is given out."""
    died: tuple[type[BaseException], ...]
    """What a future raises when the worker is gone."""
    hung: tuple[type[BaseException], ...]
    """What a future raises when the worker had to be ended."""

    @property
    def width(self) -> int:
        """How many tasks to have given out at a time."""

    def submit(self, task: Task) -> Future[Made]:
        """Give out a task."""

    def close(self) -> None:
        """Stop at once, whatever is still going on."""


class LocalEngine:
    """Worker processes of this machine."""

    tries = 3
    died: tuple[type[BaseException], ...] = (ProcessExpired, BrokenExecutor)
    hung: tuple[type[BaseException], ...] = (TimeoutError,)

    def __init__(self, jobs: int) -> None:
        self._jobs = jobs
        self._crew = Crew(jobs)

    @property
    def width(self) -> int:
        """One task more for each worker than it works on, so that none waits."""
        return 2 * self._jobs

    def submit(self, task: Task) -> Future[Made]:
        """Give out a task."""
        from allocator.batch.work import work

        return cast("Future[Made]", self._crew.submit(work, task, timeout_s=_longest_s(task)))

    def close(self) -> None:
        """End the workers, and take away what they left."""
        self._crew.close()
        clear_leftovers(Path(gettempdir()))


@contextmanager
def worker_processes(jobs: int) -> Iterator[Callable[..., Future[Any]]]:
    """
    Give a function that has calls done by processes of this machine: ``submit(function, *arguments)`` returns a future.

    At the end of the block the processes are ended, whatever is still going on.
    """
    crew = Crew(jobs)
    try:
        yield crew.submit
    finally:
        crew.close()


class ClusterEngine:
    """Workers of a dask cluster, which by itself gives out again what a dead worker had, some times."""

    tries = 1
    hung: tuple[type[BaseException], ...] = ()

    def __init__(self, address: str) -> None:
        """
        Join a cluster.

        Raises
        ------
        InputError
            If the library is not installed, or no scheduler answers at the address.
        """
        try:
            from distributed import Client, KilledWorker
        except ImportError:
            hint = "pip install 'panel-allocator[cluster]'"
            raise InputError(
                [Fault("no-cluster", "dask.distributed is not installed", "--cluster", "", hint)]
            ) from None
        # A lost scheduler is told in the words of the command; the client would log tracebacks beside them.
        for name in ("distributed", "distributed.client"):
            logging.getLogger(name).setLevel(logging.CRITICAL)
        try:
            self._client: Client = Client(address, timeout=CONNECTING_S, set_as_default=False)
        except (OSError, ValueError) as error:
            message, known = "no scheduler answers", "an address such as tcp://127.0.0.1:8786"
            where = f"--cluster {address}: {str(error).splitlines()[0] if str(error) else type(error).__name__}"
            raise InputError([Fault("no-cluster", message, where, known)]) from None
        self.died: tuple[type[BaseException], ...] = (KilledWorker,)
        self._executor: Executor = self._client.get_executor()

    @property
    def width(self) -> int:
        """
        Two tasks for each thread of the workers that are there now.

        Raises
        ------
        ConnectionError
            If the scheduler is gone.
        """
        try:
            threads: Mapping[str, int] = self._client.nthreads()
        except OSError as error:
            raise ConnectionError from error
        return 2 * max(1, sum(threads.values()))

    def submit(self, task: Task) -> Future[Made]:
        """Give out a task under a name made of its fingerprint: the cluster does equal tasks once."""
        from allocator.batch.work import work

        return self._executor.submit(work, task, key=f"{task.name}-{task.fingerprint}")  # type: ignore[call-arg]

    def close(self) -> None:
        """Take back what was given out, and leave the cluster."""
        closing = threading.Thread(target=self._leave, daemon=True)
        closing.start()
        closing.join(CLOSING_S)

    def _leave(self) -> None:
        self._executor.shutdown(wait=False)
        self._client.close(CLOSING_S)


GONE: tuple[type[BaseException], ...] = (CancelledError,)
"""What a future raises when nobody will ever do its task: the scheduler is gone."""


def usable_cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1


def _longest_s(task: Task) -> float:
    return task.options.time_limit_s + MOST_EXTRA_S
