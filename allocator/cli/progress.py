"""Progress of a search or of a batch, for whoever sits at a terminal."""

from __future__ import annotations

import re
import sys
import time
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from allocator.cli.answers import write

if TYPE_CHECKING:
    from rich.progress import Progress

    from allocator.batch.rows import Row

_FRACTION = re.compile(r"-?\d+/\d+")
_OPEN = re.compile(r"(.*: )(\S+) \(bound (\S+), not closed\)")


def progress() -> Callable[[str], None] | None:
    """Return what prints a line of progress on stderr, or None where no terminal shows it."""
    if sys.stderr is None or not sys.stderr.isatty():
        return None
    begin = time.monotonic()

    def say(text: str) -> None:
        write(sys.stderr, f"{time.monotonic() - begin:6.1f} s  {readable(text)}\n")

    return say


class BatchBar:
    """
    A bar of many scenarios on stderr, where a terminal shows it.

    rich draws it: the command line's library brings it along, and it copes with narrow and dumb terminals.
    """

    def __init__(self, total: int, done: int) -> None:
        self._progress: Progress | None = None
        self._counts: Counter[str] = Counter()
        if sys.stderr is None or not sys.stderr.isatty():
            return
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
        from rich.progress import TimeRemainingColumn as Remaining

        columns = (
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            Remaining(),
            TextColumn("{task.description}"),
        )
        self._progress = Progress(*columns, console=Console(stderr=True, highlight=False), transient=True)
        self._task = self._progress.add_task("", total=total, completed=done)
        self._progress.start()

    def row(self, row: Row) -> None:
        """Count a scenario, and name what has no plan."""
        if self._progress is None:
            return
        self._counts[row.status] += row.status != "done"
        said = ", ".join(f"{number} {status}" for status, number in sorted(self._counts.items()) if number)
        self._progress.update(self._task, advance=1, description=said)

    def stop(self) -> None:
        """Take the bar away and give the cursor back."""
        if self._progress is not None:
            self._progress.stop()


def readable(text: str) -> str:
    """Return a line of the search as a person reads it: decimals for fractions, and the gap of a goal left open."""
    gap = _OPEN.fullmatch(text)
    if gap is not None:
        text = f"{gap[1]}{gap[2]} (bound {gap[3]}, gap {Fraction(gap[2]) - Fraction(gap[3])}, not closed)"
    return _FRACTION.sub(lambda found: f"{float(Fraction(found[0])):.4f}", text)
