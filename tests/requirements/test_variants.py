"""Variants: laid over a scenario they give what the scenario edited by hand gives, in every way of changing it."""

from __future__ import annotations

from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.requirements import load_scenario
from allocator.requirements.catalogue import Catalogue, Part
from allocator.requirements.reading import SHIPPED_CATALOGUE
from allocator.requirements.scenario import Scenario
from allocator.requirements.variants.documents import SCENARIO_TABLES
from allocator.requirements.variants.reading import PART_TABLES, SINGLE_TABLES
from tests.requirements.folders import CIRCUITS, SCENARIO, changed, write

SPARES = '\n[[rules.spares]]\nfuse_format = "F"\ncount = 2\npanel = "rear"\n'
APART = '\n[[rules.apart]]\ncircuits = ["lamp", "pump"]\nlevel = "row"\n'
ROW = {row.split(",", 1)[0]: row for row in CIRCUITS.splitlines()}
REAR = SCENARIO[SCENARIO.index('[[panels]]\nname = "rear"') : SCENARIO.index('[[feeds]]\nname = "battery"')]
FRONT = SCENARIO[SCENARIO.index("[[panels]]") : SCENARIO.index(REAR)]
PARKED = SCENARIO[SCENARIO.index('[[load_cases]]\nname = "parked"') :]

