"""
The entry of the command ``allocator``.

Words of the command line come in, the exit status goes out. Nothing but this file is loaded before an interrupt is
heard, and what is slow is loaded by the work, so that an interrupt while the program starts is as quiet as any other.
"""

from __future__ import annotations

import sys

TYPE_CHECKING = False  # as typing has it, which takes some milliseconds to load
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import NoReturn


def run(arguments: Sequence[str] | None = None) -> NoReturn:
    """
    Run the command and exit with its status.

    Parameters
    ----------
    arguments
        Words behind ``allocator``; none: those of the process, which then ends without waiting for anything.
    """
    try:
        from allocator.cli.interrupts import beside_signals
        from allocator.cli.stdout import keep_for_answers

        if arguments is None:
            keep_for_answers()
        status = beside_signals(lambda: _status_of(sys.argv[1:] if arguments is None else arguments))
    except KeyboardInterrupt:
        _abort()
    if arguments is None:
        from allocator.cli.statuses import leave_at_once

        leave_at_once(status)
    sys.exit(status)


def _status_of(arguments: Sequence[str]) -> int:
    from allocator.cli.app import status_of

    return status_of(arguments)


def _abort() -> NoReturn:
    """Take back what was begun, and leave the work behind."""
    from contextlib import suppress

    from allocator.cli.interrupts import current, deafen
    from allocator.cli.statuses import INTERRUPTED, leave_at_once

    deafen()
    interrupts = current()
    for undo in reversed(interrupts.undo):
        undo()
    if interrupts.last_words is not None:
        interrupts.last_words()
    else:
        with suppress(AttributeError, OSError):  # closed or full: the status says it
            sys.stderr.write("interrupted: nothing was written\n")
    leave_at_once(INTERRUPTED)
