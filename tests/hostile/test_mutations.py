"""
Thousands of spoilt inputs: each gets an exit status of the contract and an answer in words, and harms nothing.

No file outside the output folder is written, changed or taken away, and nothing of Python shows.
"""

from __future__ import annotations

import re
import shutil
from collections import Counter
from pathlib import Path

import pytest

from tests.cli.running import Ran, planned, ran
from tests.hostile.mutations import Mutant, plan_mutant, scenario_mutant, write_mutant

SAMPLE, MANY = 80, 3400
"""Each goes through two or three commands."""
ALLOWED = {0, 2, 3, 4}
UNREAD = {
    "bad-toml", "bad-csv", "bad-workbook", "unreadable-file", "not-a-table", "file-too-large", "no-file", "empty-table",
    "too-many-rows", "unnamed-column", "duplicate-column", "unknown-column", "missing-column", "not-utf-8",
    "plan-not-json", "plan-format", "too-deep",
}  # fmt: skip
"""Faults of a file that could not be read at all."""
SPILLED = ("Traceback", "pydantic", "validation error", "Error: ", "site-packages", "object at 0x")


def judged(result: Ran, mutant: Mutant, seed: int) -> None:
    said = result.stdout + result.stderr
    assert result.status in ALLOWED, f"seed {seed} ({mutant.story}) ended with {result.status}:\n{said}"
    assert not [word for word in SPILLED if word in said], f"seed {seed} ({mutant.story}):\n{said}"
    assert result.status == 0 or result.stderr.strip() or result.stdout.strip(), f"seed {seed}: no word"


def everything(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def scenarios_survive(seeds: range, tmp_path: Path, plan_every: int = 60) -> Counter[str]:
    """Check each, and plan some of those that pass. Counts how far they came."""
    reached: Counter[str] = Counter()
    for seed in seeds:
        mutant = scenario_mutant(seed)
        place = tmp_path / str(seed)
        folder = write_mutant(mutant, place / "van")
        (place / "other.txt").write_text("mine", encoding="utf-8")
        before = everything(place)
        result = ran("check", folder, "--brief")
        judged(result, mutant, seed)
        assert everything(place) == before
        reached["parsed" if parsed(result) else "refused"] += 1
        reached[f"check {result.status}"] += 1
        if result.status == 0 and seed % plan_every == 0:
            out = place / "out"
            planned_now = ran("plan", folder, "--out", out, "--time-limit", "5")
            judged(planned_now, mutant, seed)
            reached[f"plan {planned_now.status}"] += 1
            assert {
                name: content for name, content in everything(place).items() if not name.startswith("out/")
            } == before
            assert out.exists() == (planned_now.status == 0)
        shutil.rmtree(place)
    return reached


def parsed(result: Ran) -> bool:
    """Say whether the deeper checks were reached: every file was read, and only its meaning was refused."""
    return not set(re.findall(r"  \[([a-z0-9-]+)\]$", result.stderr, re.MULTILINE)) & UNREAD


def plans_survive(seeds: range, tmp_path: Path) -> Counter[str]:
    """Have each judged; draw those that pass now and then."""
    reached: Counter[str] = Counter()
    plan = planned()[1]["plan.json"]
    for seed in seeds:
        mutant = plan_mutant(seed, plan)
        folder = write_mutant(mutant, tmp_path / f"plan-{seed}")
        before = everything(folder)
        result = ran("verify", folder)
        judged(result, mutant, seed)
        assert everything(folder) == before
        reached["parsed" if parsed(result) else "refused"] += 1
        reached[f"verify {result.status}"] += 1
        shutil.rmtree(folder)
    return reached


def test_spoilt_scenarios(tmp_path: Path) -> None:
    reached = scenarios_survive(range(SAMPLE), tmp_path, plan_every=SAMPLE + 1)
    assert reached["parsed"] >= SAMPLE / 2, reached


def test_spoilt_plans(tmp_path: Path) -> None:
    reached = plans_survive(range(SAMPLE), tmp_path)
    assert reached["parsed"] >= SAMPLE / 2, reached


@pytest.mark.long
@pytest.mark.parametrize("part", range(10))
def test_many_spoilt_scenarios(part: int, tmp_path: Path) -> None:
    """With those of plans ten thousand and more."""
    reached = scenarios_survive(range(SAMPLE + part * MANY // 5, SAMPLE + (part + 1) * MANY // 5), tmp_path)
    assert reached["parsed"] >= MANY // 10, reached


@pytest.mark.long
@pytest.mark.parametrize("part", range(10))
def test_many_spoilt_plans(part: int, tmp_path: Path) -> None:
    reached = plans_survive(range(SAMPLE + part * MANY // 10, SAMPLE + (part + 1) * MANY // 10), tmp_path)
    assert reached["parsed"] >= MANY // 20, reached
