"""
Worker processes of this machine: calls come in, futures go out, and a dead or hung process costs its own call alone.

Each process is pebble's, in a pool of its own, and has one call at a time: processes that share the locks of one pool
wait for ever once one of them is killed while it holds them. One that did not bring its call to an end is not used
again.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, wait
from multiprocessing import connection
from queue import SimpleQueue
from typing import Any

from pebble import ProcessPool

TASKS_OF_A_WORKER = 100
"""A worker is replaced after so many, so that whatever piles up in it does not pile up without end."""
CLOSING_S = 1.0
POLL_S = 0.1
_WORK = "allocator.batch.work"
_END = getattr(signal, "SIGKILL", signal.SIGTERM)
"""What ends a process whatever it is at; Windows knows the second one alone, which there does the same."""
_Call = tuple["Future[Any]", Callable[..., Any], tuple[Any, ...], float | None]


class Crew:
    """So many worker processes; where the system can fork, all is loaded once and shared by all of them."""

    def __init__(self, jobs: int) -> None:
        self._calls: SimpleQueue[_Call | None] = SimpleQueue()
        self._closed = threading.Event()
        self._threads = [threading.Thread(target=self._serve, daemon=True) for _ in range(jobs)]
        for thread in self._threads:
            thread.start()

    def submit(self, function: Callable[..., Any], *arguments: Any, timeout_s: float | None = None) -> Future[Any]:
        """
        Have a call done by the next process that is free.

        The future raises what the call raises; ``ProcessExpired`` or ``BrokenExecutor`` if its process died, and
        ``TimeoutError`` if it was ended after ``timeout_s``.
        """
        future: Future[Any] = Future()
        self._calls.put((future, function, arguments, timeout_s))
        return future

    def close(self) -> None:
        """End the processes, whatever is going on; one that does not end in time is left to notice that alone."""
        self._closed.set()
        for _ in self._threads:
            self._calls.put(None)
        for thread in self._threads:
            thread.join(CLOSING_S / len(self._threads))

    def _serve(self) -> None:
        """Give one process one call after the other."""
        if sys.platform != "win32":  # what is started here must not hear Ctrl-C: whoever started it decides
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        pool: ProcessPool | None = None
        while (call := self._calls.get()) is not None and not self._closed.is_set():
            future, function, arguments, timeout_s = call
            if not future.set_running_or_notify_cancel():
                continue
            try:
                if pool is None or not pool.active:  # it was killed while it had nothing to do
                    pool = ProcessPool(1, TASKS_OF_A_WORKER, initializer=_begin, context=_context())
                result = self._result(pool.schedule(function, arguments, timeout=timeout_s))
            except BaseException as error:
                _end(pool)
                pool = None
                future.set_exception(error)
            else:
                future.set_result(result)
        _end(pool)

    def _result(self, given: Future[Any]) -> Any:
        while not wait([given], POLL_S).done:
            if self._closed.is_set():
                raise CancelledError
        return given.result()


def _end(pool: ProcessPool | None) -> None:
    if pool is not None:
        pool.stop()
        closing = threading.Thread(target=pool.join, daemon=True)
        closing.start()
        closing.join(CLOSING_S)


def _context() -> multiprocessing.context.BaseContext:
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([_WORK])
    return context


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
