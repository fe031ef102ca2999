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

REFUSED = frozenset(
    {
        "PanelSite.name", "Feed.name", "Feed.home", "LoadCase.name", "Circuit.id", "Circuit.panels", "Module.id",
        "Carrier.id", "Strip.id", "Row.tab", "Relay.relay_class", "Relay.function", "RelayTabs.relay_class",
        "RelayTabs.function",
    }
)  # fmt: skip
"""Changes that no requirements can have: others name what is changed, so that there is nothing to compare."""
SEEN = {name: change for name, change in CHANGES.items() if name not in REFUSED}


@pytest.mark.parametrize("name", sorted(REFUSED))
def test_what_is_refused_is_not_compared(name: str) -> None:
    change = CHANGES[name]
    with pytest.raises(InputError):
        requirements_from_json(edited((*change.given, (change.path, change.value), *change.also)))


@pytest.mark.parametrize("change", SEEN.values(), ids=SEEN)
def test_every_changed_field_is_seen(change: Change) -> None:
    """Against the vehicle without the change; the field itself is named, or its entry where that is new or gone."""
    before = requirements_from_json(edited(change.given))
    after = requirements_from_json(edited((*change.given, (change.path, change.value), *change.also)))
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
