"""A real interrupt, sent to the real command at different times of its life."""

from __future__ import annotations

import json
import os
import random
import signal
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from allocator.cli import planning
from allocator.cli.folder import OutFolder
from allocator.cli.progress import readable
from allocator.plan import read_plan
from allocator.sizing import Sized, size
from allocator.solving import Outcome, search_plan
from allocator.verifying import verify
from tests.cli import schemas
from tests.cli.running import SCENARIOS, STARTER, contents, plan_folder, planned, ran, ran_apart
from tests.cli.sessions import session
from tests.scenario_files import write_scenario
from tests.solving.test_limits import late_clock, split_loads

ENDING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
STOPPING = "stopping: the best plan so far, if there is one, will be written; interrupt again to abort at once"


@pytest.fixture(scope="module")
def hard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """
    A vehicle that has a plan at once, and then keeps the search busy for longer than any test waits.

    Loads without a common measure on equal feeds: the evenest split over three feeds is what takes so long.
    """
    folder = tmp_path_factory.mktemp("hard") / "hard"
    assert ran("init", folder).status == 0
    scenario = (folder / "scenario.toml").read_text(encoding="utf-8")
    feeds = "".join(f'[[feeds]]\nname = "feed-{n}"\nkind = "permanent"\nrating = "70 A"\n\n' for n in (1, 2, 3))
    head, _, rest = scenario.partition("[[feeds]]")
    cases = rest[rest.index("[[load_cases]]") :]
    text = head.replace("max_bays = 3", "max_bays = 12") + feeds + cases.partition("[[rules.spares]]")[0]
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    rows = [f"c{n},C {n},{1 + (n * 7919 % 4001) / 1000:.3f} A,electronics,feed-1;feed-2;feed-3,2 m" for n in range(48)]
    table = "\n".join(["id,label,load,load_type,feeds,length", *rows]) + "\n"
    (folder / "circuits.csv").write_text(table, encoding="utf-8")
    return folder


@pytest.mark.long
def test_an_interrupt_keeps_the_best_plan_of_a_long_search(hard: Path, tmp_path: Path) -> None:
    """Status 130; what was found is checked and written, and says that it may not be the end."""
    out = tmp_path / "out"
    with session("plan", hard, "--out", out, "--json", "--time-limit", "600") as at_work:
        at_work.wait_for("plan: bays")
        at_work.interrupt()
        status, stdout = at_work.end()
    schemas.check(json.loads(stdout), schemas.STOPPED)
    assert status == 130
    assert STOPPING in at_work.said
    plan = read_plan(out / "plan.json")
    assert plan.depends_on_time
    assert verify(size(plan.requirements), plan) == ()


def test_an_interrupt_after_the_first_plan_keeps_it(tmp_path: Path) -> None:
    """
    Status 130; plan, summary and record are written and whole; draw makes the rest.

    Whether the signal comes while the search proves the plan or while it is drawn makes no difference. Drawings of the
    old plan are taken away: they would show another plan than the one beside them.
    """
    out = plan_folder(tmp_path / "out")
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    with session("plan", STARTER, "--out", out, "--json") as at_work:
        at_work.wait_for("plan: bays")
        at_work.interrupt()
        status, stdout = at_work.end()
    document = json.loads(stdout)
    schemas.check(document, schemas.STOPPED)
    assert status == 130
    assert at_work.said.splitlines()[-1] == (
        f"interrupted: the best plan so far is written; for drawings and lists: allocator draw {out} --out {out}"
    )
    assert document["files"] == ["plan.json", "run.json", "summary.txt"]
    assert sorted(contents(out)) == ["notes.txt", *document["files"]]
    plan = read_plan(out / "plan.json")
    assert verify(size(plan.requirements), plan) == ()
    assert json.loads((out / "run.json").read_text(encoding="utf-8"))["interrupted"] is True
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert ran("draw", out, "--out", out).status == 0
    assert {"layout.pdf", "notes.txt"} <= set(contents(out))


