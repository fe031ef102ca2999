"""
The output folder: files appear in it all together or not at all, and nobody else's files are touched.

Files are made in a hidden folder on the same disk and moved over by renaming. ``run.json`` lists what a run wrote: the
next run may replace those files, and takes away those that it does not write again; all others are foreign. While files
are moved it lists the old and the new ones, so that a run that is killed there stands in nobody's way.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from allocator.cli.interrupts import current
from allocator.errors import Fault, InputError, printable
from allocator.leftovers import clear_leftovers, make_waiting, remove

RECORD = "run.json"
_LARGEST_RECORD_BYTES = 1_000_000
Move = tuple[Path, Path]
"""From, to."""


@dataclass(frozen=True, slots=True)
class OutFolder:
    """The folder that the user named, and the hidden one in which its files are made."""

    path: Path
    waiting: Path

    @property
    def files(self) -> Path:
        """Where the finished files stand before they are moved."""
        return self.waiting / "files"

    def place(self) -> list[str]:
        """
        Move the finished files to their place; where that fails half-way, put everything back.

        From here on no interrupt does anything: all will be written in a moment.

        Returns
        -------
        list of str
            Their names, sorted.

        Raises
        ------
        InputError
            If a file of another hand stands in the way.
        OSError
            If the folder cannot be written; it is then as it was.
        """
        current().hold()
        names = sorted(path.name for path in self.files.iterdir())
        if not self.path.exists():
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self.files.rename(self.path)
            return names
        refuse_foreign(self.path, names)
        self._move(names)
        return names

    def _move(self, names: Sequence[str]) -> None:
        replaced = self.waiting / "replaced"
        replaced.mkdir()
        ours = sorted({*_recorded(self.path), *names})
        kept: list[Move] = []
        moves: list[Move] = []
        if RECORD in names:
            if os.path.lexists(self.path / RECORD):  # it must be there all the time, so it is copied, then replaced
                shutil.copyfile(self.path / RECORD, replaced / RECORD)
                kept = [(self.path / RECORD, replaced / RECORD)]
            both = self.waiting / RECORD
            both.write_text(json.dumps({"files": ours}), encoding="utf-8")
            moves = [(both, self.path / RECORD)]
        others = [name for name in ours if name != RECORD]
        moves += [(self.path / name, replaced / name) for name in others if os.path.lexists(self.path / name)]
        moves += [(self.files / name, self.path / name) for name in sorted(names, key=lambda name: name == RECORD)]
        _rename_all(moves, kept)


@contextmanager
def out_folder(path: Path, expected: Iterable[str]) -> Iterator[OutFolder]:
    """
    Prepare an output folder, and tidy up behind it whatever happens.

    Parameters
    ----------
    path
        The folder that the user named; it need not exist.
    expected
        Names that are sure to be written, so that a foreign file is found before the work begins.

    Raises
    ------
    InputError
        If it is no folder, cannot be written, or holds a foreign file of one of these names.
    """
    refuse_foreign(path, expected)
    with _waiting(path) as waiting:
        yield OutFolder(path, waiting)


@contextmanager
def _waiting(path: Path) -> Iterator[Path]:
    try:
        # Inside, where the folder exists: it may be a disk of its own, across which no file can be renamed.
        place = _nearest_folder(path)
        clear_leftovers(place)
        with current().unbroken():
            waiting, lock = make_waiting(place)
            current().undo.append(lambda: remove(waiting))
    except OSError as error:
        raise InputError([Fault("out-folder", f"nothing can be written there: {error.strerror}", str(path))]) from None
    try:
        yield waiting
    finally:
        remove(waiting)
        if lock is not None:
            os.close(lock)


def written(out: Path, what: str) -> str:
    """Return the line that says what was written where; what of a path cannot be printed stands as escapes."""
    return f"Written to {printable(str(out))}: {what}\n"


def take_away(path: Path) -> None:
    """Remove what an earlier run wrote in a folder, and the folder itself if nothing else is in it."""
    for name in sorted(_recorded(path), key=lambda name: name == RECORD):
        (path / name).unlink(missing_ok=True)
    if path.is_dir() and not any(path.iterdir()):
        path.rmdir()


def refuse_foreign(path: Path, names: Iterable[str]) -> None:
    """Raise InputError if files of these names stand in a folder and no run wrote them."""
    own = _recorded(path)
    foreign = [name for name in names if name not in own and os.path.lexists(path / name)]
    if foreign:
        message = f"the folder holds files that no earlier run wrote there: {', '.join(foreign)}"
        hint = "give a new folder, or move them away"
        raise InputError([Fault("foreign-files", message, str(path), hint=hint)])


def _recorded(path: Path) -> frozenset[str]:
    """Names of the files that the last run wrote; none where its record is not there or not whole."""
    record = path / RECORD
    try:
        if not record.is_file() or record.stat().st_size > _LARGEST_RECORD_BYTES:
            return frozenset()
        names = json.loads(record.read_text(encoding="utf-8"))["files"]
        return frozenset(name for name in names if Path(name).name == name and not (path / name).is_dir())
    except (OSError, ValueError, TypeError, LookupError, RecursionError):
        return frozenset()


def _nearest_folder(path: Path) -> Path:
    """Return the folder, or the deepest one above it that exists."""
    place = next(place for place in (path.absolute(), *path.absolute().parents) if _is_there(place))
    if not place.is_dir():
        known = "it is a link that leads to no folder" if place.is_symlink() else ""
        hint = "give a folder, or a name that is not taken"
        message = "the output folder cannot be where a file is"
        raise InputError([Fault("not-a-folder", message, str(place), known, hint)])
    return place


def _is_there(path: Path) -> bool:
    """Look whether a name is taken; a name that is not possible raises OSError."""
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    return True


def _rename_all(moves: Iterable[Move], kept: Iterable[Move]) -> None:
    """Rename one after the other; if that fails, back again, what was kept aside too."""
    done = list(kept)
    try:
        for source, target in moves:
            source.replace(target)
            done.append((source, target))
    except BaseException:
        for source, target in reversed(done):
            if os.path.lexists(target):
                target.replace(source)
        raise
