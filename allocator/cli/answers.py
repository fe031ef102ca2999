"""
What a command has to say: text or JSON on stdout, messages on stderr, an exit status.

The work of a command comes in as a function; what it returns or raises is shown here, in one form for all commands.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from typing import Any, TextIO

from allocator.cli.interrupts import current
from allocator.cli.statuses import BAD_INPUT, DONE, INTERRUPTED, NO_PLAN, NOT_KEPT
from allocator.errors import BrokenPlan, CannotBeMet, Fault, InputError, NoPlanInTime

JSON_FORMAT = 1


@dataclass(frozen=True, slots=True)
class Answer:
    """What is printed, in both forms, and the exit status; ``notes`` go to stderr, ``text`` or ``data`` to stdout."""

    text: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    notes: str = ""
    status: int = DONE


def answered(command: str, as_json: bool, work: Callable[[], Answer]) -> int:
    """
    Do the work of a command, show what came of it, and return the exit status.

    Parameters
    ----------
    command
        Its name, for the JSON form.
    as_json
        Print ``data`` in place of ``text``.
    work
        May raise the package's errors (save ``BrokenPlan``, which is a bug) and OSError.
    """
    interrupts = current()
    interrupts.last_words = lambda: _last_words(command, as_json)
    try:
        answer = work()
    except BrokenPlan:
        raise
    except (InputError, CannotBeMet, NoPlanInTime, OSError) as error:
        answer = refusal(error)
    with interrupts.unbroken():  # work that was left behind says nothing: its folder was taken away under it
        pass
    return _show(command, as_json, answer)


def _last_words(command: str, as_json: bool) -> None:
    _show(command, as_json, interrupted("nothing was written"))


def refused(fault: Fault) -> int:
    """Show a fault of the command line itself, and return the exit status."""
    return _show("", False, faulty([fault], BAD_INPUT))


def refusal(error: InputError | CannotBeMet | NoPlanInTime | OSError) -> Answer:
    """Return what is said when a command could not do its work."""
    if isinstance(error, InputError):
        return faulty(error.faults, BAD_INPUT)
    if isinstance(error, CannotBeMet):
        verdict, *more = error.reasons
        known = "\n         ".join(more)  # one below the other, behind the word "known:"
        answer = faulty([Fault("cannot-be-met", f"no plan can be made: {verdict}", known=known)], NOT_KEPT)
        return replace(answer, data={**answer.data, "reasons": error.reasons})
    if isinstance(error, NoPlanInTime):
        if error.interrupted:
            return interrupted("before any plan was found; nothing was written")
        hint = "give it more time with --time-limit"
        return faulty([Fault("no-plan-in-time", "the time ran out before any plan was found", hint=hint)], NO_PLAN)
    file = error.filename if error.filename2 is None else error.filename2  # of a file that is moved: where to
    where = "" if file is None else os.fsdecode(file)
    return faulty([Fault("files", f"a file cannot be read or written: {error.strerror or error}", where)], BAD_INPUT)


def faulty(faults: Iterable[Fault], status: int) -> Answer:
    """Return the answer that lists faults, each as its block of lines."""
    faults = tuple(faults)
    notes = "\n".join(fault.text() for fault in faults) + "\n"
    return Answer("", {"faults": [asdict(fault) for fault in faults]}, notes, status)


def whole(answer: Answer, was_interrupted: bool) -> Answer:
    """Return the answer of a command that wrote everything, if need be with the status of an interrupt."""
    if not was_interrupted:
        return answer
    return replace(answer, notes="interrupted: everything is written all the same\n", status=INTERRUPTED)


def interrupted(what: str) -> Answer:
    """Return the answer of a command that the user stopped."""
    return Answer("", {"interrupted": what}, f"interrupted: {what}\n", INTERRUPTED)


def _show(command: str, as_json: bool, answer: Answer) -> int:
    head = {"json_format": JSON_FORMAT, "command": command, "exit_status": answer.status}
    # Plain ASCII, so that no terminal's character set and no file name can break it.
    text = json.dumps({**head, **answer.data}, indent=2) + "\n" if as_json else answer.text
    _tell(answer.notes)
    try:
        write(sys.stdout, text)
    except OSError as error:
        return unprinted(error)
    return answer.status


def unprinted(error: OSError) -> int:
    """Tell that standard output takes no more, and return the exit status."""
    _tell(Fault("files", f"the result cannot be printed: {error.strerror}").text() + "\n")
    return BAD_INPUT


def _tell(text: str) -> None:
    """Write a message to stderr; where that takes no more, the exit status alone must say it."""
    with suppress(OSError):
        write(sys.stderr, text)


def write(stream: TextIO | None, text: str) -> None:
    """Write text, if anybody reads it, with escapes for what the stream's character set lacks."""
    if stream is None or not text:  # a stream that was closed before the start
        return
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
        stream.flush()
    except BrokenPipeError:  # the reader has seen enough; the flush at exit must not complain again
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
