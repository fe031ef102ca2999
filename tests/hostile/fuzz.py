"""
A fuzzer that is guided by coverage: ``python -m tests.hostile.fuzz --runs 5000`` (extra ``fuzz``).

It grows its own inputs from sound ones, by which lines of the reading rooms they reach. One byte picks the file that is
spoilt: scenario.toml, circuits.csv, circuits.xlsx or plan.json. Whatever comes, the answer is requirements, findings
or faults in words; anything else ends the run and prints the input. Says at the end how many inputs were read at all.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["allocator"]):
    from allocator.errors import InputError, SizingError
    from allocator.plan import read_plan
    from allocator.requirements import load_scenario
    from allocator.sizing.size import size
    from allocator.verifying import verify

from tests.cli.running import planned
from tests.hostile.mutations import workbook
from tests.hostile.test_mutations import UNREAD
from tests.requirements.folders import CIRCUITS, SCENARIO

KINDS = ("scenario.toml", "circuits.csv", "circuits.xlsx", "plan.json")
LIBRARY_WORDS = ("pydantic", "validation error", "Traceback", "openpyxl")
reached: Counter[str] = Counter()


def seeds() -> dict[str, bytes]:
    """Return a sound input of each kind, its first byte the kind."""
    plan = planned()[1]["plan.json"]
    sound = (SCENARIO.encode(), CIRCUITS.encode(), workbook(CIRCUITS.encode()), plan)
    return {name: bytes([number]) + content for number, (name, content) in enumerate(zip(KINDS, sound, strict=True))}


def one_input(data: bytes) -> None:
    """Read one input as the kind that its first byte says."""
    if not data:
        return
    kind, content = KINDS[data[0] % len(KINDS)], data[1:]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "scenario.toml").write_text(SCENARIO, encoding="utf-8")
        if not kind.startswith("circuits"):
            (folder / "circuits.csv").write_text(CIRCUITS, encoding="utf-8")
        (folder / kind).write_bytes(content)
        try:
            if kind == "plan.json":
                plan = read_plan(folder / kind)
                verify(size(plan.requirements), plan)
            else:
                size(load_scenario(folder))
            reached["sound"] += 1
        except (InputError, SizingError) as error:
            text = str(error)
            if [word for word in LIBRARY_WORDS if word in text]:
                raise RuntimeError(f"a word of a library: {text}") from error
            faults = error.faults if isinstance(error, InputError) else ()
            reached["unread" if {fault.rule for fault in faults} & UNREAD else "refused by its meaning"] += 1


def main() -> None:
    """Run the fuzzer for so many inputs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5000)
    runs: int = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as name:
        for kind, content in seeds().items():
            (Path(name) / kind).write_bytes(content)
        words = [sys.argv[0], f"-atheris_runs={runs}", "-max_len=65536", "-timeout=60", name]
        atheris.Setup(words, counted)
        atheris.Fuzz()


def counted(data: bytes) -> None:
    """Try one input, and tell now and then how far they came."""
    one_input(data)
    if sum(reached.values()) % 1000 == 0:
        print(dict(reached), flush=True)


if __name__ == "__main__":
    main()
