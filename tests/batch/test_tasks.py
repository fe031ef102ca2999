"""Which folders are scenarios, and what a result depends on."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from allocator.batch.tasks import Options, Task, Versions, scenario_names, task_of
from allocator.errors import InputError
from tests.batch.folders import OPTIONS, VERSIONS, write_plain

NAME = "van"


def task(folder: Path) -> Task:
    return task_of(folder, NAME, OPTIONS, VERSIONS)


def test_only_folders_with_files_of_a_scenario_count(tmp_path: Path) -> None:
    """One that lost its scenario.toml counts, so that it is told; hidden folders and stray files do not."""
    for name in ("b-van", "a-van", ".hidden", "lost"):
        write_plain(tmp_path, name)
    (tmp_path / "lost" / "scenario.toml").unlink()
    (tmp_path / "pictures").mkdir()
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    assert scenario_names(tmp_path) == ["a-van", "b-van", "lost"]


def test_no_folder_and_no_scenarios_are_faults(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such folder"):
        scenario_names(tmp_path / "nowhere")
    with pytest.raises(InputError, match="there are no scenarios"):
        scenario_names(tmp_path)


def test_a_scenario_in_place_of_its_folder_is_answered_with_the_other_command(tmp_path: Path) -> None:
    write_plain(tmp_path, NAME)
    with pytest.raises(InputError, match=f"allocator plan .*{NAME}"):
        scenario_names(tmp_path / NAME)


def _in_scenario(folder: Path) -> None:
    with (folder / "scenario.toml").open("a", encoding="utf-8") as stream:
        stream.write("\n# another line\n")


def _in_circuits(folder: Path) -> None:
    with (folder / "circuits.csv").open("a", encoding="utf-8") as stream:
        stream.write("\n")


def _in_catalogue(folder: Path) -> None:
    with (folder / "parts.toml").open("a", encoding="utf-8") as stream:
        stream.write("\n")


def _second_table(folder: Path) -> None:
    (folder / "circuits.xlsx").write_bytes(b"")


@pytest.mark.parametrize("change", [_in_scenario, _in_circuits, _in_catalogue, _second_table])
def test_a_change_in_any_file_that_is_read_gives_another_fingerprint(
    tmp_path: Path, change: Callable[[Path], None]
) -> None:
    write_plain(tmp_path, NAME)
    before = task(tmp_path).fingerprint
    change(tmp_path / NAME)
    assert task(tmp_path).fingerprint != before


def test_a_catalogue_in_a_folder_within_counts(tmp_path: Path) -> None:
    write_plain(tmp_path, NAME)
    folder = tmp_path / NAME
    (folder / "shelf").mkdir()
    (folder / "parts.toml").rename(folder / "shelf" / "parts.toml")
    scenario = folder / "scenario.toml"
    text = scenario.read_text(encoding="utf-8").replace('"parts.toml"', '"shelf/parts.toml"')
    scenario.write_text(text, encoding="utf-8")
    assert set(task(tmp_path).files) == {"scenario.toml", "circuits.csv", "shelf/parts.toml"}


@pytest.mark.parametrize("name", ["../other/parts.toml", "shelf/../../other/parts.toml", "/etc/hostname", "link.toml"])
def test_no_file_outside_the_folder_is_taken_for_the_catalogue(tmp_path: Path, name: str) -> None:
    write_plain(tmp_path, NAME)
    write_plain(tmp_path, "other")
    (tmp_path / NAME / "shelf").mkdir()
    scenario = tmp_path / NAME / "scenario.toml"
    text = scenario.read_text(encoding="utf-8").replace('"parts.toml"', f'"{name}"')
    scenario.write_text(text, encoding="utf-8")
    assert set(task(tmp_path).files) == {"scenario.toml", "circuits.csv", "parts.toml"}


def test_notes_beside_do_not_count_nor_does_the_age_of_a_file(tmp_path: Path) -> None:
    write_plain(tmp_path, NAME)
    before = task(tmp_path).fingerprint
    (tmp_path / NAME / "notes.txt").write_text("mine", encoding="utf-8")
    os.utime(tmp_path / NAME / "circuits.csv", (1, 1))
    assert task(tmp_path).fingerprint == before


def test_name_options_and_versions_count(tmp_path: Path) -> None:
    write_plain(tmp_path, NAME)
    found = task(tmp_path)
    others = (
        replace(found, name="bus"),
        replace(found, options=Options(61)),
        replace(found, options=Options(60, drawings=True)),
        replace(found, versions=Versions("1.2.4", VERSIONS.solver_version)),
        replace(found, versions=Versions(VERSIONS.allocator_version, "solver 5")),
    )
    assert len({found.fingerprint, *(other.fingerprint for other in others)}) == 1 + len(others)


def test_a_file_that_cannot_be_read_is_a_fault_of_that_scenario(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_plain(tmp_path, NAME)

    def refuse(self: Path, *_: object) -> None:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match="a file cannot be read: Permission denied"):
        task(tmp_path)
