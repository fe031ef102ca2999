"""The same input gives the same bytes: in another process, and with the rows of the circuits table in another order."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from allocator.plan.files import plan_text
from allocator.sizing.size import size
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from tests.builders import A, F, M, build_sized
from tests.model.rule_cases import alike, panel
from tests.sizing import vehicles

ROOT = Path(__file__).parents[2]
SCRIPT = """
import sys
from tests.solving.test_determinism import busy_panel
from allocator.plan.files import plan_text
from allocator.solving import allocate
sys.stdout.buffer.write(plan_text(allocate(busy_panel())).encode())
"""


def busy_panel() -> Sized:
    """A panel in which much is equal: modules, feeds, circuits, and two ways to be as good."""
    circuits = alike(6, feeds=("battery", "ignition")) | {
        "blower": A(9, formats=("F", "C"), relays=("micro", "standard")),
        "horn": A(6, relays=("micro",), cases=("day",)),
        "lamp": A(6, formats=("C",), cases=("night",)),
    }
    return build_sized(
        **panel(
            circuits=circuits,
            modules={
                "block": M(("4F", "2C"), {"micro": 1}, price=500),
                "twin": M(("3F", "3F"), {"standard": 1}, price=700),
            },
            feeds={"battery": F(40), "ignition": F(40), "accessory": F(25)},
            cases=("day", "night"),
            strip_limit_a=20,
            spares=[{"fuse_format": "F", "count": 2, "reserve": "2 A"}],
        )
    )


def test_fresh_processes_write_the_same_plan() -> None:
    """Seeds of the hash differ, so nothing may hang on the order of a set."""
    texts = [
        subprocess.run(
            [sys.executable, "-c", SCRIPT],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert texts[0] == texts[1] == plan_text(allocate(busy_panel())).encode()


@pytest.mark.parametrize("with_order", [True, False], ids=["order column", "ids alone"])
def test_the_rows_of_the_table_may_be_shuffled(with_order: bool) -> None:
    names = [f"lamp-{number}" for number in range(7)]
    orders = dict(zip(names, (3, 1, 2, 7, 6, 5, 4), strict=True)) if with_order else {}
    table = [
        vehicles.circuit(name, load=f"{3 + number} A", order=orders.get(name)) for number, name in enumerate(names)
    ]
    shuffled = list(table)
    random.Random(1).shuffle(shuffled)
    assert shuffled != table
    texts = [plan_text(allocate(size(vehicles.requirements(*rows)))) for rows in (table, shuffled)]
    assert texts[0] == texts[1]


FROM_A_FOLDER = """
import sys
from pathlib import Path
from allocator import allocate, load_scenario, size
from allocator.plan.files import plan_text
sys.stdout.buffer.write(plan_text(allocate(size(load_scenario(Path(sys.argv[1]))), time_limit_s=3600)).encode())
"""


@contextmanager
def busy_cores() -> Iterator[None]:
    """Keep every core at work with something else."""
    loops = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(os.cpu_count() or 1)]
    try:
        yield
    finally:
        for loop in loops:
            loop.kill()
            loop.wait()


def shuffled_copy(name: str, folder: Path, seed: int) -> Path:
    """Copy a bundled vehicle, its circuits in another order."""
    shutil.copytree(ROOT / "scenarios" / name, folder)
    head, *rows = (folder / "circuits.csv").read_text(encoding="utf-8").splitlines()
    random.Random(seed).shuffle(rows)
    (folder / "circuits.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return folder


def plan_bytes(folder: Path, seed: int) -> bytes:
    """Plan in a fresh process, its hashes of another seed."""
    environment = {**os.environ, "PYTHONHASHSEED": str(seed), "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-c", FROM_A_FOLDER, str(folder)], env=environment, capture_output=True, check=True
    ).stdout


def same_bytes_in_every_run(name: str, runs: int, tmp_path: Path) -> None:
    first = plan_bytes(ROOT / "scenarios" / name, 0)
    assert b'"depends_on_time": false' in first
    with busy_cores():
        for run in range(1, runs):
            assert plan_bytes(shuffled_copy(name, tmp_path / str(run), run), run) == first, f"run {run}"


def test_shuffled_rows_and_busy_cores_change_no_byte(tmp_path: Path) -> None:
    same_bytes_in_every_run("starter-camper", 2, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize(("name", "runs"), [("starter-camper", 50), ("beach-tractor", 50)])
def test_fifty_of_fifty_runs_give_the_same_bytes(name: str, runs: int, tmp_path: Path) -> None:
    """Fresh processes, shuffled rows, busy cores."""
    same_bytes_in_every_run(name, runs, tmp_path)
