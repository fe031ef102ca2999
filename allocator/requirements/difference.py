"""
What differs between the requirements of several vehicles, or of variants of one: field by field.

Comes in as ``Requirements``; goes out as rows with the value that each of them has, as the user could have written it.
Entries without a name of their own are known by what they say, so that one more before them changes none of them.
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
_NAMES = ("name", "id")
_SAID_BY: Mapping[str, tuple[str, ...]] = {
    "rules.modules": ("module",),
    "rules.spares": ("fuse_format", "feed", "panel", "reserve"),
    "rules.apart": ("circuits", "level"),
    "rules.together": ("circuits", "level"),
    "wire_colours": ("functions", "kinds", "feeds", "circuits"),
    "parts.relay_tabs": ("relay_class", "function"),
    "derating": ("ambient",),
    "sockets": ("relay_class",),
}
"""Fields by which an entry without a name is known, by table."""
_NOTHING = ("", "0.0 A")
_ORDERED = "wire_colours"
"""Table of which the first entry that fits counts."""


@dataclass(frozen=True, slots=True)
class InputRow:
    """
    One field that is not the same everywhere.

    ``table`` is a table of the scenario (``feeds``, ``rules``), ``circuits``, or one of the catalogue
    (``parts.fuses``); ``name`` the entry in it; ``field`` is empty where the entry as a whole is there or not. An entry
    without a name is one field: what it is known by, as ``fuse_format F, panel aft``, with the rest as its value.
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
    rows += _other_order(found)
    order = {key: number for number, key in enumerate(entries)}
    return tuple(sorted(rows, key=lambda row: order[row.table, row.name]))


def _other_order(found: Sequence[Mapping[Key, str]]) -> list[InputRow]:
    """Return the row that tells in which order the entries stand that all have, where that is not the same."""
    names = [[field for table, _, field in fields if table == _ORDERED] for fields in found]
    common = set(names[0]).intersection(*names)
    orders = tuple(", then ".join(name for name in own if name in common) for own in names)
    return [InputRow(_ORDERED, "", "order", orders)] if len(set(orders)) > 1 else []


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
        for item in value:
            for inner_name, inner in item.items():
                fields |= {(table, _name_of(item), part): text for part, text in _parts_of(inner_name, inner)}
    elif table in _SAID_BY and value:
        fields |= {(table, "", name): text for name, text in _said(table, value).items()}
    else:
        parent, _, own = table.rpartition(".")
        at, name = (parent, own) if parent and parent != "parts" else (table, field or table)
        fields |= {(at, "", part): text for part, text in _parts_of(name, value)}


def _parts_of(name: str, value: Any) -> Iterator[tuple[str, str]]:
    """Yield a field as it is, or the fields of each table in it: ``rows no. 2, bus``."""
    if name in _SAID_BY and value:
        yield from ((f"{name} {entry}", text) for entry, text in _said(name, value).items())
    elif isinstance(value, list) and value and all(isinstance(item, Mapping) for item in value):
        for number, item in enumerate(value, 1):
            yield from ((f"{name} no. {number}, {inner}", _text(text)) for inner, text in item.items())
    elif isinstance(value, Mapping):
        told = sorted(value.items())  # by panel: the order in which they are written counts for nothing
        yield name, "; ".join(f"{inner}: {_text(text)}" if inner else _text(text) for inner, text in told)
    else:
        yield name, _text(value)


def _said(table: str, entries: Sequence[Mapping[str, Any]]) -> Mapping[str, str]:
    """Return what entries without a name say, by what they are known by; counts of equal ones are added up."""
    said: dict[str, list[Mapping[str, Any]]] = {}
    for entry in entries:
        known_by = ((name, _text(sorted(value) if isinstance(value, list) else value))
                    for name, value in entry.items() if name in _SAID_BY[table])  # fmt: skip
        words = (f"{name} {text}" for name, text in known_by if text not in _NOTHING)
        said.setdefault(", ".join(words) or "all", []).append(entry)
    return {name: _rest(table, alike) for name, alike in said.items()}


def _rest(table: str, alike: Sequence[Mapping[str, Any]]) -> str:
    """Return what is said by entries that are known by the same, apart from that."""
    if "count" in alike[0]:
        return f"count {sum(entry['count'] for entry in alike)}"
    rest = ({name: value for name, value in entry.items() if name not in _SAID_BY[table]} for entry in alike)
    return "; ".join(dict.fromkeys(_text(entry) for entry in rest)) or THERE


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
