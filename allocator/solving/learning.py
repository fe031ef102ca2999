"""
What a placement teaches that cannot be arranged: facts which the model is told before it is solved again.

Comes from ``placement.py``; goes back to the model (``placing.learn``). The model sees the load of a feed in a row only
in sum; here the ways of the row are split into pieces, and rows with pinned ways are put in order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from allocator.model.frame import RowSlot
from allocator.model.learnt import Learnt, RefusedRow, TooMuchForPieces
from allocator.model.variables import Places
from allocator.solving.pinned_rows import order_pinned_row, pinned_ways
from allocator.solving.placement import Placement
from allocator.solving.splitting import split


def find_overload(placement: Placement, x: Places) -> Learnt | None:
    """
    Return a fact to learn from the first row whose ways cannot lie in their pieces, each within its limit.

    None where every row can be arranged: then the placement is a plan.
    """
    counts = x.counts
    for (instance, group, feed), number in placement.entries.items():
        entry = counts.entry(instance, group, feed)
        slots = counts.rows_of(instance, group)
        if entry is None or counts.frame.bus(slots[0]) != "strip":
            continue
        needs = placement.needs_at.get((slots[0], feed), ())
        if split([placement.load_ma(need) for need in needs], entry.limit_ma, number) is None:
            return _too_much(
                placement, _least_overload(placement, needs, entry.limit_ma, number), number, entry.limit_ma
            )
    for slot in dict.fromkeys(slot for slot, _ in placement.needs_at):
        if pinned_ways(placement, slot) and order_pinned_row(placement, slot) is None:
            return _refused(placement, slot)
    return None


def _least_overload(placement: Placement, needs: Sequence[str], limit_ma: int, number: int) -> list[str]:
    """Drop ways one by one while the rest still does not fit: a smaller set rules out more."""
    kept = list(needs)
    for need in needs:
        fewer = [other for other in kept if other != need]
        if len(fewer) > number and split([placement.load_ma(other) for other in fewer], limit_ma, number) is None:
            kept = fewer
    return kept


def _tally(placement: Placement, needs: Collection[str]) -> list[tuple[int, int]]:
    """Return how many of some needs are in each class, classes without any left out."""
    tally: dict[int, int] = defaultdict(int)
    for index, members in enumerate(placement.frame.classes):
        tally[index] = sum(need in needs for need in members.needs)
    return [(index, number) for index, number in tally.items() if number]


def _branches(placement: Placement, needs: Collection[str]) -> tuple[tuple[str, int, int], ...]:
    frame = placement.frame
    supplied = [members.supplies for members in frame.classes if members.supplies and members.needs[0] in needs]
    return tuple((feed, case, placement.draw_ma[feed, case]) for feed in supplied for case in frame.cases)


def _too_much(placement: Placement, needs: Sequence[str], number: int, limit_ma: int) -> TooMuchForPieces:
    return TooMuchForPieces(tuple(_tally(placement, needs)), _branches(placement, needs), number, limit_ma)


def _refused(placement: Placement, slot: RowSlot) -> RefusedRow:
    held: list[tuple[int, str, int]] = []
    entries: list[tuple[str, int]] = []
    branches: list[tuple[str, int, int]] = []
    for feed in placement.frame.sized.feeds:
        needs = placement.needs_at.get((slot, feed), ())
        if needs:
            held += [(index, feed, number) for index, number in _tally(placement, needs)]
            entries.append((feed, placement.entries[slot.instance, slot.group, feed]))
            branches += _branches(placement, needs)
    return RefusedRow(slot, tuple(held), tuple(entries), tuple(branches))
