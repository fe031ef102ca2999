"""What a section of docs/benchmarks.md is: tasks to measure one by one, and a page made from what is kept of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from tests.benchmarks.results import Row


@dataclass(frozen=True)
class Task:
    """One thing to measure, by its name; ``measure`` returns plain data."""

    name: str
    measure: Callable[[], Row]


@dataclass(frozen=True)
class Section:
    """A part that is measured and shown on its own."""

    name: str
    title: str
    tasks: Callable[[bool], Iterable[Task]]
    """Called with whether the limits are to be short."""
    page: Callable[[Mapping[str, Row]], Iterator[str]]
    """Lines of the page, for the rows kept."""


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the lines of a table; all columns but the first are set to the right."""
    yield "| " + " | ".join(head) + " |"
    yield "|---|" + "---:|" * (len(head) - 1)
    for row in rows:
        yield "| " + " | ".join(str(cell) for cell in row) + " |"
    yield ""


def seconds(values: Sequence[float]) -> str:
    """Return median and worst of some times."""
    return f"{median(values):.2f} / {max(values):.2f}"


def grouped(rows: Mapping[str, Row], field: str) -> dict[str, list[Row]]:
    """Return the rows by the text of one field, in the order of first appearance."""
    found: dict[str, list[Row]] = {}
    for row in rows.values():
        found.setdefault(str(row[field]), []).append(row)
    return found
