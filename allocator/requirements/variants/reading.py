"""A variant file in, what it changes out: its tables as written, its drops and merges typed; or its faults."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Catalogue, Identifier, Part, Strict, Text
from allocator.requirements.documents import Document
from allocator.requirements.files import is_within, read_toml
from allocator.requirements.places import Spot, did_you_mean, quoted, shown
from allocator.requirements.quantities import Metre
from allocator.requirements.variants.documents import SCENARIO_TABLES

SINGLE_TABLES = ("vehicle", "supply", "rules", "document")
PART_TABLES = tuple(
    name
    for name, info in Catalogue.model_fields.items()
    for inner in getattr(info.annotation, "__args__", ())[:1]
    if isinstance(inner, type) and issubclass(inner, Part)
)
"""Tables of the catalogue whose entries have an id."""
KNOWN = ("title", "catalogue", *SINGLE_TABLES, *SCENARIO_TABLES, "wire_colours", "circuits", "parts", "drop", "merge",
         "every")  # fmt: skip


class Drop(Strict):
    """Names of what is no longer there."""

    panels: tuple[Identifier, ...] = ()
    feeds: tuple[Identifier, ...] = ()
    load_cases: tuple[Identifier, ...] = ()
    circuits: tuple[Identifier, ...] = ()
    parts: tuple[Identifier, ...] = ()


class Merge(Strict):
    """One panel goes up into another."""

    panel: Identifier = Field(description="panel that is no longer there")
    into: Identifier = Field(description="panel that takes what it held")
    longer_by: Metre = Field(description="what each run grows by that had no length from the other panel")


class Every(Strict):
    """What holds of all circuits or all rows."""

    feeds: Literal["first"] | None = Field(None, description="first: each circuit accepts the first of its feeds only")
    bus: Literal["single"] | None = Field(None, description="single: rows that take a bus strip are fed way by way")


class Head(Strict):
    """What a variant says of itself."""

    title: Text = Field(min_length=1, max_length=80, description="what is other, in a few words")
    catalogue: Text = Field("", max_length=200, description="catalogue file of the scenario folder")


@dataclass(frozen=True)
class Variant:
    """A variant as it was written: ``spots`` has the place of every entry by table and number from 0."""

    file: str
    title: str
    raw: Mapping[str, Any]
    spot: Spot
    spots: Mapping[tuple[str, int], Spot]
    drop: Drop
    merges: tuple[Merge, ...]
    every: Every

    @property
    def catalogue(self) -> str | None:
        """Catalogue file that it names in place of the scenario's."""
        return self.raw.get("catalogue")

    def entries(self, table: str) -> list[tuple[Spot, Mapping[str, Any]]]:
        """Return the entries of a table with their places; ``parts.fuses`` is one of the catalogue."""
        return [(spot, spot.raw) for (name, _), spot in self.spots.items() if name == table]


def read_variant(path: Path, folder: Path, rank: int) -> Variant:
    """
    Read a variant of a scenario.

    Parameters
    ----------
    path
        Its file: from where the command runs, or from the scenario folder; in that folder either way.
    folder
        The scenario folder.
    rank
        Place of the file in the order in which faults are listed.

    Raises
    ------
    InputError
        With every fault of the file itself; what it changes is judged with the scenario.
    """
    file, shown_path = _file_of(path, folder)
    raw = read_toml(file, shown_path)
    document = Document(shown_path, rank)
    head = document.spot("", "the variant", raw)
    document.item(Head, head, {name: raw[name] for name in Head.model_fields if name in raw})
    for name in raw:
        if name not in KNOWN:
            message, known = (
                f"the variant has the unknown table or field {shown(name)}",
                f"it may hold {quoted(KNOWN, 30)}",
            )
            document.faults.append(head.fault("unknown-field", message, known=known, hint=did_you_mean(name, KNOWN)))
    spots = _spots(document, raw)
    drop = document.item(Drop, document.spot("[drop]", "[drop]", _table(raw, "drop")), _table(raw, "drop"))
    every = document.item(Every, document.spot("[every]", "[every]", _table(raw, "every")), _table(raw, "every"))
    merges = [document.item(Merge, spot, spot.raw) for (table, _), spot in spots.items() if table == "merge"]
    if not document.faults and set(raw) <= {"title"}:
        hint = "name what is other: a table with the fields that change, [drop], [[merge]] or [every]"
        document.faults.append(head.fault("variant-empty", "the variant changes nothing", hint=hint))
    if document.faults or drop is None or every is None:
        raise InputError(placed.fault for placed in sorted(document.faults, key=lambda placed: placed.order))
    return Variant(
        shown_path, raw["title"], raw, head, spots, drop, tuple(merge for merge in merges if merge is not None), every
    )


