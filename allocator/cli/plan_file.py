"""Where a command finds the plan that is named: the path of a file or folder in, the plan out."""

from __future__ import annotations

from pathlib import Path

from allocator.plan.files import read_plan
from allocator.plan.plan import Plan

PLAN_FILE = "plan.json"


def read(path: Path) -> Plan:
    """Read a plan.json, or the one in a folder; raise InputError with every fault."""
    file = path / PLAN_FILE if path.is_dir() else path
    return read_plan(file)
