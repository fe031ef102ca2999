"""
The table of a batch: rows in, ``summary.csv`` and plain data out.

Numbers are those of the checker; in the CSV they stand with decimals, in the data exactly, as text.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from allocator.batch.rows import Row
from allocator.outputs.records import Cell, Column, Records, records_csv
from allocator.requirements.shown_goals import SHOWN

COLUMNS = (
    *(Column(name) for name in ("scenario", "status", "vehicle", "circuits")),
    *(Column(shown.column, shown.decimals or None) for shown in SHOWN.values()),
    *(Column(name) for name in ("currency", "not_proven", "cut_by_time", "message")),
)


def table_csv(rows: Iterable[Row], remarks: Iterable[str]) -> str:
    """Return the table as CSV, one row for each scenario; ``docs/how-to/batch.md`` explains the columns."""
    return records_csv(Records("summary", COLUMNS, tuple(_cells(row) for row in rows)), remarks)


def _cells(row: Row) -> tuple[Cell, ...]:
    values = (row.values[goal] * shown.factor if goal in row.values else None for goal, shown in SHOWN.items())
    planned = row.status == "done"
    return (
        row.scenario, row.status, row.vehicle, row.circuits or None, *values, row.currency,
        "; ".join(row.open_goals), ("yes" if row.depends_on_time else "no") if planned else "", row.message,
    )  # fmt: skip


def table_data(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Return the table as plain data."""
    return [row.model_dump(mode="json") for row in rows]
