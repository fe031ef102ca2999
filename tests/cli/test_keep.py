"""plan --keep: places that a person has decided are kept, the rest is planned around them, and misfits are named."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from allocator.plan import Plan, read_plan
from allocator.requirements import load_scenario
from allocator.requirements.kept_places import with_kept_places
from allocator.sizing import size
from allocator.solving import allocate
from allocator.verifying import verify
from tests.cli.running import STARTER, plan_folder, ran


def _ways(plan: Plan) -> dict[str, str]:
    return {way.need: way.at for way in plan.ways}


def _file(folder: Path, *rows: str) -> Path:
    path = folder / "keep.csv"
    path.write_text("\n".join(["circuit,place", *rows]) + "\n", encoding="utf-8")
    return path


def test_the_rest_is_planned_around_what_is_kept(tmp_path: Path) -> None:
    keep = _file(tmp_path, "heater,bench/2/A/4", "lamps,bench/1")
    result = ran("plan", STARTER, "--keep", keep, "--out", tmp_path / "out")
    assert (result.status, result.stderr) == (0, "")
    plan = read_plan(tmp_path / "out" / "plan.json")
    assert _ways(plan)["heater"] == "bench/2/A/4"
    assert _ways(plan)["lamps"].startswith("bench/1/")
    assert ran("verify", tmp_path / "out").status == 0
    assert json.loads((tmp_path / "out" / "run.json").read_text(encoding="utf-8"))["keep"] == str(keep)


def test_an_edited_plan_is_completed(tmp_path: Path) -> None:
    """A person moves one circuit in plan.json and takes two out: verify says what is missing, plan completes it."""
    built = plan_folder(tmp_path / "built")
    data = json.loads((built / "plan.json").read_text(encoding="utf-8"))
    free = "bench/1/A/8"
    for way in data["ways"]:
        if way["need"] == "heater":
            way["at"] = free
    data["ways"] = [way for way in data["ways"] if way["need"] not in ("lamps", "water")]
    edited = tmp_path / "edited.json"
    edited.write_text(json.dumps(data), encoding="utf-8")
    judged = ran("verify", edited)
    assert judged.status == 3 and "every-need-placed" in judged.stdout
    sized = size(with_kept_places(load_scenario(STARTER), edited))
    plan = allocate(sized)
    assert verify(sized, plan) == ()
    kept = {way["need"]: way["at"] for way in data["ways"] if way["kind"] == "circuit"}
    assert kept.items() <= _ways(plan).items()
    assert {"lamps", "water"} <= _ways(plan).keys()


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        pytest.param(["hater,bench/1/A/1"], ["row 2", 'no circuit "hater"', 'did you mean "heater"?'], id="unknown"),
        pytest.param(["heater,bnch/1/A/1"], ["row 2", 'no panel "bnch"', 'did you mean "bench"?'], id="panel"),
        pytest.param(["heater,bench/1/A/1-2"], ["row 2", "cannot be read"], id="span"),
        pytest.param(["heater,bench/x"], ["row 2", "cannot be read"], id="no place"),
        pytest.param(["heater,"], ["row 2", "no place"], id="no place given"),
        pytest.param(["heater,bench/9/A/1"], ["row 2", "no such bay"], id="bay"),
        pytest.param(["heater,bench/1/A/80"], ["row 2", "no module on offer has such a way"], id="way"),
        pytest.param(
            ["heater,bench/1/A/1", "lamps,bench/1/A/1"],
            ["row 3", "the way is taken", '"heater" is to be there', "row 2"],
            id="two in one way",
        ),
        pytest.param(["heater,bench/1", "heater,bench/2"], ["row 3", "twice", "row 2"], id="twice"),
        pytest.param(
            ["hater,bench/1", "lamps,bnch/1", "water,bench/9"], ["row 2", "row 3", "row 4"], id="all faults at once"
        ),
    ],
)
def test_rows_that_cannot_be_kept(rows: list[str], words: list[str], tmp_path: Path) -> None:
    result = ran("plan", STARTER, "--keep", _file(tmp_path, *rows), "--out", tmp_path / "out")
    assert (result.status, result.stdout, (tmp_path / "out").exists()) == (2, "", False)
    assert [word for word in words if word not in result.stderr] == []


def test_rows_that_only_the_search_finds_to_clash_are_named(tmp_path: Path) -> None:
    """
    Each row alone could be kept, and the two could but for a rule of the scenario: the message has file and rows.

    A row that does not clash is not named, and a place of the scenario's own keeps its own row.
    """
    scenario = tmp_path / "camper"
    scenario.mkdir()
    for name in ("scenario.toml", "circuits.csv"):
        (scenario / name).write_bytes((STARTER / name).read_bytes())
    rule = '\n[[rules.apart]]\ncircuits = ["heater", "lamps"]\nlevel = "module"\n'
    with (scenario / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write(rule)
    keep = _file(tmp_path, "water,bench/2/A/1", "heater,bench/1/A/1", "lamps,bench/1/A/2")
    result = ran("plan", scenario, "--keep", keep, "--out", tmp_path / "out", "--json")
    assert (result.status, (tmp_path / "out").exists()) == (3, False)
    places = {member["requirement"]: member["where"] for member in result.data["clash"]["members"]}
    assert f'{keep}, row 3, place "bench/1/A/1"' in places.values()
    assert f'{keep}, row 4, place "bench/1/A/2"' in places.values()
    assert f"{keep}, row 2" not in str(places)
    assert any("[[rules.apart]]" in place for place in places.values())


def test_a_file_that_is_no_plan(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text("[1, 2]", encoding="utf-8")
    result = ran("plan", STARTER, "--keep", path, "--out", tmp_path / "out")
    assert (result.status, "the file is no plan" in result.stderr) == (2, True)
