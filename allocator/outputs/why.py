"""
What binds a plan in words: ``why.csv`` and the lines of the summary.

Comes in as the Content of a plan that was asked about; goes out as text. The columns: ``docs/explanations.md``.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from allocator.explaining.accounts.account import counted
from allocator.outputs.content import Content
from allocator.outputs.fonts import clean
from allocator.outputs.lists import remarks_of
from allocator.outputs.records import csv_text
from allocator.plan.why import Counts, Eased, HeadRoom, Why

WHY_FILE = "why.csv"
COLUMNS = (
    "kind", "requirement", "where", "instead", "also_for", "saves", "not_less", "bays", "module_types", "feed_entries",
    "fuse_format", "feed", "relay", "count", "at_most", "known_by", "plan",
)  # fmt: skip
ROOM = "Room in these bays before the next one, if the panel is planned anew: all else may move"
SAVED_WORDS = {"bays": "a bay", "module-types": "a module type", "strip-pieces": "a feed entry"}


def why_csv(content: Content, why: Why) -> str:
    """Return why.csv: a row for each easing, then one for each kind of further circuit."""
    rows: list[tuple[object, ...]] = [_easing_row(item) for item in why.eased]
    rows += [_room_row(item) for item in why.head_room]
    cut = ["time ended the search: another run may tell more"] if why.was_cut else []
    return csv_text(COLUMNS, rows, [*cut, f"further circuits draw {why.load} each", *remarks_of(content)])


def _easing_row(item: Eased) -> tuple[object, ...]:
    counts = item.counts
    numbers = ("", "", "") if counts is None else (counts.bays, counts.module_types, counts.strip_pieces)
    saves = item.saves or ("not settled" if item.is_open else "nothing")
    known_by = "plan" if counts else item.proof
    places = item.requirement, item.where, item.instead, "; ".join(item.also)
    return "easing", *places, saves, "; ".join(item.not_less), *numbers, *[""] * 5, known_by, item.plan


def _room_row(item: HeadRoom) -> tuple[object, ...]:
    relay = "yes" if item.relay else "no"
    known = item.proof if item.is_most else "not settled"
    at_most = "" if item.at_most is None else item.at_most
    return "head-room", *[""] * 9, item.fuse_format, item.feed, relay, item.count, at_most, known, ""


def why_lines(why: Why) -> Iterator[str]:
    """Yield the lines of the summary."""
    yield f"What binds: single requirements, eased by one step, with which {counts_text(why.counts)} would be less"
    saving = [item for item in why.eased if item.saves]
    for item in saving:
        yield f"  {_saved_text(item)}: {clean(item.instead)}{also_text(item)}; {item.plan or 'plan not written'}"
    yield f"  {rest_text(why)}"
    yield ""
    yield f"{ROOM} (further circuits of {clean(why.load)} each, of one kind at a time)"
    for (fuse_format, feed), rooms in groupby(why.head_room, key=lambda room: (room.fuse_format, room.feed)):
        said = ", ".join(f"{room_text(room)} {'with' if room.relay else 'without'} relay" for room in rooms)
        yield f"  type {fuse_format} on {clean(feed)}: {said}"


def counts_text(counts: Counts) -> str:
    """Return the three counts in words."""
    return (
        f"{counted(counts.bays, 'bay')}, {counted(counts.module_types, 'module type')} and "
        f"{counted(counts.strip_pieces, 'feed entry')}"
    )


def saves_text(item: Eased) -> str:
    """Say what an easing saves."""
    if item.saves or not item.is_open:
        return SAVED_WORDS[item.saves] if item.saves else "nothing"
    proven = " and ".join(f"no {SAVED_WORDS[goal].removeprefix('a ')}" for goal in item.not_less)
    return f"{proven}; the rest not settled" if proven else "not settled"


def _saved_text(item: Eased) -> str:
    counts = "" if item.counts is None else f" ({counts_text(item.counts)})"
    return f"saves {saves_text(item)}{counts}"


def also_text(item: Eased) -> str:
    """Name the circuits for which the same holds."""
    return f" (the same for {', '.join(map(clean, item.also))})" if item.also else ""


def rest_text(why: Why) -> str:
    """Say how many easings save nothing, and how many were not settled."""
    nothing = sum(item.saves is None and not item.is_open for item in why.eased)
    open_ones = sum(item.is_open for item in why.eased)
    said = f"{counted(nothing, 'other easing')} saved none of these: proven"
    if open_ones:
        said += f"; {open_ones} not settled"
        parts = [
            f"{number} save{'s' if number == 1 else ''} no {words.removeprefix('a ')}"
            for goal, words in SAVED_WORDS.items()
            if (number := sum(item.is_open and goal in item.not_less for item in why.eased))
        ]
        said += f" to the end, of which {' and '.join(parts)}: proven" if parts else ""
    return said


def room_text(room: HeadRoom) -> str:
    """Return how many fit."""
    if room.is_most:
        return str(room.count)
    return f"{room.count} or more" if room.at_most is None else f"{room.count} to {room.at_most}"
