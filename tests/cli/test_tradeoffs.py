"""``allocator tradeoffs``: what it writes and says, and what it refuses."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from allocator.batch.table import COLUMNS
from allocator.outputs.drawing import FILES
from allocator.plan import read_plan
from allocator.sizing import size
from allocator.verifying import goal_values, verify
from tests.cli.running import SCENARIOS, STARTER, Ran, ran
from tests.cli.sessions import session


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
        assert row["feed_entries"] == said["values"]["strip-pieces"]


def test_a_goal_has_the_column_that_it_has_in_the_table_of_a_batch(traded: tuple[Path, Ran]) -> None:
    out, result = traded
    head = (out / "tradeoffs.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    goals = [column.name for column in COLUMNS if column.name in head]
    assert len(goals) == len(result.data["plans"][0]["values"])
    steps = [name.removeprefix("steps_") for name in head if name.startswith("steps_")]
    assert set(steps) <= set(goals) and len(steps) == len(result.data["goals"])
    assert set(head) == {"plan", "file", "against_plan_1", *goals, *(f"steps_{goal}" for goal in steps)}


def test_the_chosen_plan_is_first_and_every_cell_is_said(traded: tuple[Path, Ran]) -> None:
    _, result = traded
    assert [plan["chosen"] for plan in result.data["plans"]][:1] == [True]
    assert {cell["closed_by"] for cell in result.data["cells"]} <= {"counting bound", "relaxation", "search"}
    assert json.loads(result.stdout)["command"] == "tradeoffs"


@pytest.mark.parametrize("name", ["tradeoffs.txt", "tradeoffs.csv", "tradeoffs.svg"])
def test_every_output_carries_the_cautions(traded: tuple[Path, Ran], name: str) -> None:
    """In the drawing letters are outlines, with each line of text as a comment."""
    text = (traded[0] / name).read_text(encoding="utf-8")
    words = " ".join(re.sub(r"<!--|-->|<[^!][^>]*>", " ", text).split())
    assert "a wrong fuse or wire can start a fire" in words
    assert "Invented parts for demonstration" in words or name.endswith("csv")


def test_only_the_plans_asked_for_are_drawn(tmp_path: Path) -> None:
    """Each whole in a folder of its own; a number that there is not is said; the next run takes them away."""
    out = tmp_path / "out"
    result = ran("tradeoffs", STARTER, "--out", out, "--draw", "1", "--draw", "99", "--json")
    assert result.status == 2
    assert "there is no such plan to draw" in result.stderr and "--draw 99" in result.stderr
    assert "  try:   all else is written; draw another of them with allocator draw" in result.stderr
    assert result.data["drawn"] == [1]
    assert [path.name for path in out.iterdir() if path.is_dir()] == ["plan-1"]
    names = {path.name for path in (out / "plan-1").iterdir()}
    assert set(FILES) - {"fuses.png", "fuses.svg"} <= names
    assert (out / "plan-1" / "plan.json").read_bytes() == (out / "plan-1.json").read_bytes()
    plan = read_plan(out / "plan-1" / "plan.json")
    assert verify(size(plan.requirements), plan) == ()
    (out / "plan-1" / "notes.txt").write_text("mine", encoding="utf-8")
    assert ran("tradeoffs", STARTER, "--out", out, "--goal", "bays").status == 0
    assert [path.name for path in (out / "plan-1").iterdir()] == ["notes.txt"]


def test_a_foreign_file_where_a_plan_would_be_drawn_is_left_alone(tmp_path: Path) -> None:
    mine = tmp_path / "out" / "plan-1" / "parts.csv"
    mine.parent.mkdir(parents=True)
    mine.write_text("mine", encoding="utf-8")
    result = ran("tradeoffs", STARTER, "--out", tmp_path / "out", "--draw", "1")
    assert (result.status, result.stdout) == (2, "")
    assert "the folder holds files that no earlier run wrote there: parts.csv" in result.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["plan-1"]


def test_an_interrupt_keeps_what_is_closed_and_says_what_is_open(tmp_path: Path) -> None:
    """A real signal while cells are searched: status 130, a whole folder, and every open cell in it."""
    out = tmp_path / "out"
    with session("tradeoffs", SCENARIOS / "library-bus", "--out", out, "--json") as running:
        running.wait_for("plan: bays 11")
        running.interrupt()
        status, stdout = running.end()
    data = json.loads(stdout)
    assert status == 130
    assert data["interrupted"] and not data["complete"]
    assert "cut by time" in {cell["closed_by"] for cell in data["cells"]}
    assert data["files"] == sorted(path.name for path in out.iterdir())
    assert "Plans may be missing" in (out / "tradeoffs.txt").read_text(encoding="utf-8")
    plan = read_plan(out / "plan-1.json")
    assert plan.depends_on_time
    assert verify(size(plan.requirements), plan) == ()


def test_an_interrupt_before_any_plan_writes_nothing(tmp_path: Path) -> None:
    with session("tradeoffs", SCENARIOS / "library-bus", "--out", tmp_path / "out") as running:
        running.wait_for("relaxation, bays")
        running.interrupt()
        status, stdout = running.end()
    assert (status, stdout) == (130, "")
    assert "nothing was written" in running.said and "so far will be written" not in running.said
    assert list(tmp_path.iterdir()) == []


def test_counts_in_steps_of_several_are_bounded_by_what_they_may_be(tmp_path: Path) -> None:
    """Where nothing lies in the step below, a count is at least one more than that step's end."""
    words = ("--goal", "bays", "--goal", "strip-pieces", "--step", "bays=3")
    result = ran("tradeoffs", STARTER, "--out", tmp_path / "out", *words)
    assert result.status == 0, result.stderr
    plan = read_plan(tmp_path / "out" / "plan-1.json")
    assert verify(size(plan.requirements), plan) == ()
    goal = next(goal for goal in plan.goals if goal.goal == "bays")
    assert 1 <= goal.bound <= goal.value < 3


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--goal", "bay"), "no such goal"),
        (("--range", "bays"), "a goal and a value are needed"),
        (("--range", "copper=2"), "this goal is not compared"),
        (("--range", "bays=x"), "the range is no whole number"),
        (("--step", "price=cheap"), "the step"),
        (("--step", "bays=" + "9" * 5000), "the step is no whole number"),
        (("--step", "bays=\u0663"), "the step is no whole number"),
        (("--range", "bays=" + "9" * 5000), "the range is no whole number"),
        (("--range", "bays=\u0663"), "the range is no whole number"),
        (("--step", "price=0.00"), "the step is out of range"),
        (("--time-limit", "0"), "the time limit is out of range"),
    ],
)
def test_wrong_arguments(tmp_path: Path, arguments: tuple[str, ...], message: str) -> None:
    result = ran("tradeoffs", STARTER, "--out", tmp_path / "out", *arguments)
    assert (result.status, result.stdout) == (2, "")
    assert message in result.stderr
    assert not (tmp_path / "out").exists()
