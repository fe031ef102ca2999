"""
Folders of many random vehicles, as files: what ``allocator batch`` is measured on.

    python -m tests.benchmarks.fleet DIR --number 1000 --circuits 40

Comes in as a number and a size; goes out as one scenario folder for each seed, with the parts of the tests in a
catalogue of its own. The vehicles are those of ``vehicles.py``, with fuses added for their branches.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from tests.benchmarks.vehicles import vehicle
from tests.scenario_files import write_scenario


def write_fleet(folder: Path, number: int, num_circuits: int) -> list[str]:
    """Write the vehicles of the seeds 0, 1, 2, ... as scenario folders, and return their names."""
    names = []
    for seed in range(number):
        name = f"vehicle-{seed:04d}"
        write_scenario(folder / name, vehicle(num_circuits, seed).requirements, name)
        names.append(name)
    return names


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("--number", type=int, default=1000)
    parser.add_argument("--circuits", type=int, default=40)
    asked = parser.parse_args()
    names = write_fleet(asked.folder, asked.number, asked.circuits)
    print(f"{len(names)} scenarios of {asked.circuits} circuits in {asked.folder}")


if __name__ == "__main__":
    main()
