"""
Results on disk: one folder for each scenario, there as a whole or not at all.

A result counts if its record names the same fingerprint and every file is there with the content that was written. A
folder is made under a hidden name and renamed; one batch at a time holds the lock.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Literal

from allocator.batch.rows import FINAL, Made, Row
from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Strict

if sys.platform != "win32":
    import fcntl

RECORD = "result.json"
_PART, _OLD = ".part", ".old"
_LOCK = ".in-use"


class ResultRecord(Strict):
    """What ``result.json`` holds."""

    batch_format: Literal[1] = 1
    fingerprint: str
    row: Row
    faults: tuple[dict[str, str], ...]
    files: dict[str, str]
    """SHA-256 of every file, by name."""


class Results:
    """The folder of results."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @contextmanager
    def opened(self) -> Iterator[None]:
        """
        Make the folder, hold it against other batches, and take away what a killed one left half made.

        Raises
        ------
        InputError
            If it cannot be written, or another batch is at work there.
        """
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            lock = os.open(self.folder / _LOCK, os.O_CREAT | os.O_RDWR, 0o600)
        except OSError as error:
            where = self.folder.as_posix()
            raise InputError([Fault("out-folder", f"nothing can be written there: {error.strerror}", where)]) from None
        try:
            self._hold(lock)
            for path in self.folder.glob(".*"):
                if path.suffix in (_PART, _OLD):
                    shutil.rmtree(path, ignore_errors=True)
            yield
        finally:
            os.close(lock)

    def _hold(self, lock: int) -> None:
        if sys.platform == "win32":
            return
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            message, hint = "another batch is at work there", "wait for its end, or give another folder"
            raise InputError([Fault("batch-at-work", message, self.folder.as_posix(), hint=hint)]) from None
        except OSError:  # a disk without locks
            return

    def finished(self, name: str, fingerprint: str) -> Row | None:
        """Return the row of a scenario whose result counts; None if it is to be done."""
        record = self._record(name)
        if record is None or record.fingerprint != fingerprint or record.row.status not in FINAL:
            return None
        is_whole = all(_hash_of(self.folder / name / file) == known for file, known in record.files.items())
        return record.row if is_whole else None

    def refuse_foreign(self, names: Iterable[str]) -> None:
        """Raise InputError if a folder that is to be replaced holds anything that no batch wrote."""
        faults = []
        for name in names:
            record, place = self._record(name), self.folder / name
            own = {RECORD, *(record.files if record else ())}
            if os.path.lexists(place) and not place.is_dir():
                faults.append(Fault("not-a-folder", "a result cannot be where a file is", place.as_posix()))
            foreign = sorted(path.name for path in place.iterdir() if path.name not in own) if place.is_dir() else []
            if foreign:
                message = f"the folder of a result holds files that no batch wrote there: {', '.join(foreign)}"
                faults.append(Fault("foreign-files", message, place.as_posix(), hint="move them away"))
        if faults:
            raise InputError(faults)

    def keep(self, made: Made, fingerprint: str) -> None:
        """
        Write the result of a scenario in place of any older one.

        Raises
        ------
        OSError
            If it cannot be written; nothing of it is then seen.
        """
        name = made.row.scenario
        part, old, place = (self.folder / f".{name}{_PART}", self.folder / f".{name}{_OLD}", self.folder / name)
        try:
            part.mkdir()
            for file, content in made.files.items():
                (part / file).write_bytes(content)
            record = ResultRecord(
                fingerprint=fingerprint,
                row=made.row,
                faults=tuple(asdict(fault) for fault in made.faults),
                files={file: hashlib.sha256(content).hexdigest() for file, content in sorted(made.files.items())},
            )
            (part / RECORD).write_text(record.model_dump_json(indent=2) + "\n", encoding="utf-8", newline="\n")
            _put(part, place, old)
        finally:
            shutil.rmtree(part, ignore_errors=True)
            shutil.rmtree(old, ignore_errors=True)

    def _record(self, name: str) -> ResultRecord | None:
        try:
            return ResultRecord.model_validate_json((self.folder / name / RECORD).read_bytes())
        except (OSError, ValueError):  # not there, not whole, or not ours
            return None


def _put(part: Path, place: Path, old: Path) -> None:
    """Rename a folder to its place, and the one that is there out of it; where that fails, back again."""
    if not place.exists():
        part.rename(place)
        return
    place.rename(old)
    try:
        part.rename(place)
    except OSError:
        old.rename(place)
        raise


def _hash_of(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None
