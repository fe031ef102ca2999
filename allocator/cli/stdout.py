"""
Standard output is for answers alone: what a compiled library prints there by itself goes nowhere.

A solver that says a line of its own in the middle of a ``--json`` document would spoil it.
"""

from __future__ import annotations

import io
import os
import sys


def keep_for_answers() -> None:
    """Give ``sys.stdout`` a descriptor of its own, and let descriptor 1 lead nowhere; a closed one stays as it is."""
    before = sys.__stdout__
    if before is None or sys.stdout is not before:
        return
    try:
        before.flush()
        own = os.dup(1)
    except OSError:
        return
    sys.stdout = io.TextIOWrapper(
        os.fdopen(own, "wb"),
        encoding=before.encoding,
        errors=before.errors,
        line_buffering=before.line_buffering,
    )
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.close(nowhere)
