"""
Work in a thread of its own, and a caller who waits no longer than the clock and a moment allow.

A solver may be deep in compiled code when time is up; whoever asked for a plan then takes the best one so far.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from allocator.solving.engine import POLL_S, Abandoned, Clock

GRACE_S = 0.5
"""How long work may take to come to its own end when time is up; what is left of two seconds is for the plan."""


def watched(work: Callable[[], None], clock: Clock) -> bool:
    """
    Do work, and say whether it came to its end; what it raises is raised here.

    Work that is left behind, by an interrupt too, ends at its next call of the solver.
    """
    errors: list[BaseException] = []
    done = threading.Event()

    def run() -> None:
        try:
            work()
        except Abandoned:
            return
        except BaseException as error:
            errors.append(error)
        finally:
            done.set()

    threading.Thread(target=run).start()
    over_at: float | None = None
    try:
        while not done.wait(POLL_S):
            now = time.monotonic()
            over_at = now if over_at is None and clock.left_s <= 0 else over_at
            if over_at is not None and now > over_at + GRACE_S:
                break
    finally:
        clock.abandoned = not done.is_set()
    if errors:
        raise errors[0]
    return not clock.abandoned
