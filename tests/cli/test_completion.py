"""Completion as a real bash asks for it, with the script that the command prints."""

from __future__ import annotations

import shlex
import subprocess
from pathlib import Path

import pytest

from tests.cli.running import COMMAND, ROOT, ran


def completed(words: str, folder: Path) -> list[str]:
    """Return what bash offers for the last of the words."""
    command = folder / "allocator"
    command.write_text(f'#!/bin/sh\nPYTHONPATH={shlex.quote(str(ROOT))} exec {shlex.join(COMMAND)} "$@"\n')
    command.chmod(0o755)
    script = (
        f"PATH={shlex.quote(str(folder))}:$PATH; source <(allocator --show-completion); "
        f"COMP_WORDS=({words}); COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1)); "
        "complete -p allocator >&2; _allocator_completion allocator; printf '%s\\n' \"${COMPREPLY[@]}\""
    )
    done = subprocess.run(["bash", "-euc", script], capture_output=True, text=True, check=True)
    assert "-F _allocator_completion allocator" in done.stderr
    return done.stdout.split()


@pytest.mark.parametrize(
    ("words", "offered"),
    [("allocator ba", ["batch"]), ("allocator catalogue s", ["show"]), ("allocator batch fleet --cl", ["--cluster"])],
)
def test_bash_completes_commands_and_options(tmp_path: Path, words: str, offered: list[str]) -> None:
    assert completed(words, tmp_path) == offered


@pytest.mark.parametrize(
    ("shell", "word"),
    [
        ("bash", "complete -o default -F"),
        ("zsh", "#compdef allocator"),
        ("fish", "complete --command allocator"),
        ("powershell", "Register-ArgumentCompleter"),
    ],
)
def test_every_shell_gets_its_script(shell: str, word: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The shell is found among the processes above; here it is told."""
    monkeypatch.setattr("shellingham.detect_shell", lambda: (shell, f"/bin/{shell}"))
    result = ran("--show-completion")
    assert (result.status, result.stderr) == (0, "")
    assert word in result.stdout
