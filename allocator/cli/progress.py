"""Progress of a search, for whoever sits at a terminal."""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Callable
from fractions import Fraction

from allocator.cli.answers import write

_FRACTION = re.compile(r"-?\d+/\d+")


def progress() -> Callable[[str], None] | None:
    """Return what prints a line of progress on stderr, or None where no terminal shows it."""
    if sys.stderr is None or not sys.stderr.isatty():
        return None
    begin = time.monotonic()

    def say(text: str) -> None:
        readable = _FRACTION.sub(lambda found: f"{float(Fraction(found[0])):.4f}", text)
        write(sys.stderr, f"{time.monotonic() - begin:6.1f} s  {readable}\n")

    return say
