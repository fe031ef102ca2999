"""
The rule on distribution studs: where several tails of a feed join its cable, stud and rings fit and carry enough.

Comes in as a plan and the requirements; goes out as findings. How many studs and rings there are is counted in
``bill.py``, from the stack that is checked here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from allocator.requirements.catalogue import Stud
from allocator.sizing.sized import SizedFeed
from allocator.verifying.exact import amperes, milliamperes
from allocator.verifying.findings import Finding
from allocator.verifying.limits import tail_of
from allocator.verifying.net import ring_fits
from allocator.verifying.protection import entry_protection_ma, protection_ma
from allocator.verifying.records import EntryRecord
from allocator.verifying.view import View


def stud_fits(view: View) -> Iterator[Finding]:
    """Report feeds with no stud where tails join, studs that carry too little, and rings that do not fit."""
    for (name, panel), entries in view.arrivals.items():
        feed = view.sized.feeds.get(name)
        if feed is None or not _joined(view, entries):
            continue
        where, stud = f'feed "{name}" at panel "{panel}"', view.studs.get(feed.stud or "")
        if stud is None:
            yield Finding("stud-fits", where, "has no distribution stud of the catalogue")
            continue
        for text in (*_stud_misfits(view, feed, stud), *_ring_misfits(view, feed, stud, entries)):
            yield Finding("stud-fits", where, text)


def _joined(view: View, entries: Sequence[EntryRecord]) -> bool:
    """Say whether tails join at a panel: there are several, or one has a fuse."""
    tails = [tail_of(view, entry) for entry in entries]
    return len(tails) > 1 or any(tail is not None and tail.fuse is not None for tail in tails)


def _stud_misfits(view: View, feed: SizedFeed, stud: Stud) -> Iterator[str]:
    rating_ma, limit_ma = milliamperes(view.feeds[feed.name].rating), milliamperes(stud.limit)
    before_ma = protection_ma(view, feed.name)
    if limit_ma < rating_ma:
        yield f'stud "{stud.id}" carries {amperes(limit_ma)}; the feed has {amperes(rating_ma)}'
    elif limit_ma < before_ma:
        yield f'stud "{stud.id}" carries {amperes(limit_ma)} behind a fuse of {amperes(before_ma)}'
    if stud.stack != feed.stud_stack:
        yield f'stud "{stud.id}" takes {stud.stack} rings; the sizing table counts with {feed.stud_stack}'


def _ring_misfits(view: View, feed: SizedFeed, stud: Stud, entries: Sequence[EntryRecord]) -> Iterator[str]:
    ends = [("cable", feed.cable_ring, feed.cable_wire, protection_ma(view, feed.name))]
    for entry in entries:
        tail = tail_of(view, entry)
        if tail is not None:
            ends.append((f"tail to {entry.at}", tail.ring, tail.wire, entry_protection_ma(view, entry)))
    for part, ring, wire, rating_ma in ends:
        terminal, cut = view.terminals.get(ring or ""), view.wires.get(wire)
        if terminal is None or cut is None or not ring_fits(terminal, stud.size, cut, rating_ma):
            needed = f'ring {stud.size} for wire "{wire}" and {amperes(rating_ma)}'
            yield f'{part}: terminal "{ring or "none"}" is no {needed}'
