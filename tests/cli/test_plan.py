"""plan: what is written, what is said, and what is left alone when it cannot be done."""

from __future__ import annotations

import errno
import json
import re
import threading
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

import pytest

from allocator.cli import planning
from allocator.errors import BrokenPlan, CannotBeMet
from allocator.outputs.drawing import FILES
from allocator.plan import read_plan
from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.verifying import verify
from tests.cli import schemas
from tests.cli.running import SCENARIOS, STARTER, Ran, contents, plan_folder, planned, ran
from tests.requirements.folders import changed

NO_ROOM = "there are not enough bays for the ways, sockets and amperes that are needed"
CLASH = """\
error: no plan can be made: these 11 requirements cannot be met together (told in 5 lines)  [cannot-be-met]
  known: panel "bench" has room for 1 bay ({folder}/scenario.toml, [[panels]] no. 1 "bench", field "max_bays" = 1)
         there is 1 spare way of type F ({folder}/scenario.toml, [[rules.spares]] no. 1, field "count" = 1)
         circuit "step" is switched by a relay ({folder}/circuits.csv, row 9, field "switching" = "relay")
         7 circuits have a way each: lamps, reading, water, fridge, heater, sockets, fan ({folder}/circuits.csv, \
rows 2, 3, 4, 5, 6, 7, 8)
         and step has a way at all
         each is needed: without any one of them there is a plan, found and checked
         no smaller set clashes: proven
         proof: counting bound; proved again in a fresh model: the whole model of these alone, built anew, has no \
solution either
  try:   no spare ways of type F instead of 1 (rule 1): a plan with 1 bay and 2 feed entries
         panel "bench" with room for 2 bays, the least that does: a plan with 2 bays and 2 feed entries, \
as first found
         circuit "step" without its relay: a plan with 1 bay and 2 feed entries
         circuit "fan" left out: a plan with 1 bay and 1 feed entry
         circuit "fridge" left out: a plan with 1 bay and 1 feed entry
         circuit "heater" left out: a plan with 1 bay and 1 feed entry
"""
STEPS = ["reading and sizing", "search", "drawing"]


def _tight(folder: Path) -> Path:
    """The starter, with one bay for what needs two."""
    folder.mkdir()
    text = (STARTER / "scenario.toml").read_text(encoding="utf-8")
    (folder / "scenario.toml").write_text(changed(text, ("max_bays = 3", "max_bays = 1")), encoding="utf-8")
    (folder / "circuits.csv").write_bytes((STARTER / "circuits.csv").read_bytes())
    return folder


def test_everything_is_written_and_told() -> None:
    """
    stdout is the summary without the account of the goals, cautions in brief, then the files and where to look.

    stderr is silent where it is no terminal.
    """
    result, files = planned()
    said = result.stdout.splitlines()
    assert (result.status, result.stderr) == (0, "")
    assert {*FILES, "run.json"} <= set(files)
    summary, brief = (text.partition("\nCautions") for text in (files["summary.txt"].decode(), result.stdout))
    without_account = re.sub(r"\nGoal by goal.*?\n(?=\nPanels)", "", summary[0], flags=re.DOTALL)
    assert re.sub(r" +\d+\.\d s$", "", brief[0], flags=re.MULTILINE) == without_account != summary[0]
    assert len(brief[2]) < len(summary[2]) and said[-3] == ""
    out = said[-2].removeprefix("Written to ").partition(": ")[0]
    assert said[-2] == f"Written to {out}: {', '.join(sorted(files))}"
    assert said[-1] == f"Look first at {out}/report.html; order from parts.csv, cut and crimp from wires.csv."


def test_the_plan_keeps_its_requirements(tmp_path: Path) -> None:
    plan = read_plan(plan_folder(tmp_path / "out") / "plan.json")
    assert verify(size(plan.requirements), plan) == ()


