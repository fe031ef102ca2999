"""Edits that a person might make to a plan.json: change, remove or add one line of a list."""

from __future__ import annotations

from typing import Any

from allocator.plan.plan import GoalResult, Piece, PlacedCarrier, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import Strict

_LINE: dict[str, type[Strict]] = {
    "carriers": PlacedCarrier,
    "modules": PlacedModule,
    "ways": UsedWay,
    "sockets": UsedSocket,
    "pieces": Piece,
    "goals": GoalResult,
}
_KEY = {"carriers": "first_bay", "modules": "at", "ways": "need", "sockets": "need", "pieces": "at", "goals": "goal"}


def lines_of(plan: Plan, table: str) -> tuple[Any, ...]:
    return tuple(getattr(plan, table))


def with_lines(plan: Plan, table: str, lines: tuple[Any, ...]) -> Plan:
    return plan.model_copy(update={table: lines})


def change(plan: Plan, table: str, key: object, **fields: object) -> Plan:
    """Change fields of the lines that a key names; a test that names none is wrong."""
    lines = lines_of(plan, table)
    assert any(getattr(line, _KEY[table]) == key for line in lines)
    changed = (
        _LINE[table].model_validate(line.model_dump() | fields) if getattr(line, _KEY[table]) == key else line
        for line in lines
    )
    return with_lines(plan, table, tuple(changed))


def remove(plan: Plan, table: str, key: object) -> Plan:
    lines = lines_of(plan, table)
    kept = tuple(line for line in lines if getattr(line, _KEY[table]) != key)
    assert len(kept) < len(lines)
    return with_lines(plan, table, kept)


def add(plan: Plan, table: str, **fields: object) -> Plan:
    return with_lines(plan, table, (*lines_of(plan, table), _LINE[table].model_validate(fields)))


def again(plan: Plan, table: str, key: object, **fields: object) -> Plan:
    """Add a copy of a line, with fields changed."""
    line = next(line for line in lines_of(plan, table) if getattr(line, _KEY[table]) == key)
    return add(plan, table, **(line.model_dump() | fields))
