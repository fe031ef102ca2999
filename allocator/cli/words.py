"""
Words of the command line that a user gives are read.

Text comes in; a path or a number goes out, or a usage error that quotes the value. Nothing slow is loaded here.
"""

from __future__ import annotations

import json
import re
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
