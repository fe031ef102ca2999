"""verify and draw: a plan.json, edited by hand or not, in; findings, or the same drawings and lists, out."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from allocator.cli import plans
from allocator.notices import CAUTIONS
from allocator.rulebook import RULES
from tests.cli import schemas
from tests.cli.running import SCENARIOS, STARTER, Ran, contents, plan_folder, planned, ran

Edit = Callable[[dict[str, Any]], None]

KEPT = f"""\
The plan keeps its requirements: nothing was found against any of {len(RULES)} rules.
  bays            2
  module types    1
  feed entries    2
  peak feed load  64.5 %
  long jumpers    0
  price of parts  78.62 EUR
"""

FOUND = """\
circuit "fan": has fuse "fuse-f-5"; the sizing table says "fuse-f-4"  [as-sized]
  the rule: Fuse, wire, relay and tail fuse are those of the sizing table there, which orders what it states.
goal "bays": stated is 1; the plan has 2  [goal-value]
  the rule: The value stated for a goal is the plan's, its bound is no worse, and its tolerance is kept.
goal "module-types": stated is 0; the plan has 1  [goal-value]
"""


@pytest.fixture
def out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return plan_folder(Path("out"))


def _edit(out: Path, edit: Edit) -> None:
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    edit(plan)
    (out / "plan.json").write_text(json.dumps(plan), encoding="utf-8")


def _another_fuse(plan: dict[str, Any]) -> None:
    """What was at hand, and claims that nobody recounted."""
    next(way for way in plan["ways"] if way["need"] == "fan")["fuse"] = "fuse-f-5"
    plan["goals"][0] |= {"value": "1", "bound": "1"}
    plan["goals"][1] |= {"value": "0", "bound": "0"}


@pytest.mark.parametrize("named", ["out", "out/plan.json"])
def test_a_good_plan(out: Path, named: str) -> None:
    assert ran("verify", named) == Ran(0, KEPT, "")


def test_a_good_plan_as_json(out: Path) -> None:
    """All goals are recomputed, the plan's own and the others."""
    result = ran("verify", "out", "--json")
    schemas.check(result.data, schemas.KEPT)
    claimed = {goal["goal"]: goal["value"] for goal in json.loads(planned()[1]["plan.json"])["goals"]}
    assert (result.status, result.stderr) == (0, "")
    assert {goal: result.data["goals"][goal] for goal in claimed} == claimed


def test_a_plan_is_checked_where_there_is_no_solver(out: Path) -> None:
    """Not only is none asked: a computer on which no solver can be loaded judges a plan all the same."""
    none = "import sys; sys.modules.update(dict.fromkeys(('ortools', 'scipy', 'matplotlib')))\n"
    code = f"{none}from allocator.cli.main import run; run()"
    good = [
        subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, check=False)
        for words in (("verify", "out"), ("draw", "out", "--out", "again"))
    ]
    assert (good[0].returncode, good[0].stdout, good[0].stderr) == (0, ran("verify", "out").stdout, "")
    assert "ModuleNotFoundError" in good[1].stderr  # the test itself: a command that needs a solver has none
    _edit(out, _another_fuse)
    broken = subprocess.run([sys.executable, "-c", code, "verify", "out"], capture_output=True, text=True, check=False)
    assert (broken.returncode, broken.stdout) == (3, ran("verify", "out").stdout)


def test_edits_that_break_rules_are_found(out: Path) -> None:
    """Each finding is a line, each rule is said once, and the status tells a script."""
    _edit(out, _another_fuse)
    assert ran("verify", "out") == Ran(3, f"{FOUND}\nThe plan breaks its requirements 3 times.\n", "")
    as_json = ran("verify", "out", "--json")
    schemas.check(as_json.data, schemas.BROKEN)
    assert as_json.data["findings"][1] == {
        "rule": "goal-value",
        "where": 'goal "bays"',
        "detail": "stated is 1; the plan has 2",
        "requirement": RULES["goal-value"],
    }


def test_requirements_of_a_scenario_count_when_asked(out: Path) -> None:
    """A plan that was right when it was made is held against what the folder says now."""
    assert ran("verify", "out", "--scenario", STARTER) == Ran(0, KEPT, "")
    assert ran("init", "van").status == 0
    circuits = Path("van/circuits.csv")
    text = circuits.read_text(encoding="utf-8")
    circuits.write_text(text.replace("fan,Roof fan,3 A", "fan,Roof fan,9 A"), encoding="utf-8")
    result = ran("verify", "out", "--scenario", "van")
    assert result.status == 3
    assert "[as-sized]" in result.stdout
    assert ran("verify", "out", "--scenario", "nowhere").status == 2


def test_another_vehicle_s_requirements_are_not_kept(out: Path) -> None:
    result = ran("verify", "out", "--scenario", SCENARIOS / "beach-tractor")
    assert result.status == 3
    assert "[every-need-placed]" in result.stdout


