"""Worker processes that end while they work, while they wait, and while they hold what others would wait for."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError

import psutil
import pytest
from pebble import ProcessExpired

from allocator.batch.crew import Crew

PATIENCE_S = 60.0


@pytest.fixture
def crew() -> Iterator[Crew]:
    made = Crew(2)
    yield made
    made.close()


def test_calls_are_done_and_their_errors_raised(crew: Crew) -> None:
    futures = [crew.submit(divmod, number, 3) for number in range(7)]
    assert [future.result(PATIENCE_S) for future in futures] == [divmod(number, 3) for number in range(7)]
    with pytest.raises(ZeroDivisionError):
        crew.submit(divmod, 1, 0).result(PATIENCE_S)
    assert crew.submit(divmod, 1, 1).result(PATIENCE_S) == (1, 0)


def test_a_process_that_dies_costs_its_own_call_alone(crew: Crew) -> None:
    """Among calls before and after it, more of them than there are processes."""
    around = [crew.submit(divmod, number, 2) for number in range(3)]
    dead = [crew.submit(os._exit, 7) for _ in range(3)]
    around += [crew.submit(divmod, number, 2) for number in range(3, 6)]
    for future in dead:
        with pytest.raises(ProcessExpired):
            future.result(PATIENCE_S)
    assert [future.result(PATIENCE_S) for future in around] == [divmod(number, 2) for number in range(6)]


def test_a_process_killed_while_it_waits_is_replaced(crew: Crew) -> None:
    """It has the lock of its calls then, or has just given it back: whoever shared it would wait for a minute."""
    processes = {crew.submit(os.getpid).result(PATIENCE_S) for _ in range(8)}
    for process in processes:
        psutil.Process(process).kill()
    time.sleep(1.0)  # longer than it takes to be noticed
    replaced = {crew.submit(os.getpid).result(PATIENCE_S) for _ in range(8)}
    assert replaced and not replaced & processes


def test_one_that_takes_too_long_is_ended(crew: Crew) -> None:
    with pytest.raises(TimeoutError):
        crew.submit(time.sleep, 600, timeout_s=0.5).result(PATIENCE_S)
    assert crew.submit(divmod, 7, 2).result(PATIENCE_S) == (3, 1)


def test_closing_ends_what_is_going_on() -> None:
    crew = Crew(1)
    process = crew.submit(os.getpid).result(PATIENCE_S)
    going = crew.submit(time.sleep, 600)
    while not going.running():
        time.sleep(0.01)
    crew.close()
    with pytest.raises(CancelledError):
        going.result(PATIENCE_S)
    deadline = time.monotonic() + PATIENCE_S
    while _is_there(process) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not _is_there(process)


def _is_there(process: int) -> bool:
    return psutil.pid_exists(process) and psutil.Process(process).status() != psutil.STATUS_ZOMBIE
