"""Help and versions: what they say, and that they load nothing heavy."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from importlib.metadata import version
from inspect import signature

import pytest

from allocator.cli import after, beside, many
from allocator.cli import app as commands
from allocator.cli.app import app
from allocator.solving.allocate import DEFAULT_TIME_LIMIT_S
from tests.cli.running import ROOT, ran, ran_apart

HEAVY = ("ortools", "matplotlib", "pint", "pydantic", "numpy", "openpyxl", "rich")
COMMANDS = (
    "init", "check", "plan", "compare", "draw", "revise", "verify", "why", "tradeoffs", "batch", "stock",
    "catalogue show", "catalogue check",
)  # fmt: skip


def _loaded_by(code: str) -> list[str]:
    code += f"\nimport sys; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    found: list[str] = eval(done.stdout.splitlines()[-1])
    return found


def test_help_loads_nothing_heavy() -> None:
    """The start must stay well under half a second, so no library that is slow to load may come along."""
    code = "from allocator.cli.main import run\ntry: run(['--help'])\nexcept SystemExit: pass"
    assert _loaded_by(code) == []


def test_importing_the_library_loads_nothing_heavy() -> None:
    assert _loaded_by("import allocator; dir(allocator)") == []


def test_the_probe_sees_what_is_loaded() -> None:
    assert "pydantic" in _loaded_by("import allocator; allocator.load_scenario")


def test_help_names_every_command_and_every_status() -> None:
    result = ran("--help")
    assert (result.status, result.stderr) == (0, "")
    lines = [line.split()[0] for line in result.stdout.partition("Commands:")[2].splitlines() if line.strip()]
    assert {*(command.split()[0] for command in COMMANDS)} == {*lines[: len(lines) - lines[::-1].index("catalogue")]}
    assert "Exit status: 0 done; 2 bad input or usage; 3 requirements cannot be met" in result.stdout
    assert "..." not in result.stdout.replace("[ARGS]...", ""), "a sentence is cut off"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_and_json(command: str) -> None:
    result = ran(*command.split(), "--help")
    assert (result.status, result.stderr) == (0, "")
    assert "--json" in result.stdout
    assert "<" not in result.stdout.replace("0<=x<=1000", ""), "a type of the language is no help"


def test_no_colour_and_no_frame_leaks_into_a_pipe() -> None:
    """Not even where the environment asks for colour."""
    more = {"FORCE_COLOR": "1", "CLICOLOR_FORCE": "1", "TERM": "xterm-256color", "PY_COLORS": "1"}
    for arguments in (("--help",), ("plan", "--help"), ("plan",), ("--nonsense",), ("check", "nowhere")):
        result = ran_apart(*arguments, more=more)
        assert "\x1b" not in result.stdout + result.stderr
        assert not set("│─╭╮╰╯") & set(result.stdout + result.stderr)


def test_the_version_names_the_solver_too() -> None:
    result = ran("--version")
    expected = f"allocator {version('panel-allocator')} (ortools {version('ortools')})\n"
    assert (result.status, result.stdout, result.stderr) == (0, expected, "")


def test_the_time_limit_shown_is_the_library_s() -> None:
    """It is written twice, because the library's stands in a room that loads the solver."""
    assert f"[default: {DEFAULT_TIME_LIMIT_S}]" in ran("plan", "--help").stdout


def test_tracebacks_are_left_plain() -> None:
    """A bug must show itself as it is, not within frames."""
    assert app.pretty_exceptions_enable is False


@pytest.mark.parametrize(
    "command", [commands.plan, after.revise, beside.compare, beside.why, beside.tradeoffs, many.batch]
)
def test_the_time_limit_of_a_command_is_that_of_the_library(command: Callable[..., int]) -> None:
    limits = [p.default for name, p in signature(command).parameters.items() if name.endswith("time_limit")]
    assert limits == [DEFAULT_TIME_LIMIT_S]
