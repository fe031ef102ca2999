"""``--second-opinion`` on the command line: agreement is told, a claim that is too weak gets another status."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

from allocator.cli.answers import Answer
from allocator.cli.opinions import with_opinions
from allocator.opinion import Opinion
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
