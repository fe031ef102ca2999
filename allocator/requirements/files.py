"""
Files in, text and raw TOML tables out; what cannot be read is one clear fault.

The limits keep a file that was chosen by mistake, or made to harm, from filling the memory.
"""

from __future__ import annotations

import tomllib
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from allocator.errors import Fault, InputError
from allocator.requirements.places import did_you_mean

LARGEST_TABLE_BYTES = 20_000_000
LARGEST_TOML_BYTES = 5_000_000


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
        with path.open("rb") as stream:
            content = stream.read(most + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not possible"
        raise InputError([Fault("unreadable-file", f"the file cannot be read: {reason}", shown)]) from None
    if len(content) > most:
        raise InputError([Fault("file-too-large", "the file is too large", shown, f"at most {most // 1_000_000} MB")])
    return content


def _missing(path: Path, shown: str) -> Fault:
    if path.is_dir():
        return Fault("no-file", f'"{path.name}" is a folder, not a file', shown)
    return Fault("no-file", f'there is no file "{path.name}"', shown, hint=_alike(path))


def _alike(path: Path) -> str:
    if not path.parent.is_dir():
        return ""
    return did_you_mean(path.name, sorted(entry.name for entry in path.parent.iterdir())[:200])


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
        raise InputError([Fault("bad-toml", message, shown)]) from None
    except (ValueError, RecursionError):
        message = "the file is no valid TOML: a number is too long or tables are nested too deep"
        raise InputError([Fault("bad-toml", message, shown)]) from None


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:  # an exponent beyond all bounds; no field accepts it, so the field's own fault names it
        return Decimal("NaN")
