"""A real interrupt, sent to ``revise``, ``compare`` and ``stock``: what is found is kept, or nothing is written."""

from __future__ import annotations

import json
import os
import shutil
import signal
from pathlib import Path

import pytest

from allocator.cli.folder import OutFolder
from allocator.outputs.changes import CHANGE_FILES
from allocator.outputs.drawing import FILES
from allocator.outputs.stock.files import STOCK_FILES
from allocator.plan import read_plan
from allocator.sizing import size
from allocator.verifying import verify
from tests.cli.running import SCENARIOS, STARTER, contents, plan_folder, ran
from tests.cli.sessions import session
from tests.requirements.folders import changed

FLEET = SCENARIOS / "example-fleet"


@pytest.fixture
def wanted(tmp_path: Path) -> Path:
    """The starter with a stronger pump."""
    shutil.copytree(STARTER, tmp_path / "wanted")
    table = tmp_path / "wanted" / "circuits.csv"
    table.write_text(changed(table.read_text(encoding="utf-8"), ("Water pump,5 A", "Water pump,9 A")), encoding="utf-8")
    return tmp_path / "wanted"


def test_an_interrupted_revision_keeps_what_it_has_found(wanted: Path, tmp_path: Path) -> None:
    """After the first level there is a plan: it is checked, written with its change sheet, and says what is open."""
    built = plan_folder(tmp_path / "built")
    out = tmp_path / "out"
    with session("revise", built, wanted, "--out", out, "--json") as at_work:
        at_work.wait_for("moved-wires: ")
        at_work.interrupt()
        status, stdout = at_work.end()
    assert status == 130
    assert "Traceback" not in at_work.said
    assert {*FILES, *CHANGE_FILES, "run.json"} <= contents(out).keys()
    plan = read_plan(out / "plan.json")
    assert verify(size(plan.requirements), plan) == ()
    said = {item["change"]: item["outcome"] for item in json.loads(stdout)["changes"]}
    assert said == {item.change: item.outcome for item in plan.changes}
    assert said["moved-wires"] == "best possible"
    assert ran("verify", out).status == 0
    assert not list(tmp_path.glob("**/.allocator-*"))


def test_a_revision_interrupted_before_its_first_plan_writes_nothing(wanted: Path, tmp_path: Path) -> None:
    """What was there before stays as it was."""
    built = plan_folder(tmp_path / "built")
    out = plan_folder(tmp_path / "out")
    before = contents(out)
    with session("revise", built, wanted, "--out", out) as at_work:
        at_work.wait_for_path(tmp_path, "**/.allocator-*.part")
        at_work.interrupt()
        status, stdout = at_work.end()
    assert (status, stdout) == (130, "")
    assert "Traceback" not in at_work.said and "nothing was written" in at_work.said
    assert contents(out) == before
    assert not list(tmp_path.glob("**/.allocator-*"))


@pytest.mark.parametrize("said", ["relaxation, bays 11", "plan: bays 11"])
def test_an_interrupted_comparison_writes_nothing(said: str, tmp_path: Path) -> None:
    """The first scenario is planned, the second is at work, without a plan or with one: the folder stays as it was."""
    out = plan_folder(tmp_path / "out")
    before = contents(out)
    with session("compare", STARTER, SCENARIOS / "library-bus", "--out", out) as at_work:
        at_work.wait_for(f"{SCENARIOS / 'library-bus'}\n")
        at_work.wait_for(said)
        at_work.interrupt()
        status, stdout = at_work.end()
    assert (status, stdout) == (130, "")
    assert "Traceback" not in at_work.said and "will be written" not in at_work.said
    assert at_work.said.endswith("interrupted: nothing was written\n")
    assert contents(out) == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("jobs", [1, 2])
def test_an_interrupted_stock_writes_nothing(jobs: int, tmp_path: Path) -> None:
    """A shelf worked out from half of a range would be no answer."""
    with session("stock", FLEET, "--out", tmp_path / "out", "--jobs", str(jobs)) as at_work:
        at_work.wait_for("housings 1 of ")
        at_work.interrupt()
        status, stdout = at_work.end()
    assert (status, stdout) == (130, "")
    assert "Traceback" not in at_work.said and "nothing was written" in at_work.said
    assert "plan so far" not in at_work.said
    assert list(tmp_path.iterdir()) == []


def test_stock_interrupted_while_it_is_written_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All is known by then: the files are all there, and the status tells of the interrupt."""
    place = OutFolder.place

    def pressed(folder: OutFolder) -> list[str]:
        os.kill(os.getpid(), signal.SIGINT)
        return place(folder)

    monkeypatch.setattr(OutFolder, "place", pressed)
    result = ran("stock", FLEET, "--out", tmp_path / "out", "--jobs", "1")
    assert result.status == 130
    assert result.stderr.endswith("interrupted: everything is written all the same\n")
    assert set(STOCK_FILES) | {"run.json"} <= contents(tmp_path / "out").keys()
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
