"""
The same work for many vehicles: one after the other, or given out to whoever takes calls.

Comes in as a function with its arguments for each vehicle; goes out as results in their order. Where the work is given
out, function, arguments and results travel by value.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NotYet
from typing import Any, TypeVar

from allocator.errors import NoPlanInTime
from allocator.solving.engine import Clock

R = TypeVar("R")
Submit = Callable[..., "Future[Any]"]
"""``submit(function, *arguments)`` of an executor."""
POLL_S = 0.2


def spread(
    function: Callable[..., R], arguments: Sequence[tuple[Any, ...]], clock: Clock, submit: Submit | None, what: str
) -> list[R]:
    """
    Call a function for each of some arguments.

    Parameters
    ----------
    clock
        Interrupts, and who is told of progress.
    submit
        Gives a call out; none: all are done here.
    what
        What one result is, for progress.

    Raises
    ------
    NoPlanInTime
        If an interrupt comes.
    """
    futures = [] if submit is None else [submit(function, *each) for each in arguments]
    results = []
    for number, each in enumerate(arguments, 1):
        if clock.stop.is_set():
            raise NoPlanInTime("interrupted", interrupted=True)
        results.append(function(*each) if submit is None else _result(futures[number - 1], clock))
        clock.say(f"{what} {number} of {len(arguments)}")
    return results


def _result(future: Future[R], clock: Clock) -> R:
    while True:
        try:
            return future.result(timeout=POLL_S)
        except NotYet:
            if clock.stop.is_set():
                raise NoPlanInTime("interrupted", interrupted=True) from None
