"""why: what is written, what is said, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from allocator.cli import asking_why
from allocator.outputs.drawing import FILES
from allocator.plan import read_plan
from allocator.plan.files import plan_text
from allocator.sizing import size
from allocator.verifying import verify
from tests.cli import schemas
from tests.cli.running import plan_folder, ran


def test_what_is_not_settled_in_time_is_said_to_be_open(tmp_path: Path) -> None:
    """All files are there; draw makes them again from the plan, byte for byte."""
    built, out, again = plan_folder(tmp_path / "built"), tmp_path / "out", tmp_path / "again"
    result = ran("why", built, "--out", out, "--time-limit", "0.05", "--json")
    assert (result.status, result.stderr) == (0, "")
    schemas.check(result.data, schemas.ASKED)
    assert result.data["why"]["was_cut"] and any(item["is_open"] for item in result.data["why"]["eased"])
    assert {*FILES, "why.csv", "run.json"} <= {path.name for path in out.iterdir()}
    plan = read_plan(out / "plan.json")
    assert plan.why is not None and json.loads(plan_text(plan))["why"] == result.data["why"]
    assert all(item.where.startswith(("plan.json", "catalogue")) for item in plan.why.eased)
    assert verify(size(plan.requirements), plan) == ()
    assert ran("draw", out, "--out", again).status == 0
    for name in ("plan.json", "why.csv", "summary.txt", "report.html"):
        assert (again / name).read_bytes() == (out / name).read_bytes()


@pytest.mark.long
def test_the_spare_way_of_the_starter_costs_a_bay(tmp_path: Path) -> None:
    built, out = plan_folder(tmp_path / "built"), tmp_path / "out"
    result = ran("why", built, "--out", out, "--time-limit", "600")
    assert (
        "saves a bay (1 bay, 1 module type and 2 feed entries): no spare ways of type F instead of 1" in result.stdout
    )
    plan = read_plan(out / "plan.json")
    assert plan.why is not None and not plan.why.was_cut
    for item in plan.why.eased:
        if item.plan:
            eased = read_plan(out / item.plan)
            assert verify(size(eased.requirements), eased) == ()


def test_a_load_that_is_none_is_refused(tmp_path: Path) -> None:
    result = ran("why", plan_folder(tmp_path / "built"), "--out", tmp_path / "out", "--load", "heavy")
    assert result.status == 2 and "[bad-load]" in result.stderr and "--load heavy" in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_plan_that_breaks_a_rule_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is asked about it."""
    monkeypatch.setattr(asking_why, "what_binds", None)
    built = plan_folder(tmp_path / "built")
    plan = read_plan(built / "plan.json")
    (built / "plan.json").write_text(plan_text(plan.model_copy(update={"ways": plan.ways[1:]})), encoding="utf-8")
    result = ran("why", built, "--out", tmp_path / "out")
    assert (result.status, result.stdout) == (3, "")
    assert not (tmp_path / "out").exists()
