"""
Every exception of the package, the shape of one fault in the user's input, and how names are printed in messages.

::

    AllocatorError
    ├── InputError       one or more faults in scenario, catalogue or plan files   (exit 2)
    ├── SizingError      a single sum that cannot be done; sizing turns it into a Fault (exit 2)
    ├── CannotBeMet      the requirements hold no plan                              (exit 3)
    ├── NoPlanInTime     stopped by a limit before any plan                         (exit 4)
    └── BrokenPlan       the checker refused a plan that the solver made: a bug     (raises)
"""

from __future__ import annotations

import os
import shlex
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

_LONGEST = 1000
"""Letters of a message, or of a place."""


@dataclass(frozen=True, slots=True)
class Fault:
    """
    One thing wrong in the input, said so that the user can mend it.

    ``rule`` is a short id (``unknown-feed``), ``message`` the sentence, ``where`` the file, row or table and field with
    the value, ``known`` what was expected or what is on offer, ``hint`` how to mend it.
    """

    rule: str
    message: str
    where: str = ""
    known: str = ""
    hint: str = ""

    def text(self) -> str:
        """Return the fault as the block that the command line prints."""
        lines = [f"error: {_cut(self.message)}  [{self.rule}]"]
        for name, value in (("where", _cut(printable(self.where))), ("known", self.known), ("try", self.hint)):
            if value:
                lines.append(f"  {name + ':':<6} {value}")
        return "\n".join(lines)


def _cut(text: str) -> str:
    """Return text without its middle where it is longer than any that was meant: both its ends say something."""
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST // 2]} ... {text[-_LONGEST // 4 :]}"


def printable(text: str) -> str:
    """Return text with escapes for what cannot be printed: controls, and bytes of a file name that are no text."""
    return "".join(char if char.isprintable() else char.encode("unicode_escape").decode("ascii") for char in text)


class AllocatorError(Exception):
    """Base of every error this package raises on purpose."""


class InputError(AllocatorError):
    """The input holds faults; ``faults`` lists all of them."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(fault.text() for fault in self.faults))


class SizingError(AllocatorError):
    """
    No part on offer passes one of the sums; the message says which and by how much.

    ``rule``, ``known`` and ``hint`` are those of the Fault that sizing makes of it; ``reach`` says how near the best
    part came, larger is nearer, so that of several refusals by one rule the nearest is told.
    """

    def __init__(
        self, message: str, *, rule: str = "no-part-fits", known: str = "", hint: str = "", reach: float = 0.0
    ) -> None:
        self.rule, self.known, self.hint, self.reach = rule, known, hint, reach
        super().__init__(message)


class CannotBeMet(AllocatorError):  # noqa: N818 - reads as the outcome it names
    """The requirements cannot hold together; ``reasons`` says what was found."""

    def __init__(self, reasons: Iterable[str]) -> None:
        self.reasons: tuple[str, ...] = tuple(reasons)
        super().__init__("; ".join(self.reasons))


class NoPlanInTime(AllocatorError):  # noqa: N818
    """A limit or an interrupt came before the first plan."""

    def __init__(self, message: str, *, interrupted: bool = False) -> None:
        self.interrupted = interrupted
        super().__init__(message)


class BrokenPlan(AllocatorError):  # noqa: N818
    """The independent checker found a violation in a plan of our own making."""


def quoted_path(path: Path) -> str:
    """Return a path as a shell and a command take it: never for an option, its odd bytes as ``$'...'`` has them."""
    text = f"./{path}" if str(path).startswith("-") else str(path)
    if text.isprintable():
        return shlex.quote(text)
    plain = (chr(byte) if 32 <= byte < 127 and byte not in b"'\\" else f"\\x{byte:02x}" for byte in os.fsencode(text))
    return f"$'{''.join(plain)}'"
