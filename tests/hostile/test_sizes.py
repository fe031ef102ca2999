"""Files that are far too large, too deep or made to burst: refused in words, at once and in little memory."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.cli.running import COMMAND, ROOT, Ran, ran
from tests.requirements.folders import CIRCUITS, SCENARIO, write

MOST_MIB = 700
"""Of one run, with all libraries; what ``check`` of a sound folder needs is about a third."""


def refused(result: Ran, word: str) -> None:
    assert result.status == 2, result.stderr
    assert f"[{word}]" in result.stderr, result.stderr
    assert "Traceback" not in result.stderr


LITTLE = (
    "import resource, subprocess, sys; done = subprocess.run(sys.argv[1:]); "
    "print('peak KiB', resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss); sys.exit(done.returncode)"
)
"""A small process between the test's own and the command: Linux counts the parent's memory to a new child's peak."""


def ran_in_little(*words: str | Path) -> Ran:
    """Run the command in a process of its own and hold it to its memory."""
    done = subprocess.run(
        [sys.executable, "-c", LITTLE, *COMMAND, *map(str, words)], capture_output=True, text=True, cwd=ROOT
    )
    assert int(done.stdout.rpartition("peak KiB ")[2]) < MOST_MIB * 1024
    return Ran(done.returncode, done.stdout, done.stderr)


def test_a_million_circuits(tmp_path: Path) -> None:
    rows = "".join(f"l{number},Lamp,21 W,led,battery,,,,2 m,,,,,,\n" for number in range(1_000_000))
    refused(ran_in_little("check", write(tmp_path, circuits=CIRCUITS + rows)), "file-too-large")


def test_a_workbook_that_bursts(tmp_path: Path) -> None:
    """A sheet of a third of a gigabyte in a file a thousandth of that."""
    folder = write(tmp_path, circuits=None)
    with zipfile.ZipFile(folder / "circuits.xlsx", "w", zipfile.ZIP_DEFLATED, compresslevel=1) as book:
        with book.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            for _ in range(320):
                sheet.write(b"0" * 2**20)
        book.writestr("[Content_Types].xml", "<Types/>")
    refused(ran_in_little("check", folder), "file-too-large")


ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {name} "{f"&{before};" * 10}">' for before, name in zip("abcdefghi", "bcdefghij", strict=True))
    + "]><worksheet><sheetData><row><c t='inlineStr'><is><t>&j;</t></is></c></row></sheetData></worksheet>"
)


def test_a_workbook_of_entities_within_entities(tmp_path: Path) -> None:
    from openpyxl import Workbook

    folder, sound = write(tmp_path, circuits=None), io.BytesIO()
    Workbook().save(sound)
    with zipfile.ZipFile(sound) as read, zipfile.ZipFile(folder / "circuits.xlsx", "w") as book:
        for item in read.infolist():
            is_sheet = item.filename.startswith("xl/worksheets/")
            book.writestr(item.filename, ENTITIES if is_sheet else read.read(item.filename))
    result = ran("check", folder)
    assert result.status == 2
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize("depth", [1000, 200_000])
def test_a_plan_nested_without_end(depth: int, tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text("[" * depth + "]" * depth, encoding="utf-8")
    assert ran("verify", tmp_path).status == 2


@pytest.mark.parametrize("value", ["[" * 5000 + "]" * 5000, "9" * 5000, "{a=" * 3000 + "1" + "}" * 3000, "nan", "-inf"])
def test_a_scenario_with_such_a_value(value: str, tmp_path: Path) -> None:
    folder = write(tmp_path, scenario=f"catalogue = {value}\n{SCENARIO}")
    result = ran("check", folder)
    assert result.status == 2
    assert "error: " in result.stderr
    assert len(result.stderr) < 20_000


def test_numbers_of_a_plan_that_json_has_not(tmp_path: Path) -> None:
    for text in ("NaN", "Infinity", "1e400", "1" + "0" * 5000):
        (tmp_path / "plan.json").write_text(f'{{"plan_format": {text}}}', encoding="utf-8")
        assert ran("verify", tmp_path).status == 2


def test_a_plan_without_end_is_not_waited_for() -> None:
    """A device that gives bytes for ever."""
    done = subprocess.run(["timeout", "60", *COMMAND, "verify", "/dev/zero"], capture_output=True, check=False)
    assert done.returncode == 2, done.stderr
