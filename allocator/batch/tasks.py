"""
A scenario folder in, a task out: all that a worker needs, by value, and a fingerprint of it.

A worker so needs no disk in common with whoever asks, and the fingerprint is that of the very bytes that it gets.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path

from allocator.errors import Fault, InputError, quoted_path
from allocator.requirements.files import LARGEST_TABLE_BYTES, is_within
from allocator.requirements.reading import SHIPPED_CATALOGUE

SCENARIO = "scenario.toml"
CIRCUITS = ("circuits.csv", "circuits.xlsx")
_SUFFIXES = (".toml", ".csv", ".xlsx")


@dataclass(frozen=True, slots=True)
class Options:
    """What is asked of every scenario of a batch."""

    time_limit_s: float
    drawings: bool = False


@dataclass(frozen=True, slots=True)
class Versions:
    """Versions of program and solver: another one may give other results."""

    allocator_version: str
    solver_version: str


@dataclass(frozen=True, slots=True)
class Task:
    """One scenario, to be planned anywhere."""

    name: str
    files: Mapping[str, bytes]
    """Content by path within the scenario folder."""
    options: Options
    versions: Versions

    @property
    def fingerprint(self) -> str:
        """Hash of everything that the result depends on; the catalogue that ships counts, whether used or not."""
        contents = {path: _hash(content) for path, content in self.files.items()}
        said = [self.name, contents, asdict(self.options), asdict(self.versions), _hash(SHIPPED_CATALOGUE.read_bytes())]
        return _hash(json.dumps(said, sort_keys=True).encode())


def versions_here() -> Versions:
    """Return the versions of this process."""
    return Versions(version("panel-allocator"), f"ortools {version('ortools')}")


def scenario_names(folder: Path) -> list[str]:
    """
    Return the names of the scenario folders in a folder, sorted.

    One that lost its ``scenario.toml`` but has circuits counts: it must be told, not passed over.

    Raises
    ------
    InputError
        If the folder cannot be read or holds none.
    """
    if not folder.is_dir():
        raise InputError([Fault("no-folder", "there is no such folder of scenarios", folder.as_posix())])
    names = [path.name for path in sorted(folder.iterdir()) if not path.name.startswith(".") and _is_scenario(path)]
    if not names:
        hint = f"for one scenario: allocator plan {quoted_path(folder)}" if _is_scenario(folder) else ""
        known = "expected a folder for each scenario, each with its scenario.toml"
        raise InputError([Fault("no-scenarios", "there are no scenarios", folder.as_posix(), known, hint)])
    return names


def task_of(folder: Path, name: str, options: Options, versions: Versions) -> Task:
    """
    Read the files of a scenario folder into a task.

    Raises
    ------
    InputError
        If one of them cannot be read; what is wrong in them is for the worker to find.
    """
    try:
        files = {path.relative_to(folder / name).as_posix(): _head(path) for path in _paths(folder / name)}
    except OSError as error:
        where = name if error.filename is None else Path(error.filename).relative_to(folder).as_posix()
        raise InputError([Fault("files", f"a file cannot be read: {error.strerror}", where)]) from None
    return Task(name, files, options, versions)


def _is_scenario(path: Path) -> bool:
    return any((path / file).is_file() for file in (SCENARIO, *CIRCUITS))


def _paths(folder: Path) -> Iterator[Path]:
    """Yield every file that the reading of the scenario may look at."""
    yield from (path for path in sorted(folder.iterdir()) if path.suffix in _SUFFIXES and path.is_file())
    catalogue = _catalogue(folder)
    if catalogue is not None:
        yield catalogue


def _catalogue(folder: Path) -> Path | None:
    """Return the catalogue, where it is a file in a folder within the scenario folder."""
    try:
        name = tomllib.loads((folder / SCENARIO).read_text(encoding="utf-8-sig")).get("catalogue")
        path = folder / name if isinstance(name, str) and name else None
        if path is None or not is_within(path, folder) or not path.is_file():
            return None
        return path if ".." not in path.relative_to(folder).parts else None
    except (OSError, ValueError, RecursionError):  # the worker finds the same, and says it well
        return None


def _head(path: Path) -> bytes:
    """Return the content; of a file that is too large just enough to be refused for it."""
    with path.open("rb") as stream:
        return stream.read(LARGEST_TABLE_BYTES + 1)


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
