"""
What a placement teaches that cannot be arranged: facts which the model is told before it is solved again.

Comes from ``placement.py``; goes back to the model (``placing.learn``). The model sees the load of a feed in a row only
in sum; here the ways of the row are split into pieces, and rows with pinned ways or hot neighbours are put in order.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import combinations

from allocator.model.frame import RowSlot
from allocator.model.learnt import CrowdedRow, HeldOnFeed, Learnt, RefusedRow, TooMuchForPieces
from allocator.model.variables import Places
from allocator.solving.engine import Clock
from allocator.solving.exact_rows import pinned_ways
from allocator.solving.placement import Placement
from allocator.solving.row_order import order_row
from allocator.solving.splitting import MANY_WAYS, packed, split


def find_overloads(placement: Placement, x: Places, clock: Clock) -> list[Learnt]:
    """
    Return what to learn from each row whose ways cannot lie in their pieces, each within its limit.

    Nothing where every row can be arranged: then the placement is a plan. Raises ``Undecided`` where that is not clear.
    """
    counts = x.counts
    facts: dict[Learnt, None] = {}
    split_in_vain: set[RowSlot] = set()
    for (instance, group, feed), number in placement.entries.items():
        entry = counts.entry(instance, group, feed)
        slots = counts.rows_of(instance, group)
        if entry is None or counts.frame.bus(slots[0]) != "strip" or slots[0] in placement.ordered:
            continue
        needs = placement.needs_at.get((slots[0], feed), ())
        if split([placement.load_ma(need) for need in needs], entry.limit_ma, number, clock) is None:
            least = _least_overload(placement, needs, entry.limit_ma, number)
            facts[_too_much(placement, least, number, entry.limit_ma)] = None
            split_in_vain.add(slots[0])
    for slot in dict.fromkeys(slot for slot, _ in placement.needs_at):
        if slot not in split_in_vain and order_row(placement, slot) is None:
            facts[_refused(placement, slot) if pinned_ways(placement, slot) else _crowded(placement, slot)] = None
    return list(facts)


def _least_overload(placement: Placement, needs: Sequence[str], limit_ma: int, number: int) -> list[str]:
    """Drop ways one by one while the rest still does not fit: a smaller set rules out more. Of many, all are kept."""
    kept = list(needs)
    if len(needs) >= MANY_WAYS:
        return kept
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
    packing = packed([placement.load_ma(need) for need in needs], limit_ma)
    most = number if packing is None else max(number, packing.fewest - 1)
    classes = tuple(_tally(placement, needs))
    if len(needs) == most + 1 and all(
        any(sum(case) > limit_ma for case in zip(*(placement.load_ma(need) for need in pair), strict=True))
        for pair in combinations(needs, 2)
    ):
        return TooMuchForPieces(classes, (), most, limit_ma, no_two_fit=True)
    branches = _lowered(placement, needs, most, limit_ma) if len(needs) < MANY_WAYS else _branches(placement, needs)
    return TooMuchForPieces(classes, branches, most, limit_ma)


def _lowered(placement: Placement, needs: Sequence[str], most: int, limit_ma: int) -> tuple[tuple[str, int, int], ...]:
    """Lower what branches draw, one limit for all, while the ways still do not fit: a fact of less rules out more."""
    frame = placement.frame
    classes = [frame.classes[frame.class_by_need[need]] for need in needs]

    def too_much(draws: Mapping[tuple[str, int], int]) -> bool:
        loads = [
            tuple(members.load_ma_by_case[case] + draws.get((members.supplies or "", case), 0) for case in frame.cases)
            for members in classes
        ]
        return split(loads, limit_ma, most) is None

    draws = {(feed, case): draw_ma for feed, case, draw_ma in _branches(placement, needs)}
    for case in frame.cases:
        without = {key: draw_ma for key, draw_ma in draws.items() if key[1] != case}
        draws = without if too_much(without) else draws
    candidates = range(max(draws.values(), default=0))
    least = bisect_left(
        candidates, True, key=lambda most_ma: too_much({k: min(ma, most_ma) for k, ma in draws.items()})
    )
    return tuple((feed, case, min(draw_ma, least)) for (feed, case), draw_ma in draws.items())


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


def _crowded(placement: Placement, slot: RowSlot) -> CrowdedRow:
    """Say how many needs of each kind were in a row in which hot ways cannot be kept apart."""
    held: list[HeldOnFeed] = []
    branches: list[tuple[str, int, int]] = []
    for feed in placement.frame.sized.feeds:
        needs = placement.needs_at.get((slot, feed), ())
        if needs:
            entries = placement.entries[slot.instance, slot.group, feed]
            held.append(HeldOnFeed(feed, len(needs), entries, tuple(_kinds(placement, slot, feed))))
            branches += _branches(placement, needs)
    return CrowdedRow(slot.instance.panel, slot.instance.module, slot.row, tuple(held), tuple(branches))


def _kinds(placement: Placement, slot: RowSlot, feed: str) -> Iterator[tuple[tuple[int, ...], int]]:
    """Yield for each kind of need on a feed in a row its classes, in the row or not, and how many of it are there."""
    frame, needs = placement.frame, placement.needs_at[slot, feed]
    entry = frame.sized.entries[slot.instance.panel, slot.instance.module, slot.group, feed]
    loads = [placement.load_ma(need) for need in needs]
    full = any(sum(case) > entry.limit_ma for case in zip(*loads, strict=True))

    def kind(index: int) -> object:
        """Return all of a class that the order of a row depends on: where it is hot; its load, if pieces are full."""
        members = frame.classes[index]
        from_ma = frame.hot_from_ma(index, slot.instance.panel, frame.format(slot))
        loads_ma = [members.load_ma_by_case[case] for case in frame.cases]
        hot = tuple(from_ma is not None and load_ma >= from_ma for load_ma in loads_ma)
        return hot, loads_ma if full else None, members.supplies

    classes: dict[str, list[int]] = defaultdict(list)
    for index in range(len(frame.classes)):
        classes[str(kind(index))].append(index)
    for alike in classes.values():
        number = sum(frame.class_by_need[need] in alike for need in needs)
        if number:
            yield tuple(alike), number
