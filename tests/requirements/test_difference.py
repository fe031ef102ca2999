"""Differences of requirements: every field that a user can write is seen when it is changed, and nothing else is."""

from __future__ import annotations

import re

import pytest

from allocator.errors import InputError
from allocator.requirements import requirements_from_json
from allocator.requirements.difference import ABSENT, THERE, input_rows
from tests.field_changes import CHANGES, Change
from tests.test_fields_matter import edited, steps_of
from tests.verifying.hand_built import build_requirements


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_every_changed_field_is_seen(change: Change) -> None:
    """Against the vehicle without the change; the field itself is named, or its entry where that is new or gone."""
    try:
        before = requirements_from_json(edited(change.given))
        after = requirements_from_json(edited((*change.given, (change.path, change.value), *change.also)))
    except InputError:
        pytest.skip("the change is refused")
    rows = input_rows([before, after])
    steps = {"" if step == "+" else step for step in steps_of(change.path)[1:]}
    assert any(row.field == "" or steps & {row.field, *re.split("[ ,.]+", row.field)} for row in rows), rows
    assert all(len(set(row.values)) == 2 for row in rows)
    mirrored = [(row.table, row.name, row.field, row.values[::-1]) for row in input_rows([after, before])]
    assert sorted(mirrored) == sorted((row.table, row.name, row.field, row.values) for row in rows)


def test_nothing_differs_from_itself() -> None:
    assert input_rows([build_requirements(), build_requirements(), build_requirements()]) == ()


def test_an_entry_that_is_not_there_is_one_row() -> None:
    before, after = build_requirements(), build_requirements()
    after = after.model_copy(update={"circuits": after.circuits[1:]})
    gone = before.circuits[0].id
    assert [(row.table, row.name, row.field, row.values) for row in input_rows([before, after])] == [
        ("circuits", gone, "", (THERE, ABSENT))
    ]
