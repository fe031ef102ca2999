"""What the wheel carries: every package of the checkout, and the bundled vehicles."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from tests.cli.running import ROOT

SETUPTOOLS: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]


def test_every_folder_with_code_or_data_is_listed() -> None:
    """A room that is missing from the list would be missing from the wheel, and only there."""
    folders = {path.parent for path in (ROOT / "allocator").rglob("*") if path.suffix in (".py", ".toml", ".json")}
    names = {".".join(folder.relative_to(ROOT).parts) for folder in folders}
    assert sorted(SETUPTOOLS["packages"]) == sorted([*names, "allocator.examples"])


def test_the_vehicles_travel_under_the_name_that_init_looks_for() -> None:
    assert SETUPTOOLS["package-dir"]["allocator.examples"] == "scenarios"
    kept_back = SETUPTOOLS["exclude-package-data"]["allocator.examples"]
    carried = {
        path
        for pattern in SETUPTOOLS["package-data"]["allocator.examples"]
        for path in Path(ROOT / "scenarios").glob(pattern)
    } - {path for pattern in kept_back for path in Path(ROOT / "scenarios").glob(pattern)}
    files = {path for path in (ROOT / "scenarios").rglob("*") if path.is_file()}
    assert {path.name for path in files - carried} <= {"expected.toml"}
