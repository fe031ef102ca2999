"""revise: what is written and said, and what is refused."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from allocator.outputs.changes import CHANGE_FILES
from allocator.outputs.drawing import FILES
from allocator.plan import read_plan
from tests.cli.running import STARTER, Ran, plan_folder, ran
from tests.requirements.folders import changed

DROPPED = "fan,Roof fan,3 A,motor,40 %,camping,leisure,none,4 m,,\n"
ADDED = "winch,Winch control,4 A,electronics,5 %,camping,leisure,none,3 m,,\n"


def _wanted(folder: Path) -> Path:
    """The starter without its fan, with a winch control and a stronger pump."""
    folder.mkdir()
    (folder / "scenario.toml").write_bytes((STARTER / "scenario.toml").read_bytes())
    text = (STARTER / "circuits.csv").read_text(encoding="utf-8")
    text = changed(text, (DROPPED, ADDED), ("Water pump,5 A", "Water pump,9 A"))
    (folder / "circuits.csv").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def revised(tmp_path_factory: pytest.TempPathFactory) -> tuple[Ran, Path]:
    folder = tmp_path_factory.mktemp("revise")
    built, wanted = plan_folder(folder / "built"), _wanted(folder / "wanted")
    return ran("revise", built, wanted, "--out", folder / "new", "--json"), folder / "new"


def test_plan_paper_and_change_sheet_are_written(revised: tuple[Ran, Path]) -> None:
    result, out = revised
    assert (result.status, result.stderr) == (0, "")
    assert {*FILES, *CHANGE_FILES, "run.json"} <= {path.name for path in out.iterdir()}
    values = {item["change"]: (item["value"], item["outcome"]) for item in result.data["changes"]}
    assert values == {
        "moved-wires": ("1", "best possible"),
        "new-parts": ("1", "best possible"),
        "recut-strips": ("0", "best possible"),
    }
    assert ran("verify", out).status == 0


def test_text_list_and_json_say_the_same_steps(revised: tuple[Ran, Path]) -> None:
    """In building order: what goes, what changes in its place, what comes."""
    result, out = revised
    steps = result.data["steps"]
    assert [step["doing"] for step in steps] == ["remove", "remove", "change", "change", "add", "add"]
    with (out / "changes.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["step"].isdigit()]
    assert [(row["do"], row["what"], row["circuit"]) for row in rows] == [
        (step["doing"], step["kind"], step["need"]) for step in steps
    ]
    text = " ".join((out / "changes.txt").read_text(encoding="utf-8").split())
    assert "1 [ ] fuse of Roof fan (fan), 4 A type F: from bench/1/A/1" in text
    assert "15 A type F in place of 7.5 A type F: at bench/1/A/6" in text
    assert read_plan(out / "plan.json").changes[0].value == 1
    assert "wires to pull" in (out / "summary.txt").read_text(encoding="utf-8")


def test_the_plan_as_built_must_keep_its_own_requirements(tmp_path: Path) -> None:
    built = plan_folder(tmp_path / "built")
    text = (built / "plan.json").read_text(encoding="utf-8")
    (built / "plan.json").write_text(text.replace('bench/1/A/1"', 'bench/1/A/7"'), encoding="utf-8")
    result = ran("revise", built, STARTER, "--out", tmp_path / "new")
    assert (result.status, (tmp_path / "new").exists()) == (3, False)
    assert "the plan as built breaks its own requirements" in result.stderr


@pytest.mark.parametrize(
    ("options", "status", "words"),
    [
        (("--keep", "everything"), 2, "expected all, modules or chosen"),
        (("--keep", "chosen", "--part", "bench/9"), 2, 'nothing is built at "bench/9"'),
        (("--renamed", "fan"), 2, "what was renamed cannot be read"),
        (("--time-limit", "0"), 2, "the time limit is out of range"),
    ],
)
def test_wrong_wishes(options: tuple[str, ...], status: int, words: str, tmp_path: Path) -> None:
    result = ran("revise", plan_folder(tmp_path / "built"), STARTER, "--out", tmp_path / "new", *options)
    assert (result.status, result.stdout, (tmp_path / "new").exists()) == (status, "", False)
    assert words in result.stderr
