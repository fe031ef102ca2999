"""init: copies of the bundled vehicles that every other command takes."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from allocator.cli.examples import example_names
from allocator.requirements import load_catalogue, load_scenario
from tests.cli.running import SCENARIOS, STARTER, Ran, contents, ran

STARTER_FILES = ("circuits.csv", "no-sharing.toml", "scenario.toml")
VEHICLES = sorted(path.parent.name for path in SCENARIOS.glob("*/scenario.toml"))


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_the_starter_is_written() -> None:
    assert ran("init", "van") == Ran(
        0,
        "Written to van: circuits.csv, no-sharing.toml, scenario.toml\n"
        "Edit them, then: allocator check van\n"
        "and:             allocator plan van --out out\n",
        "",
    )
    assert contents(Path("van")) == {name: (STARTER / name).read_bytes() for name in STARTER_FILES}
    assert [path.name for path in Path().iterdir()] == ["van"]


@pytest.mark.parametrize("vehicle", VEHICLES)
def test_every_bundled_vehicle_can_be_had(vehicle: str) -> None:
    """What is written is read as the original, and no file of the project's own tests comes along."""
    result = ran("init", "copy", "--example", vehicle, "--json")
    assert result.status == 0
    assert result.data == {
        "json_format": 1,
        "command": "init",
        "exit_status": 0,
        "example": vehicle,
        "out": "copy",
        "files": sorted(path.name for path in Path("copy").iterdir()),
    }
    assert load_scenario(Path("copy")) == load_scenario(SCENARIOS / vehicle)
    assert not Path("copy/expected.toml").exists()


def test_the_names_are_those_of_the_folders() -> None:
    assert example_names() == VEHICLES
    assert len(VEHICLES) >= 4


def test_the_catalogue_can_come_along() -> None:
    """The scenario then uses the copy: a part taken out of it is gone."""
    assert ran("init", "van", "--with-catalogue").stdout.startswith(
        "Written to van: catalogue.toml, circuits.csv, no-sharing.toml, scenario.toml\n"
    )
    assert load_scenario(Path("van")).catalogue == load_catalogue()
    copy = Path("van/catalogue.toml")
    text = copy.read_text(encoding="utf-8")
    copy.write_text(text.replace('currency = "EUR"', 'currency = "crowns"'), encoding="utf-8")
    assert load_scenario(Path("van")).catalogue.currency == "crowns"


def test_a_path_with_blanks_is_quoted_in_the_advice() -> None:
    assert "allocator check 'my van'\n" in ran("init", "my van").stdout


@pytest.mark.parametrize(
    ("name", "advice"),
    [
        (b"-dash", "./-dash"),
        (b"a\xffb c", r"$'a\xffb c'"),
        (b"it's\nso", r"$'it\x27s\x0aso'"),
        ("Молоко".encode(), "'Молоко'"),
    ],
)
def test_the_advice_can_be_typed(name: bytes, advice: str, tmp_path: Path) -> None:
    """A shell that reads it gives the command the folder that was written."""
    folder = os.fsdecode(name)
    result = ran("init", "--", folder)
    assert f"allocator check {advice}\n" in result.stdout
    read = subprocess.run(["bash", "-c", f"cd -- {advice} && ls"], cwd=tmp_path, capture_output=True, check=True)
    assert b"scenario.toml" in read.stdout


def test_files_that_are_there_are_not_overwritten() -> None:
    Path("van").mkdir()
    Path("van/circuits.csv").write_text("mine", encoding="utf-8")
    assert ran("init", "van") == Ran(
        2,
        "",
        "error: the folder holds files that no earlier run wrote there: circuits.csv  [foreign-files]\n"
        "  where: van\n"
        "  try:   give a new folder, or move them away\n",
    )
    assert contents(Path("van")) == {"circuits.csv": b"mine"}


def test_a_folder_with_other_files_gets_the_new_ones_beside_them() -> None:
    Path("van").mkdir()
    Path("van/notes.txt").write_text("mine", encoding="utf-8")
    assert ran("init", "van").status == 0
    assert sorted(contents(Path("van"))) == ["circuits.csv", "no-sharing.toml", "notes.txt", "scenario.toml"]


def test_this_very_folder_can_be_filled() -> None:
    assert ran("init", ".").status == 0
    assert sorted(path.name for path in Path().iterdir()) == list(STARTER_FILES)


def test_the_nearest_name_is_offered() -> None:
    known = ", ".join(f'"{vehicle}"' for vehicle in VEHICLES)
    assert ran("init", "van", "--example", "libary-bus") == Ran(
        2,
        "",
        'error: there is no vehicle "libary-bus"  [unknown-example]\n'
        "  where: --example\n"
        f"  known: the vehicles are {known}\n"
        '  try:   did you mean "library-bus"?\n',
    )
    assert list(Path().iterdir()) == []
