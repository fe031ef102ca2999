"""Each kind of fault, its whole text compared: the cases stand in ``faults*.toml``."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from allocator.errors import InputError
from allocator.requirements import load_catalogue, load_scenario
from allocator.requirements.reading import SHIPPED_CATALOGUE
from tests.requirements.folders import CIRCUITS, SCENARIO, changed, faults_text, write

CASES = [
    case
    for path in sorted(Path(__file__).parent.glob("faults*.toml"))
    for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]
]


def _faults_of(case: dict[str, Any]) -> str:
    edits = [(old, new) for old, new in case.get("edits", [])]
    if case["file"] == "catalogue.toml":
        Path("parts.toml").write_text(changed(SHIPPED_CATALOGUE.read_text(encoding="utf-8"), *edits), encoding="utf-8")
        with pytest.raises(InputError) as caught:
            load_catalogue(Path("parts.toml"))
        return str(caught.value)
    if case["file"] == "variant.toml":
        folder = write(Path("float"))
        (folder / "variant.toml").write_text(case["text"], encoding="utf-8")
        with pytest.raises(InputError) as caught:
            load_scenario(folder, "variant.toml")
        return str(caught.value)
    if case["file"] == "scenario.toml":
        return faults_text(write(Path("float"), scenario=changed(SCENARIO, *edits)))
    return faults_text(write(Path("float"), circuits=changed(CIRCUITS, *edits)))


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['file']}: {case['name']}")
def test_the_user_is_told(case: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """File, place, field, value, what was expected and the nearest name, and not a word of the libraries beneath."""
    monkeypatch.chdir(tmp_path)
    assert _faults_of(case) + "\n" == case["faults"]


def test_all_faults_come_at_once_in_the_order_of_the_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One slip in each file and two in one row are four faults, and what they spoil is not reported."""
    monkeypatch.chdir(tmp_path)
    scenario = changed(
        SCENARIO, ("[vehicle]", 'catalogue = "parts.toml"\n[vehicle]'), ('rating = "40 A"', 'rating = "40"')
    )
    folder = write(Path("float"), scenario, changed(CIRCUITS, ("6 A", "6 m"), ("motor", "moter")))
    parts = changed(SHIPPED_CATALOGUE.read_text(encoding="utf-8"), ("price = 6.85", "price = -1"))
    (folder / "parts.toml").write_text(parts, encoding="utf-8")
    found = [line.rpartition("[")[2] for line in faults_text(folder).splitlines() if line.startswith("error")]
    assert found == ["bare-number]", "wrong-unit]", "unknown-word]", "bad-price]"]
