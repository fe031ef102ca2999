"""Exit statuses of the command, and the way out that waits for nobody."""

from __future__ import annotations

import os
import sys
from typing import NoReturn

from allocator.cli.interrupts import deafen

DONE = 0
BUG = 1
"""A fault of the program itself; Python gives the same status to an error that nobody caught."""
BAD_INPUT = 2
"""Bad input or usage, and files that cannot be read or written."""
NOT_KEPT = 3
"""Requirements that cannot be met, and plans that do not keep theirs."""
NO_PLAN = 4
"""Stopped by a limit before any plan."""
INTERRUPTED = 130


def leave_at_once(status: int) -> NoReturn:
    """
    End the process without taking Python down in order.

    Work that was left behind may still be going on in compiled code, and must not find the interpreter half gone.
    """
    deafen()
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (AttributeError, OSError):  # closed, or nobody reads any more
            continue
    os._exit(status)
