"""The raw documents of a scenario, ready to be written over: tables of two TOML files, and rows of cells."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from allocator.requirements.cells import items_of
from allocator.requirements.tables import TableRow

SCENARIO_TABLES: Mapping[str, str] = {"panels": "panel", "feeds": "feed", "load_cases": "load case"}
"""Tables of the scenario whose entries have a name, and the word for one entry."""


@dataclass
class Documents:
    """
    What was read of each file, not yet judged; None where a file could not be read.

    All of it is free to be changed; ``rows`` are the circuits.
    """

    scenario: dict[str, Any] | None
    rows: list[TableRow] | None
    catalogue: dict[str, Any] | None
    numbers: dict[str, list[int]] = field(default_factory=dict)
    """By table of which entries were taken away: the number in its file of each that is left."""

    def keep(self, table: str, entries: object, is_kept: Callable[[Any], bool]) -> None:
        """Take away the entries of a table that are not kept; ``rules.apart`` is one in the rules."""
        if not isinstance(entries, list) or all(map(is_kept, entries)):
            return
        numbers = self.numbers.get(table, list(range(1, len(entries) + 1)))
        kept = [(number, entry) for number, entry in zip(numbers, entries, strict=True) if is_kept(entry)]
        self.numbers[table] = [number for number, _ in kept]
        entries[:] = [entry for _, entry in kept]

    def entries(self, table: str, name: str = "name") -> list[dict[str, Any]]:
        """Return the named entries of a table of the scenario; of the catalogue where ``name`` is ``id``."""
        document = self.catalogue if name == "id" else self.scenario
        return named(document, table, name)

    def names(self, table: str) -> list[str]:
        """Return the names of what a table holds; ``parts`` are those of every table of the catalogue."""
        if table == "circuits":
            return [row.cells["id"] for row in self.rows or () if "id" in row.cells]
        if table == "parts":
            return [entry["id"] for part in self.catalogue or {} for entry in self.entries(part, "id")]
        return [entry["name"] for entry in self.entries(table)]

    def is_known(self, table: str) -> bool:
        """Whether the document that holds a table could be read."""
        document: object = {"circuits": self.rows, "parts": self.catalogue}.get(table, self.scenario)
        return document is not None


def named(document: Mapping[str, Any] | None, table: str, name: str) -> list[dict[str, Any]]:
    """Return the entries of a table that have a name."""
    entries = (document or {}).get(table)
    if not isinstance(entries, list):
        return []
    return [entry for entry in entries if isinstance(entry, dict) and isinstance(entry.get(name), str)]


def without(cell: str, dropped: frozenset[str]) -> str:
    """Return a list in a cell without some of its items; one that would become empty stays as it is."""
    kept = [item for item in items_of(cell) if item not in dropped]
    return "; ".join(kept) if kept else cell


def lists_in(scenario: Mapping[str, Any]) -> Iterator[tuple[dict[str, Any], str, str]]:
    """Yield every list of names in a scenario: the entry, the field, and the table of what it names."""
    rules = scenario.get("rules")
    rules = rules if isinstance(rules, dict) else {}
    for entries, column, table in (
        (scenario.get("feeds"), "panels", "panels"),
        (scenario.get("panels"), "carriers", "parts"),
        (scenario.get("wire_colours"), "feeds", "feeds"),
        (scenario.get("wire_colours"), "circuits", "circuits"),
        (rules.get("apart"), "circuits", "circuits"),
        (rules.get("together"), "circuits", "circuits"),
    ):
        for entry in entries if isinstance(entries, list) else ():
            if isinstance(entry, dict) and isinstance(entry.get(column), list):
                yield entry, column, table