def test_the_time_limit_after_a_plan_keeps_it_with_its_gap(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Status 0, everything is drawn, and the goals say what time cut and how far off they may be."""
    write_scenario(tmp_path / "split", split_loads().requirements, "Split loads")
    run_late = late_clock(monkeypatch)
    monkeypatch.setattr(planning, "progress", lambda: lambda line: run_late() if line.startswith("plan") else None)
    result = ran("plan", tmp_path / "split", "--out", tmp_path / "out")
    plan = read_plan(tmp_path / "out" / "plan.json")
    assert (result.status, result.stderr) == (0, "")
    assert plan.depends_on_time
    assert verify(size(plan.requirements), plan) == ()
    open_ = [goal for goal in plan.goals if goal.closed_by == "cut by time"]
    assert open_ and all(0 < goal.bound < goal.value for goal in open_)
    assert "best so far; at least " in result.stdout and " (cut by time)" in result.stdout
    assert "Time or an interrupt cut the search short: another run may end elsewhere." in result.stdout
    assert {"layout.pdf", "parts.csv", "plan.json", "run.json"} < set(contents(tmp_path / "out"))


def test_an_interrupt_within_the_search_asks_it_to_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The search hears of it through its event, and what it then returns is written."""
    asked: list[bool] = []

    def search(sized: Sized, *, stop: threading.Event, **_: object) -> Outcome:
        os.kill(os.getpid(), signal.SIGINT)
        asked.append(stop.wait(10))
        return replace(search_plan(sized), interrupted=True)

    monkeypatch.setattr(planning, "search_plan", search)
    result = ran("plan", STARTER, "--out", tmp_path / "out")
    assert (result.status, asked) == (130, [True])
    assert sorted(contents(tmp_path / "out")) == ["plan.json", "run.json", "summary.txt"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_an_interrupt_while_files_are_moved_waits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything is there in a moment, however often it is pressed; the status tells of it."""
    place = OutFolder.place

    def pressed(folder: OutFolder) -> list[str]:
        for _ in range(3):
            os.kill(os.getpid(), signal.SIGINT)
        return place(folder)

    monkeypatch.setattr(OutFolder, "place", pressed)
    result = ran("plan", STARTER, "--out", tmp_path / "out")
    assert (result.status, result.stderr) == (130, "interrupted: everything is written all the same\n")
    assert sorted(contents(tmp_path / "out")) == sorted(planned()[1])


def test_the_second_interrupt_aborts_at_once(tmp_path: Path) -> None:
    """Nothing is written, and the old results stay."""
    out = plan_folder(tmp_path / "out")
    with session("plan", SCENARIOS / "library-bus", "--out", out) as at_work:
        at_work.wait_for("relaxation")
        at_work.interrupt()
        at_work.wait_for(STOPPING)
        at_work.interrupt()
        begin = time.monotonic()
        status, stdout = at_work.end()
        took_s = time.monotonic() - begin
    assert (status, stdout) == (130, "")
    assert at_work.said.endswith("interrupted: nothing was written\n") or "before any plan" in at_work.said
    assert took_s < 5
    assert contents(out) == planned()[1]


@pytest.mark.parametrize("number", ENDING, ids=lambda number: number.name)
def test_an_interrupt_before_the_search_ends_it(number: signal.Signals, tmp_path: Path) -> None:
    """The hidden folder is there, and the vehicle is still being read."""
    out = tmp_path / "out"
    with session("plan", SCENARIOS / "library-bus", "--out", out) as at_work:
        at_work.wait_for_path(tmp_path, ".allocator-*.part")
        at_work.interrupt(number)
        status, stdout = at_work.end()
    assert (status, stdout) == (130, "")
    assert at_work.said in (
        "interrupted: nothing was written\n",
        f"{STOPPING}\ninterrupted: before any plan was found; nothing was written\n",
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("number", ENDING, ids=lambda number: number.name)
def test_an_interrupt_while_it_is_drawn_keeps_the_plan(number: signal.Signals, tmp_path: Path) -> None:
    with session("plan", STARTER, "--out", tmp_path / "out") as at_work:
        at_work.wait_for_path(tmp_path, ".allocator-*.part/.drawn*")
        at_work.interrupt(number)
        status, _ = at_work.end()
    assert status == 130
    assert STOPPING in at_work.said
    assert sorted(contents(tmp_path / "out")) == ["plan.json", "run.json", "summary.txt"]
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("loading", ["allocator.cli.interrupts", "typer", "numpy", "ortools", "pint", "matplotlib"])
def test_an_interrupt_while_it_loads_ends_it_quietly(loading: str, tmp_path: Path) -> None:
    """Python itself tells what it loads; compiled libraries would take an exception for a fault of theirs."""
    with session("plan", STARTER, "--out", tmp_path / "out", PYTHONPROFILEIMPORTTIME="1") as at_work:
        at_work.wait_for(f" {loading}")
        at_work.interrupt()
        status, stdout = at_work.end()
    said = [line for line in at_work.said.splitlines() if not line.startswith("import time:")]
    assert (status, stdout, said) == (130, "", ["interrupted: nothing was written"])
    assert list(tmp_path.iterdir()) == []


def sweep(scenario: Path, folder: Path, number: signal.Signals, after_s: float) -> tuple[int, float, list[str]]:
    """Interrupt a plan after a time; return status, seconds to its end and the names of what was written, checked."""
    with session("plan", scenario, "--out", folder / "out") as at_work:
        time.sleep(after_s)
        begin = time.monotonic()
        at_work.interrupt(number)
        status, _ = at_work.end()
        took_s = time.monotonic() - begin
    assert "Traceback" not in at_work.said
    assert [path.name for path in folder.glob(".*")] == []
    if not (folder / "out").exists():
        return status, took_s, []
    plan = read_plan(folder / "out" / "plan.json")
    assert verify(size(plan.requirements), plan) == ()
    return status, took_s, sorted(contents(folder / "out"))


@pytest.mark.long
@pytest.mark.parametrize("number", ENDING, ids=lambda number: number.name)
@pytest.mark.parametrize("name", ["starter-camper", "beach-tractor"])
def test_an_interrupt_at_any_moment(name: str, number: signal.Signals, tmp_path: Path) -> None:
    """Status 130 within two seconds, with nothing, with the plan and its summary, or with everything."""
    draw = random.Random(1)
    begin = time.monotonic()
    assert ran_apart("plan", SCENARIOS / name, "--out", tmp_path / "whole").status == 0
    whole_s = time.monotonic() - begin
    for moment in range(20):
        folder = tmp_path / str(moment)
        folder.mkdir()
        status, took_s, names = sweep(SCENARIOS / name, folder, number, 0.1 + draw.random() * (whole_s - 0.3))
        assert status == 130 or (status, len(names) > 5) == (0, True)  # over before it was pressed
        assert took_s < 2
        assert len(names) in (0, 3) or len(names) > 5


def test_other_commands_end_quietly() -> None:
    """There is no traceback, at whatever point of the loading it comes; Python itself tells what it loads."""
    with session("check", SCENARIOS / "library-bus", PYTHONPROFILEIMPORTTIME="1") as at_work:
        at_work.wait_for("allocator.cli.answers")
        at_work.interrupt()
        status, stdout = at_work.end()
    assert (status, stdout) == (130, "")
    assert "Traceback" not in at_work.said


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plan: bays 2, peak-utilisation 25783/40000", "plan: bays 2, peak-utilisation 0.6446"),
        ("bays: 2 (bound 2, counting bound)", "bays: 2 (bound 2, counting bound)"),
        ("strip-pieces: 26 (bound 12, not closed)", "strip-pieces: 26 (bound 12, gap 14, not closed)"),
        (
            "peak-utilisation: 3/4 (bound 5/8, not closed)",
            "peak-utilisation: 0.7500 (bound 0.6250, gap 0.1250, not closed)",
        ),
    ],
)
def test_progress_is_worded_for_people(text: str, shown: str) -> None:
    assert readable(text) == shown


def test_progress_is_shown_on_a_terminal_only(tmp_path: Path) -> None:
    """With seconds, values and bounds, and no fraction that nobody can read."""
    with session("plan", STARTER, "--out", tmp_path / "out") as at_work:
        status, _ = at_work.end()
    lines = at_work.said.splitlines()
    assert status == 0
    assert any("s  bays: 2 (bound 2, " in line for line in lines)
    assert any(line.split(" s  ")[1].startswith("plan: bays 2, ") for line in lines)
    assert not [line for line in lines if "/" in line]
    assert planned()[0].stderr == ""
