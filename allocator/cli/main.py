"""
The entry of the command ``allocator``.

Words of the command line come in, the exit status goes out. What is slow is imported late, so that an interrupt while
the program starts is as quiet as any other.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import NoReturn

from allocator.cli.statuses import INTERRUPTED, leave_at_once


def run(arguments: Sequence[str] | None = None) -> NoReturn:
    """
    Run the command and exit with its status.

    Parameters
    ----------
    arguments
        Words behind ``allocator``; none: those of the process.
    """
    try:
        from allocator.cli.app import status_of

        status = status_of(sys.argv[1:] if arguments is None else arguments)
    except KeyboardInterrupt:
        sys.stderr.write("interrupted: nothing was written\n")
        leave_at_once(INTERRUPTED)
    sys.exit(status)
