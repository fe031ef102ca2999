"""
What differs between the requirements of several vehicles, or of variants of one: field by field.

Comes in as ``Requirements``; goes out as rows with the value that each of them has, as the user could have written it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from allocator.requirements.reading import requirements_to_json
from allocator.requirements.scenario import Requirements

THERE, ABSENT = "there", "not there"
Key = tuple[str, str, str]
_NAMES = ("name", "id", "module")


@dataclass(frozen=True, slots=True)
class InputRow:
    """
    One field that is not the same everywhere.

    ``table`` is a table of the scenario (``feeds``, ``rules``), ``circuits``, or one of the catalogue
    (``parts.fuses``); ``name`` the entry in it; ``field`` is empty where the entry as a whole is there or not.
    ``values`` holds one text for each of the requirements, empty where nothing is written.
    """

    table: str
    name: str
    field: str
    values: tuple[str, ...]


def input_rows(compared: Sequence[Requirements]) -> tuple[InputRow, ...]:
    """Return every field that differs; scenario first, then circuits, then catalogue, in the order of the files."""
    found = [_fields_of(requirements) for requirements in compared]
    entries = dict.fromkeys((table, name) for fields in found for table, name, _ in fields)
    present = [{(table, name) for table, name, _ in fields} for fields in found]
    rows: list[InputRow] = []
    for table, name in entries:
        if name and not all((table, name) in names for names in present):
            told = tuple(THERE if (table, name) in names else ABSENT for names in present)
            rows.append(InputRow(table, name, "", told))
    whole = {(row.table, row.name) for row in rows}
    for table, name, field in dict.fromkeys(key for fields in found for key in fields):
        values = tuple(fields.get((table, name, field), "") for fields in found)
        if (table, name) not in whole and len(set(values)) > 1:
            rows.append(InputRow(table, name, field, values))
    order = {key: number for number, key in enumerate(entries)}
    return tuple(sorted(rows, key=lambda row: order[row.table, row.name]))


def _fields_of(requirements: Requirements) -> Mapping[Key, str]:
    """Return the text of every field by table, entry and field."""
    data = requirements_to_json(requirements)
    fields: dict[Key, str] = {}
    for name, value in data["scenario"].items():
        _add(fields, name, value)
    _add(fields, "circuits", data["circuits"])
    for name, value in data["catalogue"].items():
        _add(fields, f"parts.{name}" if isinstance(value, list) else "catalogue", value, name)
    return fields


def _add(fields: dict[Key, str], table: str, value: Any, field: str = "") -> None:
    """Add a table, an array of tables or a single field."""
    if isinstance(value, Mapping):
        for name, inner in value.items():
            if isinstance(inner, list | Mapping) and name not in ("objective", "load"):
                _add(fields, f"{table}.{name}", inner, name)
            else:
                fields[table, "", name] = _text(inner)
    elif isinstance(value, list) and any(isinstance(item, Mapping) and _name_of(item) for item in value):
        for number, item in enumerate(value, 1):
            name = _name_of(item) or str(number)
            for inner_name, inner in item.items():
                fields |= {(table, name, part): text for part, text in _parts_of(inner_name, inner)}
    else:
        parent, _, own = table.rpartition(".")
        at, name = (parent, own) if parent and parent != "parts" else (table, field or table)
        fields |= {(at, "", part): text for part, text in _parts_of(name, value)}


def _parts_of(name: str, value: Any) -> Iterator[tuple[str, str]]:
    """Yield a field as it is, or the fields of each table in it: ``rows no. 2, bus``."""
    if isinstance(value, list) and value and all(isinstance(item, Mapping) for item in value):
        for number, item in enumerate(value, 1):
            yield from ((f"{name} no. {number}, {inner}", _text(text)) for inner, text in item.items())
    elif isinstance(value, Mapping):
        yield name, "; ".join(f"{inner}: {_text(text)}" if inner else _text(text) for inner, text in value.items())
    else:
        yield name, _text(value)


def _name_of(item: Mapping[str, Any]) -> str:
    return next((item[name] for name in _NAMES if isinstance(item.get(name), str)), "")


def _text(value: Any) -> str:
    if value is None or value == []:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        return "; ".join(map(_text, value))
    if isinstance(value, Mapping):  # a goal with its tolerance and cap
        return ", ".join(f"{name} {_text(inner)}" for name, inner in sorted(value.items()) if inner is not None)
    return json.dumps(value, ensure_ascii=False, sort_keys=True)