# name, variant, scenario edited by hand, circuits edited by hand
SAME = [
    ("field of a table", '[vehicle]\nminimum_voltage = "10 V"\n', changed(SCENARIO, ('"11 V"', '"10 V"')), CIRCUITS),
    ("new table", '[rules]\nfeed_loading = "60 %"\n', SCENARIO + '\n[rules]\nfeed_loading = "60 %"\n', CIRCUITS),
    (
        "table within the rules",
        "[rules.figures]\nmotor_stall = 8\n",
        SCENARIO + "\n[rules.figures]\nmotor_stall = 8\n",
        CIRCUITS,
    ),
    ("array of the rules", SPARES, SCENARIO + SPARES, CIRCUITS),
    (
        "field of a feed",
        '[[feeds]]\nname = "key"\nrating = "30 A"\n',
        changed(SCENARIO, ('"40 A"', '"30 A"')),
        CIRCUITS,
    ),
    (
        "field unset",
        '[[feeds]]\nname = "key"\nunset = ["control"]\n',
        changed(SCENARIO, ('control = "switch"\n', "")),
        CIRCUITS,
    ),
    (
        "new feed",
        '[[feeds]]\nname = "solar"\nkind = "permanent"\nrating = "20 A"\n',
        SCENARIO + '\n[[feeds]]\nname = "solar"\nkind = "permanent"\nrating = "20 A"\n',
        CIRCUITS,
    ),
    (
        "cell of a circuit",
        '[[circuits]]\nid = "lamp"\nload = "10 W"\n',
        SCENARIO,
        changed(CIRCUITS, ("21 W", "10 W")),
    ),
    (
        "lists, yes and no, lengths by panel",
        '[[circuits]]\nid = "lamp"\nfeeds = ["key", "battery"]\ncritical = false\n'
        'length = { front = "3 m", rear = "9 m" }\n',
        SCENARIO,
        changed(CIRCUITS, ("battery;key,,,,front: 3 m; rear: 4 m,yes", "key;battery,,,,front: 3 m; rear: 9 m,no")),
    ),
    (
        "cell emptied",
        '[[circuits]]\nid = "pump"\nseparate_from = ""\nunset = ["panels"]\n',
        SCENARIO,
        changed(CIRCUITS, ("key,front,relay,switch,2.5 m,,,lamp@row", "key,,relay,switch,2.5 m,,,")),
    ),
    (
        "new circuit",
        '[[circuits]]\nid = "horn"\nlabel = "Horn"\nload = "5 A"\nload_type = "inductive"\nfeeds = ["key"]\n'
        'length = "2 m"\norder = 7\nseparate_from = "pump"\n',
        SCENARIO,
        CIRCUITS + "horn,Horn,5 A,inductive,key,,,,2 m,,,pump,,,7\n",
    ),
    ("circuit dropped", '[drop]\ncircuits = ["pump"]\n', SCENARIO, changed(CIRCUITS, (ROW["pump"] + "\n", ""))),
    (
        "mentions of a dropped circuit",
        '[drop]\ncircuits = ["lamp"]\n\n' + APART.replace('"lamp", "pump"', '"switch", "pump"'),
        SCENARIO + APART.replace('"lamp", "pump"', '"switch", "pump"'),
        changed(CIRCUITS, (ROW["lamp"] + "\n", ""), ("lamp@row", "")),
    ),
    (
        "load case dropped",
        '[drop]\nload_cases = ["parked"]\n',
        changed(SCENARIO, (PARKED, "")),
        CIRCUITS,
    ),
    (
        "panel dropped, and its lengths",
        '[drop]\npanels = ["rear"]\n',
        changed(SCENARIO, (REAR, "")),
        changed(CIRCUITS, ("front: 3 m; rear: 4 m", "front: 3 m")),
    ),
    (
        "panels merged: a length from the other panel is kept",
        '[[merge]]\npanel = "rear"\ninto = "front"\nlonger_by = "3 m"\n',
        changed(SCENARIO, (REAR, "")),
        changed(CIRCUITS, ("front: 3 m; rear: 4 m", "front: 3 m")),
    ),
    (
        "panels merged: other runs are longer",
        '[[merge]]\npanel = "front"\ninto = "rear"\nlonger_by = "1.5 m"\n',
        changed(SCENARIO, (FRONT, ""), ('home = "front"', 'home = "rear"')),
        changed(
            CIRCUITS,
            ("battery,front,,,2 m", "battery,rear,,,3.5 m"),
            ("front: 3 m; rear: 4 m", "rear: 4 m"),
            ("key,front,relay,switch,2.5 m", "key,rear,relay,switch,4 m"),
        ),
    ),
    (
        "first feed only",
        '[every]\nfeeds = "first"\n',
        SCENARIO,
        CIRCUITS.replace("battery;key", "battery"),
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("variant", "scenario", "circuits"), [case[1:] for case in SAME], ids=[case[0] for case in SAME]
)
def test_a_variant_is_the_scenario_edited_by_hand(variant: str, scenario: str, circuits: str, tmp_path: Path) -> None:
    plain, edited = write(tmp_path / "plain"), write(tmp_path / "edited", scenario, circuits)
    (plain / "other.toml").write_text(f'title = "Other"\n{variant}', encoding="utf-8")
    found, wanted = load_scenario(plain, "other.toml"), load_scenario(edited)
    assert found == wanted
    assert found != load_scenario(plain)


def test_parts_and_rows_of_the_catalogue(tmp_path: Path) -> None:
    """Prices, new and dropped parts; and rows that are fed way by way, bus strips or not."""
    folder = write(tmp_path / "van")
    (folder / "parts.toml").write_text(SHIPPED_CATALOGUE.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "other.toml").write_text(
        'title = "Other"\ncatalogue = "parts.toml"\n\n[every]\nbus = "single"\n\n[drop]\nparts = ["twin-c7"]\n\n'
        '[[parts.fuses]]\nid = "fuse-c-10"\nprice = 0.99\n\n'
        '[[parts.studs]]\nid = "stud-new"\nlabel = "Stud"\nprice = 1.00\nsize = "M8"\nlimit = "90 A"\nstack = 4\n',
        encoding="utf-8",
    )
    before, after = load_scenario(folder).catalogue, load_scenario(folder, "other.toml").catalogue
    assert {row.bus for module in after.modules for row in module.rows} == {"single", "stud"}
    assert {module.id for module in before.modules} - {module.id for module in after.modules} == {"twin-c7"}
    assert [stud.id for stud in after.studs] == [*(stud.id for stud in before.studs), "stud-new"]
    assert [(fuse.id, fuse.price) for fuse in after.fuses if fuse not in before.fuses] == [("fuse-c-10", 99)]


def test_a_variant_stays_in_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Named from the folder or from where one stands; outside it, also by a link, it is refused."""
    monkeypatch.chdir(tmp_path)
    folder = write(tmp_path / "van")
    text = 'title = "T"\n[drop]\ncircuits = ["pump"]\n'
    (tmp_path / "outside.toml").write_text(text, encoding="utf-8")
    (folder / "inside.toml").write_text(text, encoding="utf-8")
    (folder / "linked.toml").symlink_to(tmp_path / "outside.toml")
    assert load_scenario("van", "inside.toml") == load_scenario("van", "van/inside.toml")
    for name in ("outside.toml", "../outside.toml", "linked.toml", tmp_path / "outside.toml", "a\0b", "/dev/zero"):
        with pytest.raises(InputError) as caught:
            load_scenario("van", name)
        assert [fault.rule for fault in caught.value.faults] in (["outside-folder"], ["no-file"]), name


def test_a_sizing_fault_is_told_where_the_variant_wrote_it(tmp_path: Path) -> None:
    folder = write(tmp_path / "van")
    (folder / "other.toml").write_text('title = "T"\n[[circuits]]\nid = "lamp"\nload = "30 W"\n', encoding="utf-8")
    where = load_scenario(folder, "other.toml").where("circuits", "lamp", "load")
    assert where == f'{folder.as_posix()}/other.toml, [[circuits]] no. 1 "lamp", field "load" = "30 W"'
    assert (
        load_scenario(folder, "other.toml").where("circuits", "lamp", "label").endswith('row 3, field "label" = "Lamp"')
    )


def test_every_table_can_be_changed() -> None:
    """A table that is added to the schema must find its place in variants as well."""
    assert {*SINGLE_TABLES, *SCENARIO_TABLES, "wire_colours", "catalogue"} == set(Scenario.model_fields)
    parts = {name for name, info in Catalogue.model_fields.items() for inner in getattr(info.annotation, "__args__", ())
             if isinstance(inner, type) and issubclass(inner, Part)}  # fmt: skip
    assert set(PART_TABLES) == parts
