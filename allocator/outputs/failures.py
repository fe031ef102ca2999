"""
failures.csv: what goes dark when a feed, a fuse or a relay fails, one row for each failure and load case.

Comes in as the Content of a plan; goes out as CSV text like the other lists. ``docs/drawing-conventions.md`` documents
the columns.
"""

from __future__ import annotations

from collections.abc import Iterator

from allocator.outputs.content import Content
from allocator.outputs.lists import remarks_of
from allocator.outputs.records import csv_text
from allocator.plan.failures import Failure, failures, shared_fates

COLUMNS = (
    "failure", "of", "label", "place", "load_case", "num_dark", "dark", "falls_back", "critical", "critical_pairs",
)  # fmt: skip


def failures_csv(content: Content) -> str:
    """Return failures.csv; remarks at its end name the pairs of critical circuits that share a fate."""
    found = failures(content.index)
    rows = [row for failure in found for row in _rows(content, failure)]
    pairs = [
        f"critical circuits {first} and {second} share a fate: " + ", ".join(failure_name(item) for item in shared)
        for (first, second), shared in shared_fates(found).items()
    ]
    return csv_text(COLUMNS, rows, [*pairs, *remarks_of(content)])


def failure_name(failure: Failure) -> str:
    """Return what fails in words, such as ``fuse helm/1/A/2``."""
    return (
        f"{failure.kind} {failure.place or failure.name}"
        if failure.kind != "main fuse"
        else f"main fuse of {failure.name}"
    )


def _rows(content: Content, failure: Failure) -> Iterator[tuple[object, ...]]:
    need = content.sized.need_by_id.get(failure.name)
    feeds = {feed.name: feed.label for feed in content.sized.requirements.scenario.feeds}
    label = feeds.get(failure.name, need.label if need else "")
    cases = content.sized.requirements.scenario.load_cases
    for case, effect in zip(cases, failure.effect_by_case, strict=True):
        lists = (effect.dark, effect.falls_back, effect.critical)
        pairs = "; ".join(f"{first} + {second}" for first, second in effect.critical_pairs)
        words = ("; ".join(names) for names in lists)
        yield failure.kind, failure.name, label, failure.place, case.name, len(effect.dark), *words, pairs
