"""The real command in a process of its own, at a terminal, so that real signals can be sent to it."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests.cli.running import COMMAND, ROOT

PATIENCE_S = 120.0


@dataclass
class Session:
    """A command at work, its stderr a terminal, and what it has said there so far."""

    process: subprocess.Popen[bytes]
    terminal: int
    said: str = ""
    deadline: float = field(default_factory=lambda: time.monotonic() + PATIENCE_S)

    def wait_for(self, words: str) -> None:
        """Read on until the words appear."""
        while words not in self.said:
            assert time.monotonic() < self.deadline, self.said
            assert self._read(), f"it ended without {words!r}: {self.said}"

    def wait_for_path(self, folder: Path, pattern: str) -> None:
        """Wait until something of that name is in the folder."""
        while not list(folder.glob(pattern)):
            assert time.monotonic() < self.deadline, self.said
            assert self.process.poll() is None, f"it ended without {pattern!r}: {self.said}"
            time.sleep(0.002)

    def interrupt(self, number: int = signal.SIGINT) -> None:
        """Press Ctrl-C, or send another signal."""
        self.process.send_signal(number)

    def end(self) -> tuple[int, str]:
        """Read to the end; return the status and stdout."""
        assert self.process.stdout is not None
        while self._read():
            assert time.monotonic() < self.deadline, self.said
        stdout = self.process.stdout.read().decode()
        return self.process.wait(), stdout

    def _read(self) -> bool:
        """Read what is there; say no when the other side is closed."""
        if select.select([self.terminal], [], [], 0.5)[0]:
            try:
                new = os.read(self.terminal, 65536)
            except OSError:  # how Linux says that nobody holds the other side any more
                return False
            self.said += new.decode().replace("\r\n", "\n")
            return bool(new)
        return True


@contextmanager
def session(*arguments: str | Path, **more: str) -> Iterator[Session]:
    terminal, inside = pty.openpty()
    with subprocess.Popen(
        [*COMMAND, *(str(argument) for argument in arguments)],
        stdout=subprocess.PIPE,
        stderr=inside,
        env=os.environ | {"PYTHONPATH": str(ROOT)} | more,
    ) as process:
        os.close(inside)
        try:
            yield Session(process, terminal)
        finally:
            process.kill()
            os.close(terminal)
