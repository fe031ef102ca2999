"""
The table of a batch: rows in, ``summary.csv`` and plain data out.

Numbers are those of the checker; in the CSV they stand with decimals, in the data exactly, as text.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from allocator.batch.rows import Row
from allocator.outputs.records import Cell, Column, Records, records_csv
from allocator.requirements.scenario import Goal

_PER_CENT, _CENTS, _MM2_PER_CM2, _MM_PER_M = 100, 100, 100, 1000
_VALUES: tuple[tuple[Column, Goal, Fraction], ...] = (
    (Column("bays"), "bays", Fraction(1)),
    (Column("module_types"), "module-types", Fraction(1)),
    (Column("feed_entries"), "strip-pieces", Fraction(1)),
    (Column("peak_feed_load_percent", 1), "peak-utilisation", Fraction(_PER_CENT)),
    (Column("long_jumpers"), "long-jumpers", Fraction(1)),
    (Column("price", 2), "price", Fraction(1, _CENTS)),
    (Column("carriers"), "carriers", Fraction(1)),
    (Column("footprint_cm2", 1), "footprint", Fraction(1, _MM2_PER_CM2)),
    (Column("panels"), "panels", Fraction(1)),
    (Column("wire_length_m", 2), "wire-length", Fraction(1, _MM_PER_M)),
)
COLUMNS = (
    *(Column(name) for name in ("scenario", "status", "vehicle", "circuits")),
    *(column for column, _, _ in _VALUES),
    *(Column(name) for name in ("currency", "not_proven", "cut_by_time", "message")),
)


def table_csv(rows: Iterable[Row], remarks: Iterable[str]) -> str:
    """Return the table as CSV, one row for each scenario; ``docs/batch.md`` explains the columns."""
    return records_csv(Records("summary", COLUMNS, tuple(_cells(row) for row in rows)), remarks)


def _cells(row: Row) -> tuple[Cell, ...]:
    values = (row.values[goal] * unit if goal in row.values else None for _, goal, unit in _VALUES)
    planned = row.status == "done"
    return (
        row.scenario, row.status, row.vehicle, row.circuits or None, *values, row.currency,
        "; ".join(row.open_goals), ("yes" if row.depends_on_time else "no") if planned else "", row.message,
    )  # fmt: skip


def table_data(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Return the table as plain data."""
    return [row.model_dump(mode="json") for row in rows]
