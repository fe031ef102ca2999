"""``--second-opinion`` on the command line: agreement is told, a claim that is too weak gets another status."""

from __future__ import annotations

import json
import re
import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from allocator.cli import opinions
from allocator.cli.answers import Answer
from allocator.cli.opinions import with_opinions
from allocator.opinion import Opinion
from tests.builders import A, F, M, P, build_sized
from tests.cli.running import STARTER, plan_folder, ran, ran_apart


def test_verify_tells_what_the_second_model_says(tmp_path: Path) -> None:
    result = ran_apart("verify", plan_folder(tmp_path / "out"), "--second-opinion", "--json")
    assert result.status == 0
    assert {opinion["verdict"] for opinion in result.data["second_opinion"]} == {"agrees"}


def test_a_better_plan_is_a_fault_of_the_claim() -> None:
    """Whoever reads only the exit status learns of it too."""
    opinion = Opinion("bays", Fraction(3), "disagrees", (), 0.1)
    answer = with_opinions(Answer("kept\n", {"kept": True}), [opinion])
    assert answer.status == 3
    assert "bays: disagrees" in answer.text
    assert answer.data["second_opinion"][0]["value"] == "3"


def test_plan_asks_too(tmp_path: Path) -> None:
    result = ran("plan", STARTER, "--out", tmp_path / "out", "--second-opinion")
    assert result.status == 0
    assert "Second opinion" in result.stdout
    record = json.loads((tmp_path / "out" / "run.json").read_text(encoding="utf-8"))
    assert {opinion["verdict"] for opinion in record["second_opinion"]} == {"agrees"}


def test_plan_asks_too_where_there_is_none(tmp_path: Path) -> None:
    """One bay is too few for the starter camper, for both."""
    scenario = tmp_path / "camper"
    shutil.copytree(STARTER, scenario)
    text = (scenario / "scenario.toml").read_text(encoding="utf-8")
    (scenario / "scenario.toml").write_text(re.sub(r"max_bays = \d+", "max_bays = 1", text), encoding="utf-8")
    result = ran("plan", scenario, "--out", tmp_path / "out", "--second-opinion")
    assert result.status == 3 and not (tmp_path / "out").exists()
    assert result.stderr.startswith("error: ")
    assert result.stderr.endswith(
        "Second opinion (HiGHS; it counts in floating point)\n  agrees: it finds no plan either\n"
    )
    assert (
        ran("plan", scenario, "--out", tmp_path / "out", "--second-opinion", "--json").data["second_opinion"]
        == "agrees"
    )


def test_a_refusal_that_the_second_model_does_not_share_is_told_as_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opinions, "opinion_of_refusal", lambda _: "disagrees")
    sized = build_sized(circuits={"a": A(5)}, modules={"block": M(("4F",))}, feeds={"feed": F(60)}, panels={"p": P(3)})
    answer = opinions.with_opinion_of_refusal(Answer("", {}, "error: none\n", 3), sized, lambda: False)
    assert (
        answer.status == 3
        and "  disagrees: a plan seems to exist: report this as a fault of the program\n" in answer.notes
    )
    assert opinions.with_opinion_of_refusal(answer, sized, lambda: True) == answer
