"""Differences of requirements: every field that a user can write is seen when it is changed, and nothing else is."""

from __future__ import annotations

import re

import pytest

from allocator.errors import InputError
from allocator.requirements import requirements_from_json
from allocator.requirements.difference import ABSENT, THERE, InputRow, input_rows
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


def words_of(row: InputRow) -> set[str]:
    """Return the words of a field and, of an entry without a name, of what it says."""
    return set(re.split("[ ,.]+", " ".join((row.field, *row.values)) if " " in row.field else row.field))


@pytest.mark.parametrize("change", SEEN.values(), ids=SEEN)
def test_every_changed_field_is_seen(change: Change) -> None:
    """Against the vehicle without the change; the field itself is named, or its entry where that is new or gone."""
    before = requirements_from_json(edited(change.given))
    after = requirements_from_json(edited((*change.given, (change.path, change.value), *change.also)))
    rows = input_rows([before, after])
    steps = {"" if step == "+" else step for step in steps_of(change.path)[1:]}
    tables = {f"scenario.{row.table}" for row in rows}
    assert change.path in tables or any(row.field == "" or steps & {row.field, *words_of(row)} for row in rows), rows
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


RULES = "scenario.rules."
SPARE = {"fuse_format": "F", "count": 2, "feed": None, "panel": "aft", "reserve": "1.0 A"}
BOND = {"circuits": ["horn", "heater"], "level": "row"}
COLOURS = "scenario.wire_colours"
EARTH, BLUE, REST = (
    {"functions": ["earth", "return"], "colour": "BN"},
    {"kinds": ["ignition"], "colour": "BU", "tracer": "WH"},
    {"colour": "GY"},
)


def told(first: list[tuple[str, object]], second: list[tuple[str, object]]) -> list[tuple[str, ...]]:
    """Return what is told to differ between the hand-built vehicle with some edits, and with others."""
    rows = input_rows([requirements_from_json(edited(edits)) for edits in (first, second)])
    return [(row.table, row.name, row.field, *row.values) for row in rows]


@pytest.mark.parametrize("name", ["spares", "apart", "together"])
def test_a_rule_without_a_name_is_known_by_what_it_says(name: str) -> None:
    """One more in front of the others is one row, and another order none: counted by hand."""
    own = edited([])["scenario"]["rules"][name]
    new = SPARE if name == "spares" else BOND
    assert told([], [(RULES + name, [new, *own])]) == [
        (
            f"rules.{name}",
            "",
            "fuse_format F, panel aft, reserve 1.0 A" if name == "spares" else "circuits heater; horn, level row",
            "",
            "count 2" if name == "spares" else THERE,
        )
    ]
    turned = [{field: value[::-1] if field == "circuits" else value for field, value in rule.items()} for rule in own]
    assert told([], [(RULES + name, [new, *turned[::-1]])]) == told([], [(RULES + name, [*own, new])])


def test_spare_ways_of_one_kind_are_added_up() -> None:
    """Two and one ways are the three that one rule may ask for, and not the four of another."""
    three = [SPARE | {"count": 2}, SPARE | {"count": 1}]
    assert told([(RULES + "spares", three)], [(RULES + "spares", [SPARE | {"count": 3}])]) == []
    assert told([(RULES + "spares", three)], [(RULES + "spares", [SPARE | {"count": 4}])]) == [
        ("rules.spares", "", "fuse_format F, panel aft, reserve 1.0 A", "count 3", "count 4")
    ]


def test_the_order_of_colours_counts_only_among_those_that_both_have() -> None:
    """The first row that fits a wire counts, so that another order is another rule."""
    two, all_three = [(COLOURS, [EARTH, REST])], [(COLOURS, [BLUE, EARTH, REST])]
    assert told(two, all_three) == [("wire_colours", "", "kinds ignition", "", "colour BU, tracer WH")]
    assert told(two, [(COLOURS, [REST, EARTH])]) == [
        ("wire_colours", "", "order", "functions earth; return, then all", "all, then functions earth; return")
    ]
    assert told(two, [(COLOURS, [EARTH, REST | {"colour": "BK"}])]) == [
        ("wire_colours", "", "all", "colour GY", "colour BK")
    ]


def test_a_step_of_derating_is_known_by_its_temperature() -> None:
    steps = [{"ambient": f"{ambient} degC", "factor": f"{factor} %"} for ambient, factor in ((60, 90), (80, 70))]
    first = [("catalogue.modules.twin.derating", steps[1:])]
    assert told(first, [("catalogue.modules.twin.derating", steps)]) == [
        ("parts.modules", "twin", "derating ambient 60.0 degC", "", "factor 90.0 %")
    ]


def test_the_order_of_panels_in_a_length_counts_for_nothing() -> None:
    """A length is by panel: written the other way round it is the same, and a changed one is one row."""
    one = [("circuits.horn.length", {"aft": "6.5 m", "cabin": "1.5 m"})]
    other = [("circuits.horn.length", {"cabin": "1.5 m", "aft": "6.5 m"})]
    assert told(one, other) == []
    longer = [("circuits.horn.length", {"cabin": "2.5 m", "aft": "6.5 m"})]
    assert told(one, longer) == [
        ("circuits", "horn", "length", "aft: 6.5 m; cabin: 1.5 m", "aft: 6.5 m; cabin: 2.5 m"),
    ]
