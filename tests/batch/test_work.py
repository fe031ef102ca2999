"""What a worker makes of a task: the same as ``plan`` does, or the reason why not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest

from allocator.batch import work as room
from allocator.batch.rows import Made
from allocator.batch.tasks import Options, Task, task_of, versions_here
from allocator.errors import BrokenPlan, NoPlanInTime
from allocator.leftovers import folder_of_ones_own
from allocator.plan.files import plan_from, plan_text
from allocator.sizing import size
from allocator.verifying import goal_values, verify
from tests.batch.folders import write_impossible, write_plain, write_wrong
from tests.cli.running import ROOT

LISTS = {"plan.json", "parts.csv", "wires.csv", "tests.csv", "crimps.csv", "failures.csv", "goals.csv", "summary.txt"}


def task(folder: Path, name: str = "van") -> Task:
    return task_of(folder, name, Options(60), versions_here())


def test_a_plan_with_its_lists_and_the_values_of_the_checker(tmp_path: Path) -> None:
    write_plain(tmp_path, "van")
    made = room.work(task(tmp_path))
    assert set(made.files) == LISTS
    plan = plan_from(json.loads(made.files["plan.json"]))
    sized = size(plan.requirements)
    assert verify(sized, plan) == ()
    assert plan_text(plan).encode() == made.files["plan.json"]
    row = made.row
    assert (row.status, row.scenario, row.vehicle, row.circuits, row.open_goals) == ("done", "van", "van", 1, ())
    assert row.values == goal_values(sized, plan)


@pytest.mark.long
def test_drawings_where_they_are_asked_for(tmp_path: Path) -> None:
    write_plain(tmp_path, "van")
    lists, drawn = (room.work(replace(task(tmp_path), options=Options(60, drawings=on))) for on in (False, True))
    assert {"layout.pdf", "report.html", "workbook.xlsx"} <= set(drawn.files)
    assert {name: drawn.files[name] for name in lists.files} == lists.files


def test_faults_name_files_by_their_place_in_the_folder_of_scenarios(tmp_path: Path) -> None:
    """Not by the place where a worker laid them, which differs from run to run."""
    write_wrong(tmp_path, "van")
    made = room.work(task(tmp_path))
    assert made.row.status == "bad input"
    assert 'names the unknown feed "batery"' in made.row.message
    assert any(fault.where.startswith("van/circuits.csv, ") for fault in made.faults)
    said = made.files["faults.txt"].decode()
    assert "van/circuits.csv" in said and ".allocator-" not in said


@pytest.mark.skipif(sys.platform == "win32", reason="no locks there that end with a process")
def test_the_folder_of_a_killed_worker_goes_with_the_next_task(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """That of a live one stays, and nobody else may look into it."""
    place = tmp_path / "temporary"
    place.mkdir()
    die = "import os; from allocator.batch import work as w; w._planned = lambda *_: os.kill(os.getpid(), 9); "
    die += "from tests.batch.test_work import *; w.work(task(Path(sys.argv[1])))"
    write_plain(tmp_path / "fleet", "van")
    more = {"TMPDIR": str(place), "PYTHONPATH": str(ROOT)}
    killed = subprocess.run([sys.executable, "-c", die, str(tmp_path / "fleet")], env=os.environ | more, check=False)
    assert killed.returncode == -9
    (left,) = place.iterdir()
    assert left.stat().st_mode & 0o077 == 0
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    with folder_of_ones_own(place) as live:
        assert not left.exists()
        assert room.work(task(tmp_path / "fleet")).row.status == "done"
        assert list(place.iterdir()) == [live]
    assert list(place.iterdir()) == []


def test_what_cannot_be_met_is_told_with_its_reasons(tmp_path: Path) -> None:
    write_impossible(tmp_path, "van")
    made = room.work(task(tmp_path))
    assert made.row.status == "cannot be met"
    assert set(made.files) == {"faults.txt"}
    assert "bays" in made.files["faults.txt"].decode()


def test_a_worker_of_another_version_refuses(tmp_path: Path) -> None:
    """It would give other plans than the rest of the batch."""
    write_plain(tmp_path, "van")
    found = task(tmp_path)
    made = room.work(replace(found, versions=replace(found.versions, allocator_version="0.0.0")))
    assert made.row.status == "failed"
    assert "0.0.0" in made.files["faults.txt"].decode()


@pytest.mark.parametrize(
    ("error", "status", "files"),
    [
        (NoPlanInTime("no plan"), "no plan in time", {"faults.txt"}),
        (BrokenPlan("a-rule: here"), "failed", {"faults.txt", "traceback.txt"}),
        (MemoryError(), "failed", {"faults.txt", "traceback.txt"}),
    ],
)
def test_what_stops_the_search_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception, status: str, files: set[str]
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    write_plain(tmp_path, "van")
    monkeypatch.setattr(room, "search_plan", fail)
    made: Made = room.work(task(tmp_path))
    assert (made.row.status, set(made.files)) == (status, files)


def test_a_worker_that_draws_nothing_loads_nothing_that_draws() -> None:
    code = "import sys, allocator.batch.work; print([n for n in sys.modules if n.startswith('matplotlib.figure')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout == "[]\n"
