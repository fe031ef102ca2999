"""
Ctrl-C, and being told to end: what has been found is kept, and a second one aborts at once.

A command works in a thread of its own while the main thread waits and hears the signals. So an interrupt never breaks
into compiled code, which might take it for an error of its own (loading a library, writing JSON): either the work ends
itself, or it is left behind with the process.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TypeVar

T = TypeVar("T")
STOPPING = b"stopping: the best plan so far, if there is one, will be written; interrupt again to abort at once\n"
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")
"""Ctrl-C, the polite request to end, and a terminal that was closed; not every system knows the last one."""
_POLL_S = 0.1
_STACK_BYTES = 16 * 1024 * 1024
"""Some systems give a thread far less than the main one has."""


class Interrupts:
    """
    What an interrupt does to a run, by how far it has come.

    At first it aborts: there is nothing to keep. From ``note`` on the first one only sets ``stop``, and the second one
    aborts. From ``hold`` on none does anything. ``undo`` and ``last_words`` are for the main thread when it aborts.
    """

    def __init__(self) -> None:
        self.stop = threading.Event()
        self.undo: list[Callable[[], None]] = []
        self.last_words: Callable[[], None] | None = None
        self._lock = threading.RLock()
        self._saying = STOPPING
        self._notes = self._holds = self._aborts = False

    @contextmanager
    def unbroken(self) -> Iterator[None]:
        """Let no abort come between; work that was aborted already ends here."""
        with self._lock:
            if self._aborts:
                raise SystemExit
            yield

    def note(self, saying: bytes = STOPPING) -> threading.Event:
        """From now on there may be something to keep: let the first interrupt say so and set an event; return that."""
        with self.unbroken():
            self._notes, self._saying = True, saying
        return self.stop

    def hold(self) -> None:
        """From now on let everything come to its end; it takes no longer than writing and renaming a few files."""
        with self.unbroken():
            self._holds = True

    def heard(self, number: int, frame: FrameType | None) -> None:
        """Take a signal, in the main thread."""
        with self._lock:
            first = not self.stop.is_set()
            self.stop.set()
            if self._holds:
                return
            if not (first and self._notes):
                self._aborts = True
                raise KeyboardInterrupt
        # Past the buffers: another thread may be in the middle of a write to the same stream.
        try:
            os.write(2, self._saying)
        except OSError:
            return


_current = Interrupts()


def current() -> Interrupts:
    """Return the interrupts of the command that runs."""
    return _current


def beside_signals(work: Callable[[], T]) -> T:
    """
    Do the work of a command in a thread of its own, and hear signals meanwhile.

    Raises
    ------
    KeyboardInterrupt
        If an interrupt aborts the work, which is then left behind and must not be waited for.
    """
    global _current
    _current = interrupts = Interrupts()
    results: list[T] = []
    errors: list[BaseException] = []
    done = threading.Event()

    def run() -> None:
        try:
            results.append(work())
        except BaseException as error:
            errors.append(error)
        finally:
            done.set()

    with _heeding(interrupts.heard):
        threading.stack_size(_STACK_BYTES)
        threading.Thread(target=run, daemon=True).start()
        while not done.wait(_POLL_S):
            pass
    if errors:
        raise errors[0]
    return results[0]


def deafen() -> None:
    """Hear nothing any more: the process says its last words and ends."""
    for number in _numbers():
        signal.signal(number, signal.SIG_IGN)


@contextmanager
def _heeding(heard: Callable[[int, FrameType | None], None]) -> Iterator[None]:
    """Bring every signal that asks for an end to one handler; a closed terminal not where the caller ignores it."""
    before = {}
    for number in _numbers():
        if number == signal.SIGINT or signal.getsignal(number) != signal.SIG_IGN:
            before[number] = signal.signal(number, heard)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _numbers() -> list[signal.Signals]:
    if threading.current_thread() is not threading.main_thread():  # there Python hears none
        return []
    return [getattr(signal, name) for name in _SIGNALS if hasattr(signal, name)]