def _file_of(path: Path, folder: Path) -> tuple[Path, str]:
    """Return the file that is meant, in the scenario folder, and its name for messages."""
    last = folder / path
    for candidate in (path, last):
        if is_within(candidate, folder) and (candidate == last or os.path.lexists(candidate)):
            return candidate, candidate.as_posix()
    known = f"expected a file in {folder.as_posix()}"
    raise InputError([Fault("outside-folder", "the variant is outside the scenario folder", path.as_posix(), known)])


def _table(raw: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    value = raw.get(name)
    return value if isinstance(value, Mapping) else {}


def _spots(document: Document, raw: Mapping[str, Any]) -> dict[tuple[str, int], Spot]:
    """Return the place of each table and entry, and report what is no table."""
    spots: dict[tuple[str, int], Spot] = {}
    for name in (*SINGLE_TABLES, "drop", "every", "parts"):
        if name in raw and not isinstance(raw[name], Mapping):
            _not_a_table(document, raw, name, f"a table [{name}]")
        elif name in raw and name in SINGLE_TABLES:
            spots[name, 0] = document.spot(f"[{name}]", f"[{name}]", raw[name])
    for name, word, key in (
        *((table, word, "name") for table, word in SCENARIO_TABLES.items()),
        ("circuits", "circuit", "id"),
        ("merge", "", ""),
    ):
        _entry_spots(document, raw, name, name, word, key, spots)
    parts = _table(raw, "parts")
    for name in parts:
        if name not in PART_TABLES:
            spot = document.spot("[parts]", "[parts]", parts)
            message, known = f"[parts] has the unknown table {shown(name)}", f"the tables are {quoted(PART_TABLES, 30)}"
            hint = did_you_mean(name, PART_TABLES)
            document.faults.append(spot.fault("unknown-field", message, known=known, hint=hint))
        else:
            _entry_spots(document, parts, name, f"parts.{name}", "part", "id", spots)
    return spots


def _entry_spots(
    document: Document,
    raw: Mapping[str, Any],
    name: str,
    table: str,
    word: str,
    key: str,
    spots: dict[tuple[str, int], Spot],
) -> None:
    entries = raw.get(name, [])
    if not isinstance(entries, list) or not all(isinstance(entry, Mapping) for entry in entries):
        _not_a_table(document, {table: entries}, table, f"tables [[{table}]]")
        return
    seen: dict[str, str] = {}
    for number, entry in enumerate(entries):
        place = f"[[{table}]] no. {number + 1}"
        spot = document.spot(place, place, entry)
        value = entry.get(key) if key else None
        if isinstance(value, str):
            spot = Spot(spot.file, f"{place} {shown(value)}", f"{word} {shown(value)}", spot.order, entry)
            if value in seen:
                message, known = f"{spot.subject} is changed twice", f"the first is at {seen[value]}"
                document.faults.append(spot.fault("duplicate-name", message, key, known=known))
            seen.setdefault(value, spot.place)
        elif key:
            message = f'{place} has no "{key}" to say which {word} it changes'
            document.faults.append(spot.fault("missing-field", message, key, known=f'expected the "{key}" of a {word}'))
        spots[table, number] = spot


def _not_a_table(document: Document, raw: Mapping[str, Any], name: str, expected: str) -> None:
    spot = document.spot("", "the variant", raw)
    document.faults.append(spot.fault("not-a-table", f'"{name}" is no table', name, known=f"expected {expected}"))
