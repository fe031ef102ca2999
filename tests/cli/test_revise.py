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
    """In building order: fuses out, wires out, wires in, fuses in."""
    result, out = revised
    steps = result.data["steps"]
    assert [(step["doing"], step["kind"], step["need"]) for step in steps] == [
        ("remove", "fuse", "fan"),
        ("pull", "fuse", "water"),
        ("pull", "load wire", "water"),
        ("remove", "load wire", "fan"),
        ("change", "load wire", "water"),
        ("add", "load wire", "winch"),
        ("change", "fuse", "water"),
        ("add", "fuse", "winch"),
    ]
    with (out / "changes.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["step"].isdigit()]
    assert [(row["do"], row["what"], row["circuit"]) for row in rows] == [
        (step["doing"], step["kind"], step["need"]) for step in steps
    ]
    text = " ".join((out / "changes.txt").read_text(encoding="utf-8").split())
    assert "1 [ ] remove fuse of Roof fan (fan), 4 A type F: from bench/1/A/1" in text
    assert "15 A type F in place of 7.5 A type F: at bench/1/A/6" in text
    assert read_plan(out / "plan.json").changes[0].value == 1
    assert "wires to pull" in (out / "summary.txt").read_text(encoding="utf-8")


def test_what_the_change_alone_takes(revised: tuple[Ran, Path]) -> None:
    """
    Worked out by hand from both wire lists: the pump's fuse and wire, and the winch in the fan's way.

    The pump's old fuse serves the winch, so only one is bought. The fan's wire was the first of the list, so that all
    wires after it have another number, and another label, now.
    """
    result, out = revised
    takes = [(row["do"], row["what"]) for row in result.data["takes"]]
    assert takes == [
        ("buy", "1 x Fuse F mini blade, 15 A (fuse-f-15)"),
        ("buy", "1 x Tab terminal 2.8 mm, wire 0.5 to 1 mm2 (tab-2.8-1)"),
        ("buy", "1 x Tab terminal 2.8 mm, wire 1 to 2.5 mm2 (tab-2.8-2.5)"),
        ("buy", "3.06 m of Wire 1 mm2 (wire-1)"),
        ("buy", "3.06 m of Wire 16 AWG (wire-16awg)"),
        ("cut", "W9, 16 AWG, 3.06 m"),
        ("cut", "W10, 1 mm², 3.06 m"),
        ("crimp", "tab-2.8-2.5 onto W9 (16 AWG): bench/1/A/6 output"),
        ("crimp", "tab-2.8-1 onto W10 (1 mm²): bench/1/A/1 output"),
        ("label", "both ends of W1, W2, W3, W4, W5, W6, W7, W8, W9, W10 (labels.pdf)"),
        ("label", "the lid: hang the new legend (legend.pdf)"),
        ("test", "again, before fuses go in and with power: water, winch (their rows of tests.pdf)"),
    ]
    text = " ".join((out / "changes.txt").read_text(encoding="utf-8").split())
    assert all(f"{do} {what}" in text for do, what in takes)


def test_the_last_words_send_to_the_change_sheet(tmp_path: Path) -> None:
    """With nothing changed there is nothing to buy, and the lists of the whole panel are no order."""
    built = plan_folder(tmp_path / "built")
    result = ran("revise", built, STARTER, "--out", tmp_path / "new")
    assert result.stdout.splitlines()[-1] == (
        f"Look first at {tmp_path / 'new' / 'report.html'}; work from {tmp_path / 'new' / 'changes.pdf'}: "
        "what to buy, cut, crimp, label and test, then step by step."
    )
    assert "What this change takes" not in result.stdout


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
        (("--part", ""), 2, "an option names nothing"),
        (("--part", "fan", "--renamed", " , "), 2, "an option names nothing"),
        (("--renamed", "fan"), 2, "what was renamed cannot be read"),
        (("--time-limit", "0"), 2, "the time limit is out of range"),
    ],
)
def test_wrong_wishes(options: tuple[str, ...], status: int, words: str, tmp_path: Path) -> None:
    result = ran("revise", plan_folder(tmp_path / "built"), STARTER, "--out", tmp_path / "new", *options)
    assert (result.status, result.stdout, (tmp_path / "new").exists()) == (status, "", False)
    assert words in result.stderr
