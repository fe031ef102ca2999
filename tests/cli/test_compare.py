"""compare: plans, scenarios and variants on the command line; what is printed, what is written, what is refused."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pytest

from allocator.outputs.comparing.documents import COMPARE_FILES
from allocator.outputs.comparing.words import SAME
from tests.cli.running import STARTER, contents, plan_folder, ran


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(STARTER, "van")
    plan_folder(Path("built"))
    return tmp_path


def test_a_plan_with_itself(here: Path) -> None:
    """Nothing differs, and no other word is said about a difference."""
    result = ran("compare", "built", "built/plan.json")
    assert (result.status, result.stderr) == (0, "")
    assert SAME in result.stdout
    assert result.stdout.count("no difference") == 5
    data = ran("compare", "built", "built", "--json").data
    assert (data["inputs"], {fate for need in data["needs"] for fate in need["fates"]}) == ([], {"same"})


def test_a_plan_with_its_scenario(here: Path) -> None:
    """Planned anew, the same input gives the same plan."""
    assert SAME in ran("compare", "built", "van").stdout


def test_a_scenario_with_a_variant(here: Path) -> None:
    result = ran("compare", "van", "--variant", "no-sharing.toml", "--out", "out")
    assert (result.status, result.stderr) == (0, "")
    for line in (
        "  B  van with no-sharing.toml: No sharing of feeds: Starter camper, plan",
        "  feed entries            2  best possible (relaxation)               9  best possible (relaxation)",
        "  feeds leisure               rating             50.0 A              60.0 A",
        "  holder-c            0        9       +9   +22.05 EUR",
        "  B       1  fridge     moved  way bench/2/A/1 -> bench/1/A/2; feed engine-on -> leisure",
        "Written to out: compare.csv, compare.json, compare.pdf, compare.png, compare.svg, compare.txt, plan-1.json,",
    ):
        assert line in result.stdout
    files = contents(Path("out"))
    assert sorted(files) == sorted([*COMPARE_FILES, "plan-1.json", "plan-2.json", "run.json"])
    assert files["plan-1.json"] == contents(Path("built"))["plan.json"]
    assert result.stdout.startswith(files["compare.txt"].decode())
    rows = {
        (row["section"], row["name"], row["field"]): row
        for row in csv.DictReader(files["compare.csv"].decode().splitlines())
    }
    assert (rows["goal", "strip-pieces", "value"]["A"], rows["goal", "strip-pieces", "value"]["B"]) == ("2", "9")
    assert rows["circuit", "fridge", "feed"]["differs"] == "yes" and not rows["circuit", "fan", "feed"]["differs"]
    assert json.loads(files["compare.json"])["plans"][1]["letter"] == "B"
    assert ran("verify", "out/plan-2.json", "--scenario", "van", "--variant", "no-sharing.toml").status == 0
    assert ran("compare", "van", "--variant", "no-sharing.toml", "--out", "out").status == 0
    again = contents(Path("out"))
    assert {name: again[name] for name in again if name != "run.json"} == {
        name: files[name] for name in files if name != "run.json"
    }


def test_two_rule_sets(here: Path) -> None:
    """Same vehicle, same parts, other rules: these are told, each once, and nothing else was asked for otherwise."""
    text = """title = "Room to grow"
        rules.feed_loading = "90 %"
        rules.spares = [{fuse_format = "E", count = 2}, {fuse_format = "F", count = 1}]
        rules.apart = [{circuits = ["reading", "lamps"], level = "row"}]
        rules.modules = [{module = "twin-f9", most = 1}]"""
    Path("van/rules.toml").write_text(text, encoding="utf-8")
    result = ran("compare", "van", "--variant", "rules.toml", "--json")
    assert (result.status, result.stderr) == (0, "")
    assert [(row["table"], row["name"], row["field"], *row["values"]) for row in result.data["inputs"]] == [
        ("rules", "", "feed_loading", "80.0 %", "90.0 %"),
        ("rules.spares", "", "fuse_format E", "", "count 2"),
        ("rules.modules", "", "module twin-f9", "", "most 1"),
        ("rules.apart", "", "circuits lamps; reading, level row", "", "there"),
    ]
    free = {(row["kind"], row["name"]): row["counts"] for row in result.data["free"]}
    assert free["spare way, fed", "type E"] == [0, 2] and free["spare way, fed", "type F"] == [1, 1]
    rows = {need["need"]: [standing and standing["way"] for standing in need["standings"]]
            for need in result.data["needs"]}  # fmt: skip
    first, second = (rows[name][1].rpartition("/")[0] for name in ("lamps", "reading"))
    assert first != second


def test_a_variant_that_cannot_be_met(here: Path) -> None:
    """It is told with its name, and what can be compared is."""
    Path("van/weak.toml").write_text('title = "Weak"\n[every]\nfeeds = "first"\n', encoding="utf-8")
    result = ran("compare", "van", "built", "--variant", "weak.toml")
    assert result.status == 3 and SAME in result.stdout
    assert result.stderr.startswith("error: no plan can be made: ")
    assert "  where: van with weak.toml: Weak\n" in result.stderr


def test_a_plan_that_breaks_rules_is_not_compared(here: Path) -> None:
    plan = json.loads(Path("built/plan.json").read_text(encoding="utf-8"))
    plan["ways"][0]["feed"], plan["ways"][1]["feed"] = "engine-on", "engine-on"
    Path("edited.json").write_text(json.dumps(plan), encoding="utf-8")
    result = ran("compare", "built", "edited.json", "--out", "out")
    assert (result.status, result.stdout) == (3, "")
    assert not Path("out").exists()
    assert result.stderr.startswith("error: the plan breaks its requirements ")
    assert "  where: edited.json\n" in result.stderr and "  try:   see all with allocator verify\n" in result.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            ("built",),
            "error: there is nothing to compare with  [usage]\n  where: built\n"
            "  known: expected 2 to 26 plans, scenarios and variants\n",
        ),
        (
            ("built", "built", "--variant", "no-sharing.toml"),
            "error: give one scenario with variants  [usage]\n  where: --variant=no-sharing.toml\n"
            "  known: 0 scenarios are given, and a variant is one of a scenario\n",
        ),
        (
            ("van", "van/no-sharing.toml"),
            "error: this is no plan and no scenario folder  [usage]\n  where: van/no-sharing.toml\n"
            "  known: a variant is given with --variant\n",
        ),
        (
            ("built", "gone"),
            'error: there is no file "gone"  [no-file]\n  where: gone\n',
        ),
        (
            ("van", "--variant", "no-sharng.toml"),
            'error: there is no file "no-sharng.toml"  [no-file]\n  where: van/no-sharng.toml\n'
            '  try:   did you mean "no-sharing.toml"?\n',
        ),
        (
            ("built", "van", "--time-limit", "0"),
            "error: the time limit is out of range  [usage]\n  where: --time-limit 0\n"
            "  known: expected more than 0 and at most 10000000 seconds\n",
        ),
    ],
)
def test_what_is_refused(arguments: tuple[str, ...], told: str, here: Path) -> None:
    result = ran("compare", *arguments)
    assert (result.status, result.stdout, result.stderr) == (2, "", told)
