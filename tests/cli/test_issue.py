"""Revision, date and what is superseded: from scenario.toml or from the command line, onto every sheet."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import Ran, plan_folder, ran

SAID = ("--revision", "B", "--date", "2025-03-31", "--supersedes", "revision A of 2025-02-10")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan as it was made, and drawn again with revision, date and predecessor."""
    folder = tmp_path_factory.mktemp("issue")
    plan_folder(folder / "out")
    assert ran("draw", folder / "out", "--out", folder / "issued", *SAID).status == 0
    return folder


@pytest.fixture
def out(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(folder)
    return Path("out")


def summary(folder: str) -> list[str]:
    return (Path(folder) / "summary.txt").read_text(encoding="utf-8").splitlines()


def test_what_the_command_line_says_is_on_the_paper_and_in_the_plan(out: Path) -> None:
    """The number stays: what the paper says of itself makes no other plan of it."""
    bare = summary("out")[0]
    assert summary("issued")[:2] == [f"{bare}, revision B, 2025-03-31", "supersedes revision A of 2025-02-10"]
    plan = json.loads(Path("issued/plan.json").read_text(encoding="utf-8"))
    assert plan["requirements"]["scenario"]["document"] == {
        "revision": "B", "date": "2025-03-31", "supersedes": "revision A of 2025-02-10",
    }  # fmt: skip
    for name in ("parts.csv", "wires.csv"):
        assert "revision B, 2025-03-31, supersedes revision A" in (Path("issued") / name).read_text(encoding="utf-8")


def test_what_is_not_said_stays(out: Path) -> None:
    assert ran("draw", "issued", "--out", "again", "--revision", "C").status == 0
    assert summary("again")[0].endswith(", revision C, 2025-03-31")


def test_a_date_that_is_none_is_refused(out: Path) -> None:
    assert ran("draw", "out", "--out", "none", "--date", "31 March") == Ran(
        2,
        "",
        'error: "date" of the options is no date  [bad-date]\n'
        '  where: command line, field "date" = "31 March"\n'
        "  known: expected a day such as 2025-03-31\n",
    )
    assert not Path("none").exists()
