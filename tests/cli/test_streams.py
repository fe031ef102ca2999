"""Where the words go: pipes that close, disks that are full, terminals that know few letters."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import COMMAND, ROOT, STARTER, ran_apart
from tests.requirements.folders import SCENARIO, changed, write


@pytest.fixture
def far(tmp_path: Path) -> Path:
    """A vehicle whose name needs letters that few character sets have."""
    return write(tmp_path / "far", scenario=changed(SCENARIO, ("Milk float", "Молоковоз 牛乳")))


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_letters_that_the_terminal_lacks_are_escaped(far: Path, encoding: str) -> None:
    result = ran_apart("check", far, "--brief", more={"PYTHONIOENCODING": encoding})
    assert (result.status, result.stderr) == (0, "")
    assert result.stdout.startswith("\\u041c\\u043e\\u043b\\u043e\\u043a\\u043e\\u0432\\u043e\\u0437 \\u725b\\u4e73: 3")


def test_utf_8_is_written_as_it_is(far: Path) -> None:
    assert ran_apart("check", far, "--brief", more={"PYTHONUTF8": "1"}).stdout.startswith("Молоковоз 牛乳: 3")


def test_a_file_name_that_is_no_text(tmp_path: Path) -> None:
    """It is told with escapes, in text and in JSON."""
    name = os.fsdecode(os.fsencode(tmp_path) + b"/\xff")
    result = ran_apart("check", name, "--json")
    assert result.status == 2
    assert "\\udcff" in result.stderr
    assert result.data["faults"][0]["where"] == name


def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [*COMMAND, "check", str(STARTER)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_a_result_that_cannot_be_printed_is_told() -> None:
    with Path("/dev/full").open("wb") as full:
        result = ran_apart("check", STARTER, stdout=full)
    assert result.status == 2
    assert result.stderr == "error: the result cannot be printed: No space left on device  [files]\n"


@pytest.mark.parametrize("words", [("--help",), ("--version",), ("plan", "--help"), ("--show-completion",)])
def test_help_that_cannot_be_printed_is_told(words: tuple[str, ...]) -> None:
    with Path("/dev/full").open("wb") as full:
        result = ran_apart(*words, stdout=full, more={"SHELL": "/bin/bash"})
    assert (result.status, result.stderr.splitlines()[-1]) == (
        2,
        "error: the result cannot be printed: No space left on device  [files]",
    )
    assert "Traceback" not in result.stderr


def test_help_that_nobody_reads_is_no_fault() -> None:
    with subprocess.Popen(
        ["sh", "-c", '{ "$@"; echo $? >&2; } | true', "sh", *COMMAND, "plan", "--help"],
        stderr=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    ) as process:
        assert process.stderr is not None
        assert process.stderr.read() == b"0\n"


@pytest.mark.parametrize(
    ("words", "status"), [(("check", "/nowhere"), 2), (("plna",), 2), (("plan",), 2), (("check", str(STARTER)), 0)]
)
def test_messages_that_cannot_be_written_change_no_status(words: tuple[str, ...], status: int) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*COMMAND, *words],
            stdout=subprocess.DEVNULL,
            stderr=full,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
            check=False,
        )
    assert done.returncode == status


def test_closed_streams_stop_nothing() -> None:
    done = subprocess.run(
        ["sh", "-c", '"$@" >&- 2>&-', "sh", *COMMAND, "check", str(STARTER)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.returncode == 0


TALKATIVE = """
import os
from allocator.cli import app, main
def status_of(words, before=app.status_of):
    os.write(1, b"a line of the solver's own")
    return before(words)
app.status_of = status_of
main.run()
"""


def test_what_a_compiled_library_prints_spoils_no_answer() -> None:
    done = subprocess.run(
        [sys.executable, "-c", TALKATIVE, "check", str(STARTER), "--json"],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0
    assert json.loads(done.stdout)["command"] == "check"
