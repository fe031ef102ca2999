"""Small scenario folders for batches: plain ones, one that cannot be met, and one that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from allocator.batch.running import Batch
from allocator.batch.tasks import Options, Versions
from tests.builders import A, F, M, P, build_sized
from tests.scenario_files import write_scenario

OPTIONS = Options(time_limit_s=60)
VERSIONS = Versions("1.2.3", "solver 4.5.6")


def write_plain(folder: Path, name: str, load_a: float = 5) -> None:
    """One lamp on one feed; planned in a moment."""
    _write(folder, name, {"lamp": A(load_a)})


def write_impossible(folder: Path, name: str) -> None:
    """Nine lamps, and bays for eight."""
    _write(folder, name, {f"lamp-{number}": A(1, formats=("F",)) for number in range(9)})


def write_wrong(folder: Path, name: str) -> None:
    """A scenario with a feed that is not there."""
    write_plain(folder, name)
    table = folder / name / "circuits.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("battery", "batery"), encoding="utf-8")


def batch_of(folder: Path) -> Batch:
    """Return the batch of a folder, asked for by a version that there is not."""
    return Batch(folder, OPTIONS, VERSIONS)


def _write(folder: Path, name: str, circuits: Mapping[str, A]) -> None:
    sized = build_sized(
        circuits=circuits, feeds={"battery": F(20)}, modules={"bar": M(("4F strip",))}, panels={"panel": P(2)}
    )
    write_scenario(folder / name, sized.requirements, name)
