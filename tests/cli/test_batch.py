"""``allocator batch`` as a user meets it: results, table, going on, deaths, interrupts, a cluster."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psutil
import pytest

from allocator.plan import read_plan
from allocator.sizing import size
from allocator.verifying import verify
from tests.batch.folders import write_impossible, write_plain, write_wrong
from tests.benchmarks.fleet import write_fleet
from tests.cli import schemas
from tests.cli.running import COMMAND, ROOT, Ran, ran, ran_apart

PATIENCE_S = 120.0
NUM = 8
ENVIRONMENT = os.environ | {"PYTHONPATH": str(ROOT)}


def tree(folder: Path) -> dict[str, bytes]:
    """Return the content of every result, by path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def marks(out: Path) -> dict[str, tuple[int, int]]:
    """Return what tells whether a result was written again: inode and time of its record."""
    found = {path.parent.name: path.stat() for path in (out / "results").glob("[!.]*/result.json")}
    return {name: (stat.st_ino, stat.st_mtime_ns) for name, stat in found.items()}


def record(out: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((out / "run.json").read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Vehicles that take long enough, all together, for something to happen meanwhile."""
    folder = tmp_path_factory.mktemp("fleet")
    write_fleet(folder, NUM, 8)
    return folder


@pytest.fixture(scope="module")
def done(fleet: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The fleet, planned by one worker without any disturbance."""
    out = tmp_path_factory.mktemp("done") / "out"
    assert ran_apart("batch", fleet, "--out", out, "--jobs", 1).status == 0
    return out


@contextmanager
def _batch(*arguments: object) -> Iterator[subprocess.Popen[bytes]]:
    words = [*COMMAND, "batch", *map(str, arguments)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT) as process:
        try:
            yield process
        finally:
            process.kill()


def wait_for(out: Path, number: int, process: subprocess.Popen[bytes]) -> None:
    """Wait until so many results are there."""
    until(lambda: len(marks(out)) >= number or process.poll() is not None)
    assert process.poll() is None, f"it ended too early: {process.communicate()}"


def until(holds: Callable[[], bool]) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < deadline
        time.sleep(0.005)


def workers_of(process: subprocess.Popen[bytes]) -> list[psutil.Process]:
    """Return the processes that plan: below the one that was started, and with a child's part of its own."""
    below = psutil.Process(process.pid).children(recursive=True)
    return [child for child in below if child.ppid() != process.pid and "forkserver" in " ".join(child.cmdline())]


def test_one_bad_scenario_never_stops_the_rest_and_the_next_run_does_what_has_changed(tmp_path: Path) -> None:
    """Every outcome in one table; the exit status is that of the worst."""
    given, out = tmp_path / "in", tmp_path / "out"
    write_plain(given, "a")
    write_wrong(given, "b")
    write_impossible(given, "c")
    write_plain(given, "d")
    result = ran_apart("batch", given, "--out", out)
    assert (result.status, result.stderr) == (2, "")
    lines = [line.split() for line in result.stdout.splitlines()]
    assert lines[0] == ["4", "scenarios:", "2", "done,", "1", "bad", "input,", "1", "cannot", "be", "met"]
    assert [line[:2] for line in lines[3:7]] == [["a", "done"], ["b", "bad"], ["c", "cannot"], ["d", "done"]]
    assert sorted(path.name for path in out.iterdir()) == ["results", "run.json", "summary.csv"]
    for name in ("a", "d"):
        plan = read_plan(out / "results" / name / "plan.json")
        assert verify(size(plan.requirements), plan) == ()
    assert not (out / "results" / "b" / "plan.json").exists()
    rows = list(csv.DictReader((out / "summary.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["status"] for row in rows if row["scenario"] != "#"] == ["done", "bad input", "cannot be met", "done"]
    assert (rows[0]["bays"], rows[0]["price"]) == ("1", rows[3]["price"])
    assert rows[1]["bays"] == ""

    before = marks(out)
    text = (given / "b" / "circuits.csv").read_text(encoding="utf-8").replace("batery", "battery")
    (given / "b" / "circuits.csv").write_text(text, encoding="utf-8")
    write_plain(given, "e")
    result = ran_apart("batch", given, "--out", out, "--json")
    assert result.status == 3
    schemas.check(result.data, schemas.BATCH)
    assert (result.data["done_before"], result.data["counts"]["done"]) == (3, 4)
    assert {name: marks(out)[name] for name in "acd"} == {name: before[name] for name in "acd"}
    assert record(out)["done_before"] == ["a", "c", "d"]
    assert not (out / "results" / "b" / "faults.txt").exists()


@pytest.mark.parametrize(("place", "rule"), [("nowhere", "no-folder"), (".", "no-scenarios")])
def test_nothing_to_do_is_said_and_nothing_is_written(tmp_path: Path, place: str, rule: str) -> None:
    result = ran("batch", tmp_path / place, "--out", tmp_path / "out")
    assert (result.status, result.stdout) == (2, "")
    assert f"[{rule}]" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_files_of_others_stop_it_before_anything_is_done(tmp_path: Path) -> None:
    given, out = tmp_path / "in", tmp_path / "out"
    write_plain(given, "a")
    (out / "results" / "a").mkdir(parents=True)
    (out / "results" / "a" / "notes.txt").write_text("mine", encoding="utf-8")
    before = tree(out)
    result = ran("batch", given, "--out", out)
    assert result.status == 2
    assert "[foreign-files]" in result.stderr
    assert tree(out) == before


def test_after_a_kill_nothing_is_lost_and_nothing_done_twice(fleet: Path, done: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with _batch(fleet, "--out", out, "--jobs", 2) as process:
        wait_for(out, 2, process)
        workers = workers_of(process)
        process.send_signal(signal.SIGKILL)
        process.wait()
    before = marks(out)
    psutil.wait_procs(workers, timeout=PATIENCE_S)
    assert not [worker for worker in workers if worker.is_running() and worker.status() != psutil.STATUS_ZOMBIE]
    assert marks(out) == before, "nobody writes any more once the command is gone"
    assert ran_apart("batch", fleet, "--out", out, "--jobs", 2).status == 0
    assert {name: marks(out)[name] for name in before} == before
    assert record(out)["done_before"] == sorted(before)
    assert sorted(record(out)["seconds_by_scenario"]) == sorted(set(marks(out)) - set(before))
    assert tree(out / "results") == tree(done / "results")
    assert (out / "summary.csv").read_bytes() == (done / "summary.csv").read_bytes()


def test_a_killed_worker_costs_its_own_scenario_one_try(fleet: Path, done: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with _batch(fleet, "--out", out, "--jobs", 2) as process:
        wait_for(out, 1, process)
        workers_of(process)[0].kill()
        _, stderr = process.communicate(timeout=PATIENCE_S)
        assert (process.returncode, stderr) == (0, b"")
    assert sum(record(out)["deaths_by_scenario"].values()) == 1
    assert tree(out / "results") == tree(done / "results")


def test_an_interrupt_keeps_what_is_done(fleet: Path, tmp_path: Path) -> None:
    """To the whole group, as a terminal does it: the workers must not answer for themselves."""
    out = tmp_path / "out"
    words = [*COMMAND, "batch", str(fleet), "--out", str(out), "--jobs", "2", "--json"]
    pipes: dict[str, Any] = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(words, env=ENVIRONMENT, start_new_session=True, **pipes) as process:
        until(lambda: len(marks(out)) >= 1)
        workers = workers_of(process)
        os.killpg(process.pid, signal.SIGINT)
        stdout, stderr = process.communicate(timeout=PATIENCE_S)
    result = Ran(process.returncode, stdout, stderr)
    schemas.check(result.data, schemas.BATCH_STOPPED)
    assert result.status == 130
    kept = result.data["counts"]["done"]
    assert 1 <= kept < NUM
    assert result.data["counts"]["not done"] == NUM - kept
    assert stderr.splitlines() == [
        "stopping: every result that was written stays; interrupt again to abort at once",
        f"interrupted: {kept} of {NUM} are done; the same command goes on from here",
    ]
    assert len(marks(out)) == kept
    psutil.wait_procs(workers, timeout=PATIENCE_S)
    assert ran_apart("batch", fleet, "--out", out).status == 0


@contextmanager
def _cluster(folder: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A real scheduler and two worker processes of one thread each, without nannies, so that a dead one stays dead."""
    file = folder / "scheduler.json"
    dask = [sys.executable, "-m"]
    there = ["--scheduler-file", str(file)]
    quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "env": ENVIRONMENT}
    scheduler = [
        *dask,
        "distributed.cli.dask_scheduler",
        *there,
        "--host",
        "127.0.0.1",
        "--port",
        "0",
        "--no-dashboard",
    ]
    worker = [*dask, "distributed.cli.dask_worker", *there, "--nthreads", "1", "--no-nanny", "--no-dashboard"]
    started = [subprocess.Popen(scheduler, cwd=folder, **quiet)]
    try:
        until(lambda: file.exists() and file.stat().st_size > 0)
        for number in range(2):
            named = [*worker, "--name", f"worker-{number}", "--local-directory", str(folder)]
            started.append(subprocess.Popen(named, cwd=folder, **quiet))
        yield json.loads(file.read_text(encoding="utf-8"))["address"], started
    finally:
        for process in started:
            process.kill()
            process.wait()


def test_a_cluster_gives_the_same_bytes_though_a_worker_dies(fleet: Path, done: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with _cluster(tmp_path) as (address, (_, first, _)):
        with _batch(fleet, "--out", out, "--cluster", address) as process:
            wait_for(out, 1, process)
            before = marks(out)
            first.kill()
            _, stderr = process.communicate(timeout=PATIENCE_S)
        assert (process.returncode, stderr) == (0, b"")
        assert {name: marks(out)[name] for name in before} == before
        assert tree(out / "results") == tree(done / "results")
        assert (out / "summary.csv").read_bytes() == (done / "summary.csv").read_bytes()
        assert ran_apart("batch", fleet, "--out", out).status == 0  # and what a cluster did counts without it
        assert len(record(out)["done_before"]) == NUM


@pytest.mark.long
def test_a_cluster_that_is_lost_ends_the_batch_with_what_is_done(fleet: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with _cluster(tmp_path) as (address, (scheduler, *_)), _batch(fleet, "--out", out, "--cluster", address) as process:
        wait_for(out, 1, process)
        scheduler.kill()
        _, stderr = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 4
    assert b"the cluster is gone" in stderr and b"Traceback" not in stderr
    assert len(marks(out)) >= 1


@pytest.mark.long
def test_no_scheduler_at_the_address_is_said(tmp_path: Path) -> None:
    write_plain(tmp_path / "in", "a")
    result = ran_apart("batch", tmp_path / "in", "--out", tmp_path / "out", "--cluster", "tcp://127.0.0.1:9")
    assert (result.status, result.stdout) == (2, "")
    assert "[no-cluster]" in result.stderr and "Traceback" not in result.stderr
