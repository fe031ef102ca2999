"""
The run record ``run.json``: what was run when, how long each step took, and which files it wrote.

It holds what differs from run to run, so that plan.json need not.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from allocator.cli.folder import RECORD, OutFolder


class MadeBy(Protocol):
    """What knows the versions of program and solver: a plan, or a batch."""

    @property
    def allocator_version(self) -> str:
        """Version of the program."""

    @property
    def solver_version(self) -> str:
        """Name and version of the solver."""


@dataclass
class Run:
    """One run of a command, as it goes on."""

    command: str
    source: Path
    """Scenario or plan that was read."""
    seconds_by_step: dict[str, float] = field(default_factory=dict)
    started: str = field(default_factory=lambda: datetime.now(UTC).isoformat(timespec="seconds"))

    @contextmanager
    def step(self, name: str) -> Iterator[None]:
        """Measure a step."""
        begin = time.monotonic()
        try:
            yield
        finally:
            self.seconds_by_step[name] = round(time.monotonic() - begin, 3)

    def write(self, folder: OutFolder, made_by: MadeBy, more: Mapping[str, Any] | None = None) -> None:
        """Write the record beside the finished files."""
        names = sorted([RECORD, *(path.name for path in folder.files.iterdir())])
        record = {
            "command": self.command,
            "source": str(self.source),
            "started": self.started,
            "allocator_version": made_by.allocator_version,
            "solver_version": made_by.solver_version,
            "seconds_by_step": self.seconds_by_step,
            **(more or {}),
            "files": names,
        }
        (folder.files / RECORD).write_text(json.dumps(record, indent=2) + "\n", encoding="utf-8", newline="\n")
