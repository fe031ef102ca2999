"""
The cells of one circuits row in, the raw fields of a circuit and its bonds out.

A cell is text; here it becomes a list, a yes or no, a whole number or a table of lengths where the field is one. What
cannot be read stays text, so that the schema refuses it with its own sentence.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from allocator.requirements.scenario import Circuit, Level
from allocator.units import BadValue

LEVELS: tuple[Level, ...] = get_args(Level)
BOND_COLUMNS: Mapping[str, tuple[str, Level]] = {
    "separate_from": ("apart", "feed"),
    "together_with": ("together", "module"),
}
"""Columns that hold bonds: the rule they become, and the level where none is written."""

COLUMNS = (*Circuit.model_fields, *BOND_COLUMNS)
REQUIRED_COLUMNS = tuple(name for name, field in Circuit.model_fields.items() if field.is_required())

_LISTS = ("load_cases", "feeds", "panels")
_YES_NO = ("critical", "key_out")
_WHOLE = ("order", "bundle")


@dataclass(frozen=True, slots=True)
class RawBond:
    """One item of a bond cell: the other circuit and the level, for the rule ``apart`` or ``together``."""

    rule: str
    column: str
    other: str
    level: str


def circuit_fields(cells: Mapping[str, str]) -> tuple[dict[str, Any], dict[str, BadValue]]:
    """Return the raw fields of a circuit, and by field what could not be taken apart."""
    fields: dict[str, Any] = {}
    bad: dict[str, BadValue] = {}
    for column, text in cells.items():
        if column not in Circuit.model_fields:
            continue
        try:
            fields[column] = _value(column, text)
        except BadValue as error:
            bad[column] = error
    return fields, bad


def _value(column: str, text: str) -> Any:
    if column in _LISTS:
        return items_of(text)
    if column in _YES_NO:
        return {"yes": True, "no": False}.get(text.casefold(), text)
    if column in _WHOLE:
        return int(text) if re.fullmatch(r"[+-]?[0-9]{1,12}", text) else text
    return _lengths(text) if column == "length" else text


def items_of(text: str) -> list[str]:
    """Return the items of a list in a cell: "front; rear" holds two."""
    return [item.strip() for item in text.split(";") if item.strip()]


def _lengths(text: str) -> dict[str, str]:
    lengths: dict[str, str] = {}
    for item in items_of(text):
        panel, colon, length = item.rpartition(":")
        panel = panel.strip()
        if colon and not panel:
            raise BadValue("not-a-length", "has a colon without a panel", '"3.2 m" or "front: 3.2 m; rear: 7 m"')
        if panel in lengths:
            named = f'names the panel "{panel}" twice' if panel else "has two lengths without a panel"
            raise BadValue("listed-twice", named, "one length for each panel")
        lengths[panel] = length.strip()
    return lengths


def bonds_of(cells: Mapping[str, str]) -> list[RawBond]:
    """Return the bonds of a row: "pump" or "pump@row" in ``separate_from`` and ``together_with``."""
    bonds: list[RawBond] = []
    for column, (rule, default) in BOND_COLUMNS.items():
        for item in items_of(cells.get(column, "")):
            other, at, level = item.partition("@")
            bonds.append(RawBond(rule, column, other.strip(), level.strip() if at else default))
    return bonds
