"""draw() writes everything, in the same bytes each time, all or nothing."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from allocator.errors import InputError
from allocator.outputs import draw
from allocator.plan import Plan, read_plan
from allocator.sizing.sized import Sized
from tests.outputs.conftest import content_of
from tests.plan.plans import small

NAMES = {
    "plan.json", "parts.csv", "wires.csv", "summary.txt", "layout.svg", "layout.png", "layout.pdf", "feeds.svg",
    "feeds.png", "failures.csv", "report.html",
}  # fmt: skip


@pytest.fixture
def sample() -> tuple[Sized, Plan]:
    content = content_of("small")
    return content.sized, content.plan


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Path]]:
    """The folder with all of the sample, drawn once, and what was said to be written."""
    content, folder = content_of("small"), tmp_path_factory.mktemp("drawn")
    return folder / "out", draw(content.plan, content.sized, folder / "out")


def _digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


def test_everything_is_written_and_listed(here: tuple[Path, list[Path]], sample: tuple[Sized, Plan]) -> None:
    out, files = here
    assert set(NAMES) <= {path.name for path in files}
    assert files == sorted(path for path in out.iterdir())
    assert read_plan(out / "plan.json") == sample[1]
    assert (out / "layout.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert (out / "layout.pdf").read_bytes().startswith(b"%PDF-")
    assert list(out.parent.iterdir()) == [out]


def test_the_same_plan_gives_the_same_bytes_in_another_process(here: tuple[Path, list[Path]], tmp_path: Path) -> None:
    """Hashes of strings differ between the processes, and with them the order of any set."""
    code = (
        "import sys; from pathlib import Path; from allocator.outputs import draw; "
        "from allocator.plan import read_plan; from allocator.sizing import size; plan = read_plan(Path(sys.argv[1])); "
        "draw(plan, size(plan.requirements), Path(sys.argv[2]))"
    )
    command = [sys.executable, "-c", code, str(here[0] / "plan.json"), str(tmp_path / "there")]
    root = Path(__file__).parents[2]
    subprocess.run(command, check=True, cwd=root, env=os.environ | {"PYTHONHASHSEED": "77", "PYTHONPATH": str(root)})
    assert _digests(here[0]) == _digests(tmp_path / "there")


def test_files_of_the_user_stay_and_old_sheets_go(tmp_path: Path, sample: tuple[Sized, Plan]) -> None:
    sized, plan = sample
    out = tmp_path / "out"
    out.mkdir()
    for name in ("notes.txt", "layout-mine.svg", "layout-99.svg", "layout-99.png", "layout.svg"):
        (out / name).write_text("mine", encoding="utf-8")
    draw(plan, sized, out)
    left = {path.name for path in out.iterdir()}
    assert {"notes.txt", "layout-mine.svg"} <= left
    assert not {"layout-99.svg", "layout-99.png"} & left
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"
    assert (out / "layout.svg").read_text(encoding="utf-8") != "mine"


def test_a_run_that_stops_leaves_the_folder_as_it_was(
    tmp_path: Path, sample: tuple[Sized, Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    sized, plan = sample
    out = tmp_path / "out"
    out.mkdir()
    (out / "layout.svg").write_text("earlier", encoding="utf-8")

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("allocator.outputs.drawing.save_pdf", stopped)
    with pytest.raises(KeyboardInterrupt):
        draw(plan, sized, out)
    assert [(path.name, path.read_text(encoding="utf-8")) for path in out.iterdir()] == [("layout.svg", "earlier")]
    assert list(tmp_path.iterdir()) == [out]


def test_a_plan_that_names_what_is_not_there_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    sized, plan = small()
    broken = plan.model_copy(update={"pieces": (plan.pieces[0].model_copy(update={"at": "cabin/7/A/1-2"}),)})
    with pytest.raises(InputError, match="piece-exists"):
        draw(broken, sized, tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_the_pictures_of_the_readme_are_there_and_light() -> None:
    root = Path(__file__).parents[2]
    pictures = re.findall(r"!\[[^]]+\]\(([^)]+)\)", (root / "README.md").read_text(encoding="utf-8"))
    assert pictures
    for name in pictures:
        data = (root / name).read_bytes()
        assert data[:8] == b"\x89PNG\r\n\x1a\n" and len(data) < 400_000
        assert 1500 <= int.from_bytes(data[16:20]) <= 1700
