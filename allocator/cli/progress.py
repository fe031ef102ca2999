"""Progress of a search, for whoever sits at a terminal."""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Callable
from fractions import Fraction

from allocator.cli.answers import write

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


def readable(text: str) -> str:
    """Return a line of the search as a person reads it: decimals for fractions, and the gap of a goal left open."""
    gap = _OPEN.fullmatch(text)
    if gap is not None:
        text = f"{gap[1]}{gap[2]} (bound {gap[3]}, gap {Fraction(gap[2]) - Fraction(gap[3])}, not closed)"
    return _FRACTION.sub(lambda found: f"{float(Fraction(found[0])):.4f}", text)
