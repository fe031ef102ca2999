"""Variants on the command line: checked, planned, verified and drawn like the scenario edited by hand."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.running import STARTER, contents, plan_folder, ran

VARIANT = 'title = "Weaker"\n[[feeds]]\nname = "leisure"\nrating = "60 A"\n[[circuits]]\nid = "fridge"\nload = "5 A"\n'


@pytest.fixture
def van(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(STARTER, "van")
    Path("van/weaker.toml").write_text(VARIANT, encoding="utf-8")
    return Path("van")


def test_the_plan_of_a_variant_is_that_of_the_edited_scenario(van: Path) -> None:
    """Byte for byte in every file but the record of the run, which names the variant; and the plan stands alone."""
    shutil.copytree("van", "edited")
    for name, old, new in (
        ("scenario.toml", 'rating = "50 A"', 'rating = "60 A"'),
        ("circuits.csv", "Fridge,6 A", "Fridge,5 A"),
    ):
        text = Path("edited", name).read_text(encoding="utf-8")
        assert text.count(old) == 1
        Path("edited", name).write_text(text.replace(old, new), encoding="utf-8")
    assert ran("plan", "van", "--variant", "weaker.toml", "--out", "one").status == 0
    assert ran("plan", "edited", "--out", "two").status == 0
    one, two = contents(Path("one")), contents(Path("two"))
    assert json.loads(one.pop("run.json"))["variant"] == "weaker.toml"
    assert json.loads(two.pop("run.json"))["variant"] is None
    assert one == two
    shutil.rmtree("van")
    assert ran("verify", "one").status == 0
    assert ran("verify", "one", "--scenario", "edited").status == 0


def test_a_plan_is_verified_against_a_variant(van: Path) -> None:
    plan_folder(Path("out"))
    assert ran("verify", "out", "--scenario", "van").status == 0
    result = ran("verify", "out", "--scenario", "van", "--variant", "weaker.toml")
    assert result.status == 3
    assert 'circuit "fridge"' in result.stdout
    assert ran("verify", "out", "--variant", "weaker.toml").stderr == (
        "error: a variant is one of a scenario  [usage]\n"
        "  where: --variant weaker.toml\n"
        "  try:   give the folder with --scenario as well\n"
    )


def test_a_variant_is_checked(van: Path) -> None:
    assert (
        "fridge (Fridge): on leisure or engine-on; up to 5 A" in ran("check", "van", "--variant", "weaker.toml").stdout
    )
    assert ran("check", "van", "--variant", "weeker.toml").stderr == (
        'error: there is no file "weeker.toml"  [no-file]\n'
        "  where: van/weeker.toml\n"
        '  try:   did you mean "weaker.toml"?\n'
    )


NO_VARIANTS = ("scenario.toml", "expected.toml", "fleet.toml")


@pytest.mark.parametrize(
    "variant",
    [path for path in sorted(STARTER.parent.glob("*/*.toml")) if path.name not in NO_VARIANTS],
    ids=lambda path: path.stem,
)
def test_bundled_variants_are_sound(variant: Path) -> None:
    assert ran("check", variant.parent, "--brief", "--variant", variant.name).status == 0
