"""
Words of the command line: those that a user gives are read, and paths go into commands that are suggested.

Text comes in; a path or a number goes out, or a usage error that quotes the value. Nothing slow is loaded here.
"""

from __future__ import annotations

import json
import os
import re
import shlex
from collections.abc import Callable
from pathlib import Path

import typer

_SECONDS = re.compile(r"-?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?|nan|inf")


def path_of(word: str) -> Path:
    """Read a path; one without any letter would mean the current folder, which nobody asked for by it."""
    if not word:
        raise typer.BadParameter('the name is empty; the current folder is "."')
    return Path(word)


def seconds_of(word: str | float) -> float:
    """Read seconds as digits; ``limit_refused`` says whether they are possible."""
    if isinstance(word, str) and not _SECONDS.fullmatch(word):
        raise typer.BadParameter(f"{json.dumps(word)} is no number of seconds, such as 120")
    return float(word)


def whole_of(least: int, most: int) -> Callable[[str | int], int]:
    """Return what reads a whole number within limits."""

    def read(word: str | int) -> int:
        text = str(word)
        if not re.fullmatch("[0-9]{1,9}", text) or not least <= int(text) <= most:
            raise typer.BadParameter(f"{json.dumps(text)} is no whole number from {least} to {most}")
        return int(text)

    return read


def quoted_path(path: Path) -> str:
    """Return a path as a shell and a command take it: never for an option, its odd bytes as ``$'...'`` has them."""
    text = f"./{path}" if str(path).startswith("-") else str(path)
    if text.isprintable():
        return shlex.quote(text)
    plain = (chr(byte) if 32 <= byte < 127 and byte not in b"'\\" else f"\\x{byte:02x}" for byte in os.fsencode(text))
    return f"$'{''.join(plain)}'"
