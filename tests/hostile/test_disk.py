"""A run that is killed, or whose disk is full or must not be written, leaves no torn file, and harms no old one."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from allocator.cli.folder import RECORD
from allocator.leftovers import PATTERN
from tests.batch.folders import write_plain
from tests.cli.running import COMMAND, ROOT, STARTER, contents, plan_folder, planned, ran_apart

LONGEST_S = 30.0
WITHIN_A_FILE = 100_000
"""Bytes; some drawing is larger."""


def killed_after(seconds: float, command: Sequence[str | Path]) -> bool:
    """Start a command and kill it without a word; say whether it was still alive."""
    with subprocess.Popen(
        [*COMMAND, *(str(word) for word in command)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as process:
        try:
            process.wait(seconds)
            return False
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            return True


def without_record(files: dict[str, bytes]) -> dict[str, bytes]:
    """Leave out the record of the run, which holds clock times."""
    return {name: content for name, content in files.items() if name != RECORD and not name.startswith(".")}


def visible(folder: Path) -> dict[str, bytes]:
    files = (path for path in sorted(folder.iterdir()) if path.is_file())
    return without_record({path.name: path.read_bytes() for path in files})


def check_kills(moments: int, seed: int, tmp_path: Path) -> int:
    """Kill ``plan`` at random moments, into a new folder and over old results; return how often it was alive."""
    chance = random.Random(seed)
    whole = without_record(dict(planned()[1]))
    started = time.monotonic()
    assert ran_apart("plan", STARTER, "--out", tmp_path / "first").status == 0
    usual_s = min(LONGEST_S, time.monotonic() - started)
    old = dict.fromkeys(whole, b"of an earlier run")
    alive = 0
    for moment in range(moments):
        new, over = tmp_path / f"new-{moment}", plan_folder(tmp_path / f"over-{moment}")
        for name, content in old.items():
            (over / name).write_bytes(content)
        into = new if moment % 2 else over
        started = time.monotonic()
        if killed_after(chance.uniform(0.0, usual_s), ("plan", STARTER, "--out", into)):
            alive += 1
        else:
            usual_s = time.monotonic() - started  # the machine is less busy than it was at first
        if new.exists():
            assert visible(new) == whole
        for name, content in visible(over).items():
            assert content in (old[name], whole[name]), f"{name} is torn"
        for folder in (new, over):
            shutil.rmtree(folder, ignore_errors=True)
    assert not [path for path in tmp_path.iterdir() if path.name not in {"first"} and not path.match(PATTERN)]
    return alive


@pytest.mark.long
@pytest.mark.parametrize("part", range(20))
def test_killed_at_two_hundred_moments(part: int, tmp_path: Path) -> None:
    assert check_kills(10, 100 + part, tmp_path) >= 5


def check_refused(status: int, said: str) -> None:
    assert status == 2, said
    assert "Traceback" not in said
    assert "error: " in said


def check_nothing_changed(out: Path, before: dict[str, bytes], status: int, said: str) -> None:
    check_refused(status, said)
    assert {name: content for name, content in contents(out).items() if not name.startswith(".")} == before


def test_a_file_that_cannot_grow(tmp_path: Path) -> None:
    """As with a quota: writing stops within a file."""
    out = plan_folder(tmp_path / "out")
    before = contents(out)
    words = " ".join(f"'{word}'" for word in (*COMMAND, "draw", out, "--out", out))
    limited = ["bash", "-c", f"ulimit -f {WITHIN_A_FILE // 1024}; trap '' XFSZ; exec {words}"]
    done = subprocess.run(limited, env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True, check=False)
    check_nothing_changed(out, before, done.returncode, (done.stdout + done.stderr).decode())


@contextmanager
def small_disk(folder: Path, options: str) -> Iterator[Path]:
    """Mount a disk in memory. Who is not root may not; ``test_a_file_that_cannot_grow`` is for everybody."""
    if os.geteuid() != 0:
        pytest.skip("only root may mount a disk of its own")
    folder.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)], check=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk(tmp_path: Path) -> None:
    size = sum(len(content) for content in planned()[1].values())
    with small_disk(tmp_path / "disk", f"size={size + size // 2}") as disk:
        out = plan_folder(disk / "out")
        before = contents(out)
        done = ran_apart("draw", out, "--out", out)
        check_nothing_changed(out, before, done.status, done.stdout + done.stderr)


def test_a_disk_that_fills_within_a_batch(tmp_path: Path) -> None:
    """What was done before is whole and stays; the next run, with more room, does the rest alone."""
    for name in "abc":
        write_plain(tmp_path / "in", name)
    assert ran_apart("batch", tmp_path / "in", "--out", tmp_path / "whole", "--jobs", "1").status == 0
    whole = {name: contents(tmp_path / "whole" / "results" / name) for name in "abc"}
    room = sum(4096 * (len(content) // 4096 + 1) for content in whole["a"].values())
    with small_disk(tmp_path / "disk", f"size={room + room // 2}") as disk:
        done = ran_apart("batch", tmp_path / "in", "--out", disk / "out", "--jobs", "1")
        check_refused(done.status, done.stdout + done.stderr)
        results = disk / "out" / "results"
        kept = [path.name for path in sorted(results.iterdir()) if not path.name.startswith(".")]
        assert kept == ["a"] and contents(results / "a") == whole["a"]
        subprocess.run(["mount", "-o", "remount,size=64m", str(disk)], check=True)
        assert "1 of them before" in ran_apart("batch", tmp_path / "in", "--out", disk / "out", "--jobs", "1").stdout
        assert {name: contents(results / name) for name in "abc"} == whole


def test_a_disk_that_must_not_be_written(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", "size=64m") as disk:
        out = plan_folder(disk / "out")
        before = contents(out)
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        done = ran_apart("draw", out, "--out", out)
        check_nothing_changed(out, before, done.status, done.stdout + done.stderr)


def test_a_folder_that_must_not_be_written(tmp_path: Path) -> None:
    """Root may write everywhere, so it gives that right away first (setpriv, of util-linux)."""
    out = plan_folder(tmp_path / "out")
    before = contents(out)
    rights = "-dac_override,-dac_read_search"
    humbly = ["setpriv", f"--bounding-set={rights}", f"--inh-caps={rights}"] if os.geteuid() == 0 else []
    out.chmod(0o555)
    done = subprocess.run(
        [*humbly, *COMMAND, "draw", out, "--out", out],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        check=False,
    )
    out.chmod(0o755)
    check_nothing_changed(out, before, done.returncode, (done.stdout + done.stderr).decode())
