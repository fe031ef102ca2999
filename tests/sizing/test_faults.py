"""Where a refusal of the sums is shown: every rule has its field, and the place survives what is done in between."""

from __future__ import annotations

import pickle
import re
from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.plan.files import plan_text, read_plan
from allocator.requirements import load_scenario
from allocator.requirements.scenario import Circuit, Requirements
from allocator.requirements.vehicle import Feed
from allocator.sizing import faults as table
from allocator.sizing import size
from tests.outputs.conftest import content_of
from tests.requirements.folders import CIRCUITS, SCENARIO, changed, write

SIZING = Path(table.__file__).parent
FRONT = 'rating = "50 A"\npanels = ["front"]'
SPARE = '\n[[rules.spares]]\nfuse_format = "SF30"\ncount = 1\n'


def test_every_refusal_has_a_field() -> None:
    """A rule that is in neither table would be shown without one."""
    rules = {
        rule
        for path in SIZING.glob("*.py")
        for words in re.findall(r'rule=("[a-z-]+"(?: if wanted else "[a-z-]+")?)', path.read_text(encoding="utf-8"))
        for rule in re.findall(r"[a-z-]+", words)
    } - {"if", "wanted", "else"}
    assert len(rules) > 20
    assert rules <= {*table.CIRCUIT_FIELDS, *table.FEED_FIELDS}
    assert {*table.CIRCUIT_FIELDS.values()} - {None} <= set(Circuit.model_fields)
    assert {*table.FEED_FIELDS.values()} - {None} <= set(Feed.model_fields)


def refused(requirements: Requirements) -> list[str]:
    with pytest.raises(InputError) as caught:
        size(requirements)
    return [fault.where for fault in caught.value.faults]


def test_all_three_kinds_of_entries_are_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    scenario = changed(SCENARIO, ('rating = "40 A"', 'rating = "41 A"')) + SPARE
    write(Path("float"), scenario, changed(CIRCUITS, ("6 A", "600 A")))
    found = refused(load_scenario(Path("float")))
    assert 'float/circuits.csv, row 4, field "load" = "600 A"' in found
    assert 'float/scenario.toml, [[feeds]] no. 2 "key", field "rating" = "41 A"' in found
    assert 'float/scenario.toml, [[rules.spares]] no. 1, field "fuse_format" = "SF30"' in found


@pytest.mark.parametrize(
    ("scenario", "where"),
    [
        (
            [('fault_current = "800 A"', 'fault_current = "80 kA"')],
            'float/scenario.toml, [supply], field "fault_current" = "80 kA"',
        ),
        (
            [
                ('nominal_voltage = "12 V"', 'nominal_voltage = "48 V"'),
                ('operating_voltage = "14 V"', 'operating_voltage = "64 V"'),
                ('minimum_voltage = "11 V"', 'minimum_voltage = "40 V"'),
            ],
            'float/scenario.toml, [vehicle], field "nominal_voltage" = "48 V"',
        ),
    ],
    ids=["no fuse breaks it", "no fuse for the net"],
)
def test_a_fault_of_the_whole_is_shown_at_the_field_that_causes_it(
    scenario: list[tuple[str, str]], where: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write(Path("float"), changed(SCENARIO, *scenario))
    assert where in refused(load_scenario(Path("float")))


def test_the_place_of_a_circle_of_coils_is_the_control(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reader refuses one that is written; this one comes about afterwards."""
    monkeypatch.chdir(tmp_path)
    loaded = load_scenario(write(Path("float")))
    changed_switch = {"switching": "relay", "control": "pump"}
    circuits = tuple(item.model_copy(update=changed_switch if item.id == "switch" else {}) for item in loaded.circuits)
    assert refused(loaded.model_copy(update={"circuits": circuits})) == [
        'float/circuits.csv, row 4, field "control" = "switch"'
    ]


def test_the_place_of_a_spare_way_is_the_field_that_cannot_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At a panel that none of the feeds of circuits reaches."""
    monkeypatch.chdir(tmp_path)
    spare = '\n[[rules.spares]]\nfuse_format = "C"\ncount = 1\npanel = "rear"\n'
    scenario = changed(SCENARIO, ('rating = "60 A"', FRONT.replace("50", "60")), ('rating = "40 A"', FRONT)) + spare
    write(Path("float"), scenario, changed(CIRCUITS, ("front: 3 m; rear: 4 m", "3 m")))
    assert 'float/scenario.toml, [[rules.spares]] no. 1, field "panel" = "rear"' in refused(
        load_scenario(Path("float"))
    )


def test_the_place_goes_with_the_requirements(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Into another process as well."""
    monkeypatch.chdir(tmp_path)
    write(Path("float"), circuits=changed(CIRCUITS, ("6 A", "600 A")))
    loaded = load_scenario(Path("float"))
    assert refused(pickle.loads(pickle.dumps(loaded))) == refused(loaded)


def test_requirements_compare_by_content_wherever_they_were_written(tmp_path: Path) -> None:
    content = content_of("creek-workboat")
    (tmp_path / "plan.json").write_text(plan_text(content.plan), encoding="utf-8")
    again = read_plan(tmp_path / "plan.json").requirements
    assert again.where("circuits", "horn") != content.plan.requirements.where("circuits", "horn")
    assert again == content.plan.requirements
