"""Run the command, in this process or in one of its own, and keep all that it says."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from allocator.cli.main import run

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"
STARTER = SCENARIOS / "starter-camper"
COMMAND = (sys.executable, "-c", "from allocator.cli.main import run; run()")
"""What the installed ``allocator`` does."""


@dataclass(frozen=True)
class Ran:
    """What came of one run."""

    status: int
    stdout: str
    stderr: str

    @property
    def data(self) -> dict[str, Any]:
        """The document on stdout."""
        found: dict[str, Any] = json.loads(self.stdout)
        return found


def ran(*arguments: str | Path) -> Ran:
    """Run the command in this process."""
    out, err = io.StringIO(), io.StringIO()
    status: object = None
    with redirect_stdout(out), redirect_stderr(err):
        try:
            run([str(argument) for argument in arguments])
        except SystemExit as end:
            status = end.code
    assert isinstance(status, int)
    return Ran(status, out.getvalue(), err.getvalue())


def ran_apart(*arguments: str | Path, more: Mapping[str, str] | None = None, stdout: Any = subprocess.PIPE) -> Ran:
    """Run the command in a process of its own, its output piped; ``more`` is added to the environment."""
    done = subprocess.run(
        [*COMMAND, *(str(argument) for argument in arguments)],
        stdout=stdout,
        stderr=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT)} | dict(more or {}),
        check=False,
    )
    return Ran(done.returncode, (done.stdout or b"").decode(), done.stderr.decode())


@cache
def planned() -> tuple[Ran, Mapping[str, bytes]]:
    """Plan the starter once for all tests: what was said, and the content of every file by its name."""
    with TemporaryDirectory() as folder:
        result = ran("plan", STARTER, "--out", Path(folder) / "out")
        files = {path.name: path.read_bytes() for path in sorted((Path(folder) / "out").iterdir())}
    return result, files


def plan_folder(folder: Path) -> Path:
    """Write the planned starter into a folder and return it."""
    folder.mkdir(parents=True)
    for name, content in planned()[1].items():
        (folder / name).write_bytes(content)
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """Return the content of every file by its name."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
