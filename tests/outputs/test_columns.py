"""The columns that the documentation explains are the columns that the lists have."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from allocator.outputs import accounts, crimps, failures, lists, order
from allocator.outputs.workshop import expectations

PAGE = (Path(__file__).parents[2] / "docs" / "drawing-conventions.md").read_text(encoding="utf-8")
LISTS = {
    "parts.csv": tuple(column.name for column in order.COLUMNS),
    "wires.csv": tuple(column.name for column in lists.WIRE_COLUMNS),
    "tests.csv": tuple(column.name for column in expectations.COLUMNS),
    "crimps.csv": crimps.COLUMNS,
    "failures.csv": failures.COLUMNS,
    "goals.csv": accounts.COLUMNS,
}


def explained(name: str) -> list[str]:
    """Return the names in the first cells of the table under a list's heading."""
    chapter = PAGE.partition(f"\n## {name}\n")[2].partition("\n## ")[0]
    cells = re.findall(r"^\| (`.*?) \|", chapter, flags=re.MULTILINE)
    return [name for cell in cells for name in re.findall(r"`([a-z0-9_]+)`", cell)]


@pytest.mark.parametrize("name", LISTS)
def test_every_column_is_explained_once(name: str) -> None:
    assert sorted(explained(name)) == sorted(LISTS[name])


def test_every_csv_file_has_a_chapter() -> None:
    from allocator.outputs.drawing import FILES

    assert {file for file in FILES if file.endswith(".csv")} == set(LISTS)
