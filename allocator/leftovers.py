"""
Hidden folders to work in, and those of runs that were killed: the next run at the same place takes them away.

A folder in use holds a file with a lock on it, which ends with its process however that ends. So no folder of a live
run is touched, on whatever machine of a shared disk it goes on. Systems without such locks keep their leftovers.
"""

from __future__ import annotations

import errno
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

if sys.platform != "win32":
    import fcntl

PATTERN = ".allocator-*.part"
_LOCK = "in-use"


@contextmanager
def folder_of_ones_own(place: Path) -> Iterator[Path]:
    """
    Give a hidden folder at a place for as long as the block lasts, and clear that place up.

    Raises
    ------
    OSError
        If the place cannot be written.
    """
    clear_leftovers(place)
    folder, lock = make_waiting(place)
    try:
        yield folder
    finally:
        remove(folder)
        if lock is not None:
            os.close(lock)


def make_waiting(place: Path) -> tuple[Path, int | None]:
    """
    Make a hidden folder that counts as in use until its lock is closed.

    Returns
    -------
    Path
        The folder, named by the process.
    int or None
        File descriptor of the lock; None where the system has none.

    Raises
    ------
    OSError
        If the place cannot be written.
    """
    number = 1
    while True:
        waiting = place / PATTERN.replace("*", f"{os.getpid()}" if number == 1 else f"{os.getpid()}-{number}")
        try:
            waiting.mkdir(mode=0o700)
        except FileExistsError:  # a live one of the same number: of another machine, or another container
            number += 1
        else:
            break
    if not os.access(waiting, os.R_OK | os.W_OK | os.X_OK):
        waiting.rmdir()
        raise PermissionError(errno.EACCES, "the umask shuts owners out of their new folders", str(place))
    return waiting, _lock(waiting)


def clear_leftovers(place: Path) -> None:
    """Take away the folders of runs that are no more; what cannot be taken away stays."""
    for waiting in sorted(place.glob(PATTERN)):
        if _is_left_over(waiting):
            remove(waiting)


def remove(waiting: Path) -> None:
    """Take a hidden folder away, even from under a thread that was left behind and still writes into it."""
    gone = waiting.with_suffix(".gone.part")
    try:
        waiting.rename(gone)
    except OSError:
        gone = waiting
    shutil.rmtree(gone, ignore_errors=True)


def _lock(waiting: Path) -> int | None:
    if sys.platform == "win32":
        return None
    # Locked before it has its name: nobody finds it there without its lock.
    unnamed = waiting / f"{_LOCK}.new"
    descriptor = os.open(unnamed, os.O_CREAT | os.O_RDWR, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:  # a disk without locks
        os.close(descriptor)
        return None
    unnamed.rename(waiting / _LOCK)
    return descriptor


def _is_left_over(waiting: Path) -> bool:
    if sys.platform == "win32":
        return False
    try:
        descriptor = os.open(waiting / _LOCK, os.O_RDWR | os.O_NOFOLLOW)
    except OSError:  # not there yet, or not ours
        return False
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(descriptor)
    return True
