"""
Which fuses are out while wires are worked on: of every wire that is changed, that which protects it.

Comes in as what happens to every wire, with both plans; goes out as names. A wire behind no fuse of its own has that of
the branch it draws from, or the main fuse; a coil lead also that of the circuit which switches it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from allocator.plan.controls import control_by_need
from allocator.plan.crimps import Crimp
from allocator.plan.index import PlanIndex
from allocator.plan.renames import Renames
from allocator.plan.wire_changes import WireChange
from allocator.plan.wiring import COIL_LEADS, Run


@dataclass(frozen=True, slots=True)
class Guards:
    """Ids of circuits and branch feeds whose own fuse protects a changed wire, and root feeds whose main fuse does."""

    needs: frozenset[str]
    roots: frozenset[str]


def guards_of(
    wires: tuple[WireChange, ...],
    crimps: Iterable[Crimp],
    feeds: Collection[str],
    old: PlanIndex,
    new: PlanIndex,
    names: Renames,
) -> Guards:
    """
    Return the fuses before all that is worked on, named as of now.

    Parameters
    ----------
    wires, crimps
        What happens to every wire, and the terminals that are crimped anew.
    feeds
        Feeds of which a distribution stud or the main holder goes or comes.
    old, new, names
        Both plans, and what was renamed.
    """
    needs, roots = set[str](), set[str]()
    crimped = {number for crimp in crimps for number in crimp.runs}
    for index in (old, new):
        was = names.back if index is old else Renames()
        drawing = [pair for feed in feeds for pair in _source_of(was.feed(feed), index)]
        for change in wires:
            run = change.old if index is old else change.new
            if run is not None and _is_worked_on(change, crimped):
                drawing += _before(run, index, was)
        for need, feed in drawing:
            found, is_root = _fused(need, feed, index)
            now = names if index is old else Renames()
            (roots if is_root else needs).add(now.feed(found) if is_root else now.need(found))
    return Guards(frozenset(needs), frozenset(roots))


def _is_worked_on(change: WireChange, crimped: Collection[str]) -> bool:
    if change.fate != "stays" or change.old is None or change.new is None:
        return True
    return change.new.number in crimped or change.old.inline != change.new.inline


def _source_of(feed: str, index: PlanIndex) -> Iterator[tuple[str, str]]:
    """Yield need and feed that a feed draws from, where the plan has such a feed."""
    if feed in index.sized.feeds:
        yield ("", feed) if index.sized.feeds[feed].source is None else (feed, index.need_by_id[feed].feed)


def _before(run: Run, index: PlanIndex, was: Renames) -> Iterator[tuple[str, str]]:
    """Yield need and feed that a wire may draw from, as its plan names them; a wire of a root feed has no need."""
    need, feed = was.need(run.need), was.feed(run.feed)
    yield need, index.need_by_id[need].feed if need in index.need_by_id else feed
    if run.role == "wire" and run.start.cavity in COIL_LEADS:
        kind = index.need_by_id[need].need.kind
        control = control_by_need(index.sized.requirements).get((kind, need))
        if control is not None and control in index.need_by_id:
            yield control, index.need_by_id[control].feed


def _fused(need: str, feed: str, index: PlanIndex) -> tuple[str, bool]:
    """Return the need with the nearest fuse towards the supply; else the root feed, and that it is one."""
    if need and index.need_by_id[need].option.fuse:
        return need, False
    if index.sized.feeds[feed].source is None:
        return feed, True
    return _fused(feed, index.need_by_id[feed].feed, index)
