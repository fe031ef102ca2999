"""
Work in a thread of its own, and a caller who waits no longer than until time is up, and a moment.

A solver or a drawing may be deep in compiled code then; whoever waits goes on with what there is.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

POLL_S = 0.05


def watched(work: Callable[[], object], is_over: Callable[[], bool], grace_s: float) -> bool:
    """
    Do work, and say whether it came to its end; what it raises until then is raised here.

    Parameters
    ----------
    is_over
        Whether time is up.
    grace_s
        How long the work may then take to end by itself, seconds; after that it is left behind.
    """
    errors: list[BaseException] = []
    done = threading.Event()

    def run() -> None:
        try:
            work()
        except BaseException as error:
            errors.append(error)
        finally:
            done.set()

    if is_over() and grace_s <= 0:
        return False
    threading.Thread(target=run).start()
    over_at: float | None = None
    while not done.wait(POLL_S):
        now = time.monotonic()
        over_at = now if over_at is None and is_over() else over_at
        if over_at is not None and now >= over_at + grace_s:
            return False
    if errors:
        raise errors[0]
    return True
