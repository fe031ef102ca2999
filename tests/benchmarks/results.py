"""
Results of the benchmarks, kept so that a part can be measured again without the rest.

One JSON file a section in ``results/``; every row stands under its own name with the versions, machine and day it was
measured with. Nothing is measured here.
"""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "results"
Row = dict[str, Any]
_CPU = Path("/proc/cpuinfo")


def circumstances(quick: bool) -> dict[str, str]:
    """Return what a timing depends on: processor, cores, versions, the day, and whether the limits were short."""
    return {
        "processor": f"{_processor()}, {os.cpu_count()} cores",
        "python": platform.python_version(),
        "ortools": version("ortools"),
        "highs": version("highspy"),
        "day": datetime.now(UTC).date().isoformat(),
        "limits": "short" if quick else "full",
    }


def _processor() -> str:
    if _CPU.exists():
        lines = _CPU.read_text(encoding="utf-8").splitlines()
        names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
        return names[0] if names else platform.machine()
    return platform.processor() or platform.machine()


@dataclass
class Results:
    """Rows of one section by name, and the circumstances of each."""

    section: str
    rows: dict[str, Row] = field(default_factory=dict)

    @property
    def _path(self) -> Path:
        return FOLDER / f"{self.section}.json"

    @classmethod
    def read(cls, section: str) -> Results:
        """Read what is kept of a section; nothing where it was never measured."""
        results = cls(section)
        if results._path.exists():
            results.rows = json.loads(results._path.read_text(encoding="utf-8"))
        return results

    def keep(self, name: str, row: Mapping[str, Any], about: Mapping[str, str]) -> None:
        """Keep a row at once, so that an interrupt loses nothing; the old one of that name goes."""
        self.rows[name] = {**row, "about": dict(about)}
        FOLDER.mkdir(exist_ok=True)
        text = ",\n".join(f"{json.dumps(key)}: {json.dumps(value)}" for key, value in sorted(self.rows.items()))
        self._path.write_text(f"{{\n{text}\n}}\n", encoding="utf-8")

    def about(self) -> list[dict[str, str]]:
        """Return the circumstances of all rows, each once."""
        found = {json.dumps(row["about"], sort_keys=True): row["about"] for row in self.rows.values()}
        return [about for _, about in sorted(found.items())]