@pytest.mark.parametrize("command", [("verify",), ("draw", "--out", "new")])
@pytest.mark.parametrize(
    ("content", "rule", "said"),
    [
        (None, "no-file", 'there is no file "plan.json"'),
        (b"", "plan-not-json", "the plan is no JSON: Expecting value: line 1 column 1 (char 0)"),
        (b"\xff\xfe", "not-utf-8", "the file is not UTF-8 text (first seen in line 1)"),
        (b'{"plan_format": 7}', "plan-format", "plan_format 7 is not known here"),
    ],
)
def test_a_file_that_is_no_plan(
    command: tuple[str, ...], content: bytes | None, rule: str, said: str, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    if content is not None:
        Path("plan.json").write_bytes(content)
    result = ran(*command, "plan.json")
    assert (result.status, result.stdout) == (2, "")
    assert result.stderr.splitlines()[:2] == [f"error: {said}  [{rule}]", "  where: plan.json"]
    assert not Path("new").exists()


def test_what_is_no_regular_file_is_not_waited_for() -> None:
    expected = (
        'error: "null" is no regular file  [no-file]\n  where: /dev/null\n  known: it is a pipe, a device or a socket\n'
    )
    assert ran("verify", "/dev/null") == Ran(2, "", expected)


def test_a_plan_with_broken_fields_names_all_of_them(out: Path) -> None:
    def edit(plan: dict[str, Any]) -> None:
        plan["ways"][0]["feed"] = 7
        plan["carriers"][0]["first_bay"] = 0

    _edit(out, edit)
    result = ran("verify", "out")
    assert result.status == 2
    assert [line for line in result.stderr.splitlines() if line.startswith("error: ")] == [
        "error: plan field carriers.0.first_bay: is out of range  [plan-field]",
        "error: plan field ways.0.feed: is no text  [plan-field]",
    ]


def test_everything_is_drawn_again(out: Path) -> None:
    """In the same bytes, with the cautions that were edited away; only the run record is of this run."""

    def edit(plan: dict[str, Any]) -> None:
        plan["cautions"] = []
        plan["general_cautions"] = ["All is well."]

    _edit(out, edit)
    result = ran("draw", "out", "--out", "new")
    names = sorted(planned()[1])
    assert (result.status, result.stderr) == (0, "")
    assert result.stdout == (
        f"Written to new: {', '.join(names)}\n"
        "Look first at new/report.html; order from parts.csv, cut and crimp from wires.csv.\n"
    )
    found = contents(Path("new"))
    record = json.loads(found.pop("run.json"))
    assert found == {name: content for name, content in planned()[1].items() if name != "run.json"}
    assert (record["command"], record["source"], record["files"]) == ("draw", "out", names)
    assert CAUTIONS[0] in found["parts.csv"].decode()


def test_a_plan_alone_is_enough(out: Path) -> None:
    """The rest of its folder is made around it, as after an interrupted search."""
    for name in sorted(planned()[1]):
        if name not in ("plan.json", "run.json"):
            (out / name).unlink()
    result = ran("draw", "out/plan.json", "--out", "out", "--json")
    schemas.check(result.data, schemas.DRAWN)
    assert sorted(contents(out)) == sorted(planned()[1])


def test_goals_of_an_edited_plan_are_stated_anew(out: Path) -> None:
    """A person who edits ways need not work out fractions of a cent; the drawing claims no proof for the result."""

    def edit(plan: dict[str, Any]) -> None:
        plan["goals"][0] |= {"value": "1", "bound": "1"}

    _edit(out, edit)
    assert ran("verify", "out").status == 3
    assert ran("draw", "out", "--out", "new").status == 0
    bays = json.loads(Path("new/plan.json").read_text(encoding="utf-8"))["goals"][0]
    assert (bays["value"], bays["bound"], bays["outcome"]) == ("2", "1", "best so far")
    assert ran("verify", "new").status == 0


@pytest.mark.parametrize("edit", [lambda goals: goals[1:], lambda goals: goals[::-1], lambda goals: []])
def test_goals_that_were_edited_away_are_stated_anew(out: Path, edit: Callable[[list[Any]], list[Any]]) -> None:
    """In the order of the rules; a bound that was found for other goals before it is not taken over."""
    asked = [goal["goal"] for goal in json.loads((out / "plan.json").read_text(encoding="utf-8"))["goals"]]
    _edit(out, lambda plan: plan.update(goals=edit(plan["goals"])))
    refused = ran("verify", "out")
    assert refused.status == 3 and "[goals-stated]" in refused.stdout
    assert ran("draw", "out", "--out", "new").status == 0
    goals = json.loads(Path("new/plan.json").read_text(encoding="utf-8"))["goals"]
    assert [goal["goal"] for goal in goals] == asked
    assert {goal["outcome"] for goal in goals} == {"best so far"}
    assert ran("verify", "new").status == 0


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_nothing_is_drawn_of_a_plan_that_breaks_a_rule(out: Path, form: tuple[str, ...]) -> None:
    """The findings are told, the status is 3, and there is no paper that could be built from."""
    _edit(out, _another_fuse)
    result = ran("draw", "out", "--out", "new", *form)
    assert result.status == 3
    assert result.stderr == (
        f"{FOUND}error: nothing was drawn: the plan breaks its requirements 3 times  [plan-breaks-rules]\n"
        "  where: out\n"
        "  try:   mend the plan, and see with allocator verify whether it holds\n"
    )
    if form:
        schemas.check(result.data, schemas.NOT_DRAWN)
    else:
        assert result.stdout == ""
    assert not Path("new").exists()


def test_an_interrupt_while_drawing_leaves_nothing(
    out: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The thread that draws is left behind; what it still makes comes to nothing, and it says nothing of that."""
    ended: list[int] = []
    left = threading.Event()

    def interrupt(plan: object, sized: object, folder: Path) -> None:
        os.kill(os.getpid(), signal.SIGINT)
        assert left.wait(10)
        folder.mkdir()

    def leave(status: int) -> None:
        ended.append(status)
        raise SystemExit(status)

    monkeypatch.setattr(plans, "draw_files", interrupt)
    monkeypatch.setattr("allocator.cli.statuses.leave_at_once", leave)
    before = threading.enumerate()
    assert ran("draw", "out", "--out", "new") == Ran(130, "", "interrupted: nothing was written\n")
    (behind,) = (thread for thread in threading.enumerate() if thread not in before)
    left.set()
    behind.join(10)
    assert capsys.readouterr() == ("", "")
    assert (ended, sorted(path.name for path in Path().iterdir())) == ([130], ["out"])
