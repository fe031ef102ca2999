"""
Requirements of a test, written as the files of a scenario folder, for what reads files.

Comes in as ``Requirements`` (of ``build_sized``, say); goes out as ``scenario.toml``, ``circuits.csv`` and a catalogue.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli_w

from allocator.requirements.scenario import Requirements
from tests.tables import money

CATALOGUE = "parts.toml"


def write_scenario(folder: Path, requirements: Requirements, name: str) -> None:
    """Write requirements as the files of a scenario."""
    folder.mkdir(parents=True)
    data = requirements.model_dump(mode="json", exclude_defaults=True)
    scenario = {"catalogue": CATALOGUE, **data["scenario"], "vehicle": data["scenario"]["vehicle"] | {"name": name}}
    # What sizing refuses, and the tests' own tables do not mind.
    scenario["feeds"] = [feed | ({"kind": "switched"} if feed.get("relay_class") else {}) for feed in scenario["feeds"]]
    (folder / "scenario.toml").write_text(tomli_w.dumps(scenario), encoding="utf-8", newline="\n")
    (folder / CATALOGUE).write_text(tomli_w.dumps(_with_branch_fuses(data)), encoding="utf-8", newline="\n")
    columns = list(dict.fromkeys(column for circuit in data["circuits"] for column in circuit))
    with (folder / "circuits.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows([_cell(circuit.get(column, "")) for column in columns] for circuit in data["circuits"])


def _cell(value: object) -> str:
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {item}" for name, item in value.items())
    if isinstance(value, list):
        return "; ".join(value)
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _with_branch_fuses(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return the catalogue with a fuse for each branch that has its own: the tests' parts size no feeds."""
    catalogue = dict(data["catalogue"])
    like = {fuse["fuse_format"]: fuse for fuse in catalogue["fuses"]}
    branches = {(feed["fuse_format"], feed["rating"]) for feed in data["scenario"]["feeds"] if feed.get("fuse_format")}
    catalogue["fuses"] = [
        *catalogue["fuses"],
        *(
            like[letter] | {"id": f"fuse-{letter}-{number}", "label": f"{letter} {rating}", "rating": rating}
            for number, (letter, rating) in enumerate(sorted(branches))
        ),
    ]
    return catalogue | {"fuses": [fuse | {"price": fuse.get("price", money(0))} for fuse in catalogue["fuses"]]}
