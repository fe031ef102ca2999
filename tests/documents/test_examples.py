"""
Every example of README and docs does what its page says.

- ``sh``: run line by line in one empty folder for each page; ``fails=2`` is the status that the last line ends with.
  Only what is marked ``by-hand`` is left to the reader: it starts from what the gate made.
- ``text``: each line was printed by the ``sh`` block before it.
- ``python``: runs in the folder of its page.
- ``toml scenario``: may be added to a starter scenario; ``toml catalogue=TABLE``: is valid there;
  ``toml variant=NAME``: may be laid over that bundled scenario, beside a catalogue ``other-parts.toml``.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from allocator import load_scenario
from allocator.requirements.catalogue import Catalogue
from tests.documents.examples import PAGES, TOP, Example, examples

pytestmark = pytest.mark.documents
CATALOGUE = TOP / "allocator" / "requirements" / "data" / "catalogue.toml"
KINDS = {"sh", "text", "python", "toml", "csv", "json"}


def ids(page: Path) -> str:
    return str(page.relative_to(TOP))


@pytest.mark.parametrize("page", PAGES, ids=ids)
def test_commands_and_what_they_print(page: Path, tmp_path: Path) -> None:
    """In order, in one folder, as a reader would type them."""
    shutil.copytree(TOP / "scenarios", tmp_path / "scenarios")
    printed = ""
    for example in examples(page):
        assert example.kind in KINDS, f"a block of kind {example.kind}, which nothing tries"
        if example.kind == "sh" and not example.in_gate and "by-hand" not in example.words:
            printed = shell(example, tmp_path)
        elif example.kind == "python":
            printed = python(example, tmp_path)
        elif example.kind == "text":
            for line in example.text.splitlines():
                assert line in printed, f"not printed: {line}\n--- but:\n{printed}"


def shell(example: Example, folder: Path) -> str:
    wanted = [int(word.removeprefix("fails=")) for word in example.words if word.startswith("fails=")]
    tools = folder / "bin"
    tools.mkdir(exist_ok=True)
    starts = {"allocator": "-c 'from allocator.cli.main import run; run()'", "python": ""}
    for name, start in starts.items():
        (tools / name).write_text(f'#!/bin/sh\nexec {sys.executable} {start} "$@"\n')
        (tools / name).chmod(0o755)
    text = example.text.replace(".venv/bin/", "")
    env = os.environ | {"PATH": f"{tools}{os.pathsep}{os.environ['PATH']}"}
    run = ["bash", "-euo", "pipefail", "-c", f"{text}\n:"]  # it stays to the end, as the shell of a reader does
    answer = subprocess.run(run, cwd=folder, env=env, capture_output=True, text=True, timeout=600)
    assert answer.returncode == (wanted[0] if wanted else 0), f"{text}\n{answer.stdout}{answer.stderr}"
    return answer.stdout + answer.stderr


def python(example: Example, folder: Path) -> str:
    run = [sys.executable, "-c", example.text]
    answer = subprocess.run(run, cwd=folder, capture_output=True, text=True, timeout=600)
    assert answer.returncode == 0, answer.stderr
    return answer.stdout + answer.stderr


TABLES = [
    pytest.param(example, id=f"{ids(page)}-{number}")
    for page in PAGES
    for number, example in enumerate(examples(page))
    if example.kind == "toml"
]


@pytest.mark.parametrize("example", TABLES)
def test_tables_are_valid(example: Example, tmp_path: Path) -> None:
    table = tomllib.loads(example.text)
    catalogue = [word.removeprefix("catalogue=") for word in example.words if word.startswith("catalogue=")]
    if catalogue:
        field = Catalogue.model_fields[catalogue[0]]
        TypeAdapter(field.annotation).validate_python(table[catalogue[0]])
        return
    variant_of = [word.removeprefix("variant=") for word in example.words if word.startswith("variant=")]
    folder = tmp_path / "starter"
    shutil.copytree(TOP / "scenarios" / next(iter(variant_of), "starter-camper"), folder)
    if variant_of:
        shutil.copy(CATALOGUE, folder / "other-parts.toml")
        (folder / "variant.toml").write_text(example.text, encoding="utf-8")
        assert load_scenario(folder, "variant.toml") != load_scenario(folder)
        return
    scenario = tomllib.loads((folder / "scenario.toml").read_text(encoding="utf-8"))
    (folder / "scenario.toml").write_text(toml(merged(scenario, table)), encoding="utf-8")
    load_scenario(folder)


def merged(table: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """Lay a table over another: lists are lengthened, but for the order of goals."""
    found = dict(table)
    for key, value in more.items():
        if isinstance(value, Mapping) and key in found:
            found[key] = merged(found[key], value)
        elif isinstance(value, list) and key in found and key != "objective":
            found[key] = [*found[key], *value]
        else:
            found[key] = value
    return found


def toml(table: Mapping[str, Any]) -> str:
    """Write a table whose values are plain, lists and tables."""
    return "".join(f"{key} = {inline(value)}\n" for key, value in table.items())


def inline(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{quoted(key)} = {inline(one)}" for key, one in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(inline(one) for one in value) + "]"
    return quoted(value) if isinstance(value, str) else str(value)


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