def test_the_run_record_holds_what_the_plan_must_not() -> None:
    """Time of day and seconds, which would make equal plans differ."""
    files = planned()[1]
    record = json.loads(files["run.json"])
    plan = json.loads(files["plan.json"])
    assert list(record) == [
        "command", "source", "started", "allocator_version", "solver_version", "seconds_by_step", "variant",
        "time_limit_s", "interrupted", "proof", "files",
    ]  # fmt: skip
    assert (record["command"], record["source"], record["interrupted"]) == ("plan", str(STARTER), False)
    assert record["allocator_version"] == version("panel-allocator")
    assert datetime.fromisoformat(record["started"]).utcoffset() is not None
    assert list(record["seconds_by_step"]) == STEPS
    assert [{name: goal[name] for name in goal if name != "seconds"} for goal in record["proof"]] == plan["goals"]
    seconds = [*record["seconds_by_step"].values(), *(goal["seconds"] for goal in record["proof"])]
    assert all(spent >= 0 for spent in seconds) and sum(seconds) > 0
    assert record["files"] == sorted(files)
    assert not {"started", "seconds_by_step"} & set(plan)


@pytest.fixture(scope="module")
def second(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    """A folder into which was planned twice, and what the second run said, as JSON."""
    out = plan_folder(tmp_path_factory.mktemp("second") / "out")
    record = json.loads((out / "run.json").read_text(encoding="utf-8"))
    record["files"].append("layout-9.svg")
    (out / "run.json").write_text(json.dumps(record), encoding="utf-8")
    (out / "layout-9.svg").write_text("of a longer plan", encoding="utf-8")
    (out / "parts.csv").write_text("of an earlier plan", encoding="utf-8")
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    return out, ran("plan", STARTER, "--out", out, "--json")


def test_a_second_run_writes_the_same_bytes_and_leaves_foreign_files(second: tuple[Path, Ran]) -> None:
    """Its own old files are replaced, and a sheet that is no longer written is taken away."""
    out, result = second
    assert result.status == 0
    found = contents(out)
    assert found.pop("notes.txt") == b"mine"
    assert {name: found[name] for name in found if name != "run.json"} == {
        name: content for name, content in planned()[1].items() if name != "run.json"
    }
    assert [path.name for path in out.parent.iterdir()] == ["out"]


def test_as_json(second: tuple[Path, Ran]) -> None:
    """The document agrees with plan.json, and nothing else is on stdout."""
    out, result = second
    schemas.check(result.data, schemas.PLANNED)
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert (result.status, result.stderr) == (0, "")
    assert {name: result.data[name] for name in ("goals", "carriers", "modules", "depends_on_time")} == {
        name: plan[name] for name in ("goals", "carriers", "modules", "depends_on_time")
    }
    assert set(result.data["seconds_by_goal"]) == {goal["goal"] for goal in plan["goals"]}
    assert result.data["cautions"] == plan["general_cautions"] + plan["cautions"]
    assert result.data["files"] == sorted(path.name for path in out.iterdir() if path.name != "notes.txt")
    peak = max(
        load / int(feed["allowed_ma"]) for feed in result.data["feeds"] for load in feed["load_ma_by_case"]
    )  # fmt: skip
    value = next(goal["value"] for goal in plan["goals"] if goal["goal"] == "peak-utilisation")
    above, _, below = value.partition("/")
    assert peak == pytest.approx(int(above) / int(below or 1))


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_requirements_that_cannot_be_met(
    form: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Status 3, what clashes with its places, what would leave a plan, and no folder."""
    monkeypatch.setattr(planning, "DEFAULT_TIME_S", 120.0)
    result = ran("plan", _tight(tmp_path / "tight"), "--out", tmp_path / "out", *form)
    assert (result.status, result.stderr) == (3, CLASH.format(folder=(tmp_path / "tight").as_posix()))
    if form:
        schemas.check(result.data, schemas.NOT_MET)
        assert result.data["reasons"] == [NO_ROOM]
        clash = result.data["clash"]
        assert clash["proven_smallest"] and clash["proved_again"] and not clash["cut_by_time"]
        assert all(member["shown_to_be_needed"] for member in clash["members"])
    else:
        assert result.stdout == ""
    assert [path.name for path in tmp_path.iterdir()] == ["tight"]


def test_an_interrupt_ends_the_search_for_what_clashes(tmp_path: Path) -> None:
    """The verdict is told as it is, with the status of an interrupt."""
    stop = threading.Event()
    stop.set()
    sized = size(load_scenario(_tight(tmp_path / "tight")))
    answer = planning._explained(CannotBeMet([NO_ROOM]), sized, 60.0, stop)
    assert (answer.status, answer.data["reasons"]) == (130, (NO_ROOM,))


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_no_plan_within_the_limit(form: tuple[str, ...], tmp_path: Path) -> None:
    """Status 4, and no folder."""
    result = ran("plan", SCENARIOS / "library-bus", "--out", tmp_path / "out", "--time-limit", "0.001", *form)
    assert (result.status, result.stderr) == (
        4,
        "error: the time ran out before any plan was found  [no-plan-in-time]\n"
        "  try:   give it more time with --time-limit\n",
    )
    if form:
        schemas.check(result.data, schemas.refused("plan", 4))
    assert list(tmp_path.iterdir()) == []


def test_bad_input_leaves_the_old_results(tmp_path: Path) -> None:
    out = plan_folder(tmp_path / "out")
    assert ran("plan", tmp_path, "--out", out).status == 2
    assert ran("plan", _tight(tmp_path / "tight"), "--out", out).status == 3
    assert contents(out) == planned()[1]


def test_foreign_files_are_found_before_the_search(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody should wait a minute to hear it."""
    monkeypatch.setattr(planning, "search_plan", None)
    (tmp_path / "layout.svg").write_text("mine", encoding="utf-8")
    (tmp_path / "plan.json").write_text("{}", encoding="utf-8")
    assert ran("plan", STARTER, "--out", tmp_path) == Ran(
        2,
        "",
        "error: the folder holds files that no earlier run wrote there: layout.svg, plan.json  [foreign-files]\n"
        f"  where: {tmp_path}\n"
        "  try:   give a new folder, or move them away\n",
    )
    assert contents(tmp_path) == {"layout.svg": b"mine", "plan.json": b"{}"}


@pytest.mark.parametrize("inside", ["", "deep/er"])
def test_a_file_where_the_folder_should_be(inside: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    assert ran("plan", STARTER, "--out", tmp_path / "file" / inside) == Ran(
        2,
        "",
        "error: the output folder cannot be where a file is  [not-a-folder]\n"
        f"  where: {tmp_path / 'file'}\n"
        "  try:   give a folder, or a name that is not taken\n",
    )
    assert contents(tmp_path) == {"file": b"mine"}


def test_a_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Said in one line, before the search."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(planning, "search_plan", None)
    monkeypatch.setattr(Path, "mkdir", refuse)
    assert ran("plan", STARTER, "--out", tmp_path / "out") == Ran(
        2,
        "",
        f"error: nothing can be written there: Permission denied  [out-folder]\n  where: {tmp_path / 'out'}\n",
    )


def test_a_name_that_no_disk_takes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "search_plan", None)
    out = tmp_path / ("x" * 300)
    expected = f"error: nothing can be written there: File name too long  [out-folder]\n  where: {out}\n"
    assert ran("plan", STARTER, "--out", out) == Ran(2, "", expected)


def test_a_full_disk_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fill(_plan: object, _sized: object, folder: Path) -> None:
        folder.mkdir()
        (folder / "layout.svg").write_text("half", encoding="utf-8")
        raise OSError(errno.ENOSPC, "No space left on device", str(folder / "layout.svg"))

    out = plan_folder(tmp_path / "out")
    monkeypatch.setattr(planning, "draw", fill)
    result = ran("plan", STARTER, "--out", out)
    assert (result.status, result.stdout) == (2, "")
    assert result.stderr.startswith("error: a file cannot be read or written: No space left on device  [files]\n")
    assert contents(out) == planned()[1]


def test_a_plan_that_the_checker_refuses_is_a_bug_and_shows_as_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is raised, nothing is written, and no exit status makes it look like an answer."""

    def broken(*_: object, **__: object) -> None:
        raise BrokenPlan("one-need-per-way: ...")

    monkeypatch.setattr(planning, "search_plan", broken)
    with pytest.raises(BrokenPlan):
        ran("plan", STARTER, "--out", tmp_path / "out")
    assert list(tmp_path.iterdir()) == []
