"""
A comparison as one long list and as data: every row of every table, what is the same too.

Comes in as a ``Comparison``; goes out as CSV text and as plain data for JSON. ``docs/compare.md`` documents the
columns.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from allocator.notices import CAUTIONS
from allocator.outputs.comparing.side import Comparison
from allocator.outputs.records import csv_text
from allocator.plan.comparison import FIELDS

COLUMNS = ("section", "name", "field", "differs")


def comparison_csv(comparison: Comparison) -> str:
    """Return compare.csv: a row for each value that is compared, with a column for each plan."""
    rows = ((*head, "yes" if len(set(values)) > 1 else "", *values) for *head, values in _rows(comparison))
    names = [
        f"{letter} is {side.name}, plan {side.content.number}"
        for letter, side in zip(comparison.letters, comparison.sides, strict=True)
    ]
    return csv_text((*COLUMNS, *comparison.letters), rows, [*names, *CAUTIONS])


def _rows(comparison: Comparison) -> Iterator[tuple[str, str, str, tuple[str, ...]]]:
    for goal in comparison.goals:
        results = [found.get(goal) for found in comparison.results]
        yield "goal", goal, "value", tuple(_exact(values[goal]) for values in comparison.values)
        yield "goal", goal, "bound", tuple("" if result is None else _exact(result.bound) for result in results)
        yield "goal", goal, "outcome", tuple("" if result is None else result.outcome for result in results)
        yield "goal", goal, "proof", tuple("" if result is None else result.closed_by for result in results)
    for row in comparison.inputs:
        yield "input", " ".join(filter(None, (row.table, row.name))), row.field or "entry", row.values
    for row_ in comparison.spare:
        yield "free", row_.kind, row_.name, tuple(map(str, row_.counts))
    for feed in comparison.feeds:
        yield "feed", feed.feed, "share", tuple("" if share is None else _exact(share) for share in feed.shares)
    for part in comparison.parts:
        yield "part", part.part, part.unit, tuple(map(str, part.amounts))
        yield "part", part.part, "cents", tuple(map(_exact, part.cents))
    for need in comparison.needs:
        for field in FIELDS:
            values = tuple("" if standing is None else standing[field] for standing in need.standings)
            if any(values):
                yield need.kind, need.need, field, values


def _exact(value: Fraction) -> str:
    return str(value)


def comparison_data(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as plain data; exact numbers as text, in the order of the plans."""
    others = range(1, len(comparison.sides))
    return {
        "plans": [
            {
                "letter": letter,
                "name": side.name,
                "vehicle": side.content.plan.requirements.scenario.vehicle.name,
                "number": side.content.number,
                "depends_on_time": side.content.plan.depends_on_time,
                "goals": [result.model_dump(mode="json") for result in side.content.plan.goals],
            }
            for letter, side in zip(comparison.letters, comparison.sides, strict=True)
        ],
        "values": [
            {"goal": goal, "values": [_exact(values[goal]) for values in comparison.values]}
            for goal in comparison.goals
        ],
        "inputs": [
            {"table": row.table, "name": row.name, "field": row.field, "values": row.values}
            for row in comparison.inputs
        ],
        "free": [{"kind": row.kind, "name": row.name, "counts": row.counts} for row in comparison.spare],
        "feeds": [
            {"feed": row.feed, "shares": [None if share is None else _exact(share) for share in row.shares]}
            for row in comparison.feeds
        ],
        "parts": [
            {
                "part": row.part,
                "unit": row.unit,
                "amounts": row.amounts,
                "cents": [_exact(cents) for cents in row.cents],
            }
            for row in comparison.parts
        ],
        "needs": [
            {
                "need": row.need,
                "kind": row.kind,
                "label": row.label,
                "standings": [None if standing is None else dict(standing) for standing in row.standings],
                "fates": [row.fate(other) for other in others],
                "changed": [row.fields(other) for other in others],
            }
            for row in comparison.needs
        ],
        "cautions": list(CAUTIONS),
    }
