"""
Ctrl-C during a plan: the first asks the search to end, the second aborts at once.

Comes in as signals; goes out as a set event, or as KeyboardInterrupt wherever the main thread is.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType, TracebackType

_STOPPING = b"stopping: the best plan so far will be written; interrupt again to abort at once\n"


class Interrupts:
    """
    Handler of interrupts while it is entered.

    Outside of ``searching`` and ``held`` the first interrupt raises KeyboardInterrupt; within ``searching`` it sets
    ``stop``, and the second one raises; within ``held`` none raises.
    """

    def __init__(self) -> None:
        self.stop = threading.Event()
        self._searching = False
        self._held = False

    def __enter__(self) -> Interrupts:
        self._before = signal.signal(signal.SIGINT, self._heard)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        signal.signal(signal.SIGINT, self._before)

    @contextmanager
    def searching(self) -> Iterator[threading.Event]:
        """Hand out the event that the search watches."""
        self._searching = True
        try:
            yield self.stop
        finally:
            self._searching = False

    @contextmanager
    def held(self) -> Iterator[None]:
        """Let what must not be torn apart come to its end; it takes no longer than renaming a few files."""
        self._held = True
        try:
            yield
        finally:
            self._held = False

    def _heard(self, number: int, frame: FrameType | None) -> None:
        first = not self.stop.is_set()
        self.stop.set()
        if self._held:
            return
        if not (first and self._searching):
            raise KeyboardInterrupt
        # Past the buffers: the main thread may be in the middle of a write to the same stream.
        try:
            os.write(2, _STOPPING)
        except OSError:
            return
