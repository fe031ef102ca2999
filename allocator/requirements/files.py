"""
Files in, text and raw tables of TOML or JSON out; what cannot be read is one clear fault.

The limits keep a file that was chosen by mistake, or made to harm, from filling the memory.
"""

from __future__ import annotations

import errno
import json
import os
import re
import stat
import tomllib
from collections.abc import Sequence
from contextlib import suppress
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from allocator.errors import Fault, InputError, printable
from allocator.requirements.places import did_you_mean, quoted, shown

LARGEST_TABLE_BYTES = 20_000_000
LARGEST_TOML_BYTES = 5_000_000
MOST_DIGITS = 100
"""Of a number in JSON; Python itself gives up at 4300."""


def read_bytes(path: Path, most: int, shown: str) -> bytes:
    """
    Read a whole file.

    Parameters
    ----------
    path
        The file.
    most
        Largest size, bytes.
    shown
        Name of the file for messages.

    Raises
    ------
    InputError
        If it is missing, no regular file, too large or not readable.
    """
    try:
        if not path.is_file():
            raise InputError([_missing(path, shown)])
        with open(path, "rb", opener=_without_waiting) as stream:
            if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):  # another one by now
                raise InputError([_missing(path, shown)])
            content: bytes | None = stream.read(most + 1)
        if content is None:  # it has nothing to say for now
            raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not possible"
        raise InputError([Fault("unreadable-file", f"the file cannot be read: {reason}", shown)]) from None
    if len(content) > most:
        raise InputError([Fault("file-too-large", "the file is too large", shown, f"at most {most // 1_000_000} MB")])
    return content


def _without_waiting(path: str, flags: int) -> int:
    """Open a file; a pipe, or a file that the system makes up while it is read, is not waited for."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _missing(path: Path, shown: str) -> Fault:
    if path.is_dir():
        return Fault("no-file", f'"{path.name}" is a folder, not a file', shown)
    if os.path.lexists(path):
        is_link = "is a link to" if path.is_symlink() else "is"
        known = f"it {is_link} a pipe, a device or a socket" if path.exists() else "it is a link that leads to no file"
        return Fault("no-file", f'"{path.name}" is no regular file', shown, known)
    return Fault("no-file", f'there is no file "{path.name}"', shown, hint=_alike(path))


def _alike(path: Path) -> str:
    if not path.parent.is_dir():
        return ""
    names = sorted(entry.name for entry in path.parent.iterdir())[:200]
    alike = did_you_mean(path.name, names)
    # That two names end alike makes them no more alike: "my.toml" is not meant to be "keyf.toml".
    return alike if did_you_mean(path.stem, [Path(name).stem for name in names]) else ""


def is_within(path: Path, folder: Path) -> bool:
    """Whether a path, its links followed as far as they lead anywhere, is in a folder."""
    try:
        return Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder))
    except (OSError, ValueError):  # a name that is not possible
        return False


def decode(content: bytes, shown: str) -> str:
    """Return the text of UTF-8 bytes, with or without a byte order mark; raise InputError for another encoding."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(
            [
                Fault(
                    "not-utf-8",
                    f"the file is not UTF-8 text (first seen in line {line})",
                    shown,
                    hint='save it as UTF-8 (in a spreadsheet: "CSV UTF-8")',
                )
            ]
        ) from None


def read_toml(path: Path, shown: str) -> dict[str, Any]:
    """
    Read a TOML file; numbers with a point become exact decimals.

    Raises
    ------
    InputError
        If it cannot be read or is no TOML.
    """
    text = decode(read_bytes(path, LARGEST_TOML_BYTES, shown), shown)
    try:
        return tomllib.loads(text, parse_float=_decimal)
    except tomllib.TOMLDecodeError as error:
        message = f"the file is no valid TOML: {str(error)[:1].lower()}{str(error)[1:]}"
        raise InputError([_bare_word(text, message, shown) or Fault("bad-toml", message, shown)]) from None
    except (ValueError, RecursionError):
        message = "the file is no valid TOML: a number is too long or tables are nested too deep"
        raise InputError([Fault("bad-toml", message, shown)]) from None


_AT_LINE = re.compile(r"\(at line ([0-9]{1,7}), column [0-9]+\)$")
_BARE = re.compile(r"""\s*([A-Za-z0-9_-]{1,40})\s*=\s*([^\s"'#=,\[\]{}\\][^"'#=,\[\]{}\\]{0,60}?)\s*(?:#.*)?""")
_TRUTHS = ("true", "false")


def _bare_word(text: str, message: str, shown_file: str) -> Fault | None:
    """Return the fault of a text or a number with its unit that has no quotes; None where it is something else."""
    at = _AT_LINE.search(message)
    lines = text.split("\n")
    line = _BARE.fullmatch(lines[int(at[1]) - 1].rstrip("\r")) if at and int(at[1]) <= len(lines) else None
    if at is None or line is None or not any(letter.isalpha() or letter == "%" for letter in line[2]):
        return None
    field, value = line[1], line[2]
    with suppress(tomllib.TOMLDecodeError):
        tomllib.loads(f"{field} = {value}")
        return None  # what is wrong is something else
    hint = f"write it in quotes: {field} = {shown(value)}"
    if value.casefold() in _TRUTHS:
        hint = f"write it in small letters: {field} = {value.casefold()}"
    where = f'{shown_file}, line {at[1]}, field "{field}" = {printable(value)}'
    return Fault("bad-toml", message, where, hint=hint)


def parse_json(text: str) -> Any:
    """
    Return what JSON text says, as the standard has it and not more.

    Raises
    ------
    ValueError
        With the end of a sentence that says why it is none: RFC 8259 leaves open what a name means that stands twice
        in a table, so it is refused.
    """
    try:
        return json.loads(text, parse_constant=_no_constant, parse_int=_whole, object_pairs_hook=_table_of)
    except RecursionError:
        raise ValueError("it is nested too deeply") from None


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _whole(text: str) -> int:
    if len(text) > MOST_DIGITS:
        raise ValueError(f"a number has more than {MOST_DIGITS} digits")
    return int(text)


def _table_of(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for name, value in pairs:
        if name in table:
            raise ValueError(f"the field {quoted([name])} stands twice in one table")
        table[name] = value
    return table


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:  # an exponent beyond all bounds; no field accepts it, so the field's own fault names it
        return Decimal("NaN")
