"""
Who does the work: processes of this machine, or the workers of a cluster. Both hand out standard futures.

The pool is pebble's: of the standard kind, but one dead worker ends its own task alone, a hung one is ended, and each
worker is replaced after some tasks. The cluster is dask.distributed's, through its own executor.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, TimeoutError
from contextlib import contextmanager
from multiprocessing import connection
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING, Any, Protocol, cast

from pebble import ProcessExpired, ProcessPool

from allocator.batch.rows import Made
from allocator.batch.tasks import Task
from allocator.errors import Fault, InputError
from allocator.leftovers import clear_leftovers

if TYPE_CHECKING:
    from distributed import Client

TASKS_OF_A_WORKER = 100
"""A worker is replaced after so many, so that whatever piles up in it does not pile up without end."""
MOST_EXTRA_S = 120.0
"""Sizing, proof of a refusal and drawing may take so long beyond the time limit before a worker counts as hung."""
CLOSING_S = 1.0
CONNECTING_S = 10
_WORK = "allocator.batch.work"
_END = getattr(signal, "SIGKILL", signal.SIGTERM)
"""What ends a process whatever it is at; Windows knows the second one alone, which there does the same."""


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
    """Worker processes of this machine; where the system can fork, all is loaded once and shared by all of them."""

    tries = 3
    died: tuple[type[BaseException], ...] = (ProcessExpired, BrokenExecutor)
    hung: tuple[type[BaseException], ...] = (TimeoutError,)

    def __init__(self, jobs: int) -> None:
        self._jobs = jobs
        self._pool = self._new_pool()

    @property
    def width(self) -> int:
        """One task more for each worker than it works on, so that none waits."""
        return 2 * self._jobs

    def submit(self, task: Task) -> Future[Made]:
        """Give out a task, to a new pool if the old one is broken."""
        with _deaf_children():
            if not self._pool.active:
                self._pool = self._new_pool()
            from allocator.batch.work import work

            return cast("Future[Made]", self._pool.schedule(work, (task,), timeout=_longest_s(task)))

    def close(self) -> None:
        """End the workers; one that does not end in time is left to notice that nobody is there any more."""
        self._pool.stop()
        closing = threading.Thread(target=self._pool.join, daemon=True)
        closing.start()
        closing.join(CLOSING_S)
        clear_leftovers(Path(gettempdir()))

    def _new_pool(self) -> ProcessPool:
        return ProcessPool(self._jobs, TASKS_OF_A_WORKER, initializer=_begin, context=_context())


@contextmanager
def worker_processes(jobs: int) -> Iterator[Callable[..., Future[Any]]]:
    """
    Give a function that has calls done by processes of this machine: ``submit(function, *arguments)`` returns a future.

    At the end of the block the processes are ended, whatever is still going on.
    """
    pool = ProcessPool(jobs, TASKS_OF_A_WORKER, initializer=_begin, context=_context())

    def submit(function: Callable[..., Any], *arguments: Any) -> Future[Any]:
        with _deaf_children():
            return cast("Future[Any]", pool.schedule(function, arguments))

    try:
        yield submit
    finally:
        pool.stop()
        closing = threading.Thread(target=pool.join, daemon=True)
        closing.start()
        closing.join(CLOSING_S)


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


def _context() -> multiprocessing.context.BaseContext:
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([_WORK])
    return context


@contextmanager
def _deaf_children() -> Iterator[None]:
    """Let processes that are started here not hear Ctrl-C: whoever started them decides what it means."""
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin() -> None:
    """Let a worker end with whoever started it, even when that was killed."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return
    sentinel = parent.sentinel

    def watch() -> None:
        connection.wait([sentinel])
        os.kill(os.getpid(), _END)

    threading.Thread(target=watch, daemon=True).start()
