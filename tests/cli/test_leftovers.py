"""Hidden folders of runs that were killed go with the next run; those of live runs and of others stay."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from allocator.cli.folder import RECORD, OutFolder, out_folder
from allocator.leftovers import PATTERN, clear_leftovers, make_waiting
from tests.cli.running import COMMAND, ROOT, SCENARIOS, contents, plan_folder, ran


def test_the_next_run_clears_up_after_a_killed_one(tmp_path: Path) -> None:
    """Killed without a word, for example for want of memory; its old results are whole, and may be written again."""
    out = plan_folder(tmp_path / "out")
    before = contents(out)
    with subprocess.Popen(
        [*COMMAND, "plan", str(SCENARIOS / "library-bus"), "--out", str(out)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    ) as process:
        while not list(out.glob(f"{PATTERN}/in-use")):
            assert process.poll() is None
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
    (left,) = out.glob(PATTERN)
    (left / "files").mkdir()
    assert {name: (out / name).read_bytes() for name in before} == before
    assert ran("draw", out, "--out", out).status == 0
    assert sorted(contents(out)) == sorted(before)


def test_the_folder_of_a_live_run_stays(tmp_path: Path) -> None:
    waiting, lock = make_waiting(tmp_path)
    clear_leftovers(tmp_path)
    assert waiting.is_dir()
    assert lock is not None
    os.close(lock)
    clear_leftovers(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_live_run_of_the_same_number_is_no_hindrance(tmp_path: Path) -> None:
    """As in two containers that share a disk."""
    first, lock = make_waiting(tmp_path)
    second, other_lock = make_waiting(tmp_path)
    assert first != second
    assert {first, second} == set(tmp_path.glob(PATTERN))
    assert lock is not None and other_lock is not None
    os.close(lock)
    os.close(other_lock)


def test_what_only_looks_like_one_stays(tmp_path: Path) -> None:
    """A folder without the file that tells, one where that is a link or a folder, and a plain file."""
    names = [f".allocator-{number}.part" for number in range(4)]
    for name in names[:3]:
        (tmp_path / name).mkdir()
    (tmp_path / names[3]).write_text("mine", encoding="utf-8")
    (tmp_path / names[1] / "in-use").symlink_to(tmp_path / names[3])
    (tmp_path / names[2] / "in-use").mkdir()
    clear_leftovers(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == names


def die_while_moving(out: Path, kills_at: int) -> None:
    """Write other files than before, and be killed at the n-th move; called in a process of its own."""
    replace, moves = Path.replace, []

    def dying(path: Path, target: Path) -> Path:
        moves.append(path)
        if len(moves) == kills_at:
            os.kill(os.getpid(), signal.SIGKILL)
        return replace(path, target)

    Path.replace = dying  # type: ignore[method-assign, assignment]
    _make(out, "two", "three", "four", RECORD)


@pytest.mark.parametrize("kills_at", range(1, 8))
def test_a_run_killed_while_it_moves_files_stands_in_nobodys_way(kills_at: int, tmp_path: Path) -> None:
    """Whatever it left half moved, the next run may replace."""
    out = tmp_path / "out"
    _make(out, "one", "two", RECORD)
    script = f"from tests.cli.test_leftovers import *; die_while_moving(Path({str(out)!r}), {kills_at})"
    done = subprocess.run([sys.executable, "-c", script], env=os.environ | {"PYTHONPATH": str(ROOT)}, check=False)
    assert done.returncode == -signal.SIGKILL
    assert _make(out, "two", "three", "five", RECORD) == ["five", RECORD, "three", "two"]
    assert sorted(contents(out)) == ["five", RECORD, "three", "two"]


def _make(out: Path, *names: str) -> list[str]:
    with out_folder(out, names) as folder:
        assert isinstance(folder, OutFolder)
        folder.files.mkdir()
        for name in names:
            text = f'{{"files": {list(names)!r}}}'.replace("'", '"') if name == RECORD else name
            (folder.files / name).write_text(text, encoding="utf-8")
        return folder.place()
