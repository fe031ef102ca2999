"""``allocator tradeoffs``: what it writes and says, and what it refuses."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from allocator.plan import read_plan
from allocator.sizing import size
from allocator.verifying import goal_values, verify
from tests.cli.running import STARTER, Ran, ran


@pytest.fixture(scope="module")
def traded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    out = tmp_path_factory.mktemp("traded") / "out"
    return out, ran("tradeoffs", STARTER, "--out", out, "--json")


def test_every_plan_is_whole_and_has_the_figures_said(traded: tuple[Path, Ran]) -> None:
    out, result = traded
    assert (result.status, result.stderr) == (0, "")
    data = result.data
    assert data["complete"] and not data["interrupted"]
    assert data["files"] == sorted(path.name for path in out.iterdir())
    rows = list(csv.DictReader((out / "tradeoffs.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["plan"] for row in rows[: len(data["plans"])]] == [str(plan["plan"]) for plan in data["plans"]]
    for said, row in zip(data["plans"], rows, strict=False):
        plan = read_plan(out / row["file"])
        sized = size(plan.requirements)
        assert verify(sized, plan) == ()
        assert said["values"] == {goal: str(value) for goal, value in goal_values(sized, plan).items()}
        assert row["bays"] == said["values"]["bays"]


def test_the_chosen_plan_is_first_and_every_cell_is_said(traded: tuple[Path, Ran]) -> None:
    _, result = traded
    assert [plan["chosen"] for plan in result.data["plans"]][:1] == [True]
    assert {cell["closed_by"] for cell in result.data["cells"]} <= {"counting bound", "relaxation", "search"}
    assert json.loads(result.stdout)["command"] == "tradeoffs"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--goal", "bay"), "no such goal"),
        (("--range", "bays"), "a goal and a value are needed"),
        (("--range", "copper=2"), "this goal is not compared"),
        (("--range", "bays=x"), "the range is no whole number"),
        (("--step", "price=cheap"), "the step"),
        (("--step", "price=0.00"), "the step is out of range"),
        (("--time-limit", "0"), "the time limit is out of range"),
    ],
)
def test_wrong_arguments(tmp_path: Path, arguments: tuple[str, ...], message: str) -> None:
    result = ran("tradeoffs", STARTER, "--out", tmp_path / "out", *arguments)
    assert (result.status, result.stdout) == (2, "")
    assert message in result.stderr
    assert not (tmp_path / "out").exists()
