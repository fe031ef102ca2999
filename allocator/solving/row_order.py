"""
The order of ways in a row: as the user lists them, piece by piece, as far as pins and hot neighbours let it.

Comes from ``learning.py`` (can this row be ordered at all?) and ``arranging.py``; goes back as (way, need, piece). The
plain order first, then the first order that keeps hot ways apart, then the exact model of the row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from allocator.model.frame import RowSlot
from allocator.solving.exact_rows import order_exactly, pinned_ways
from allocator.solving.placement import Placement
from allocator.solving.splitting import split

Chunk = tuple[str, list[str]]
"""A feed and the needs of one strip piece, in listing order."""
Ordered = list[tuple[int, str, int]]
"""(way, need, number of its piece) for every used way of a row."""
MOST_STEPS = 2000
"""Tries of the plain search for an order before the exact model is asked."""


def order_row(placement: Placement, slot: RowSlot) -> Ordered | None:
    """Return the order of a row whose ways split into their pieces; None where the rules allow none."""
    if slot in placement.ordered:
        return list(placement.ordered[slot])
    if pinned_ways(placement, slot):
        return order_exactly(placement, slot)
    chunks = _chunks(placement, slot)
    hot = {need: cases for _, needs in chunks for need in needs if (cases := placement.hot_cases(need))}
    plain = [need for _, needs in chunks for need in needs]
    if not any(_clash(hot, one, other) for one, other in pairwise(plain)):
        return _numbered(plain, chunks)
    spread = _Spreading(placement.frame.ways(slot), hot, placement.frame.bus(slot) == "strip").order(chunks)
    return order_exactly(placement, slot) if spread is None else _numbered(spread, chunks)


def _chunks(placement: Placement, slot: RowSlot) -> list[Chunk]:
    """Return the strip pieces of a row from way 1 on: each a feed with its needs."""
    rank = {need.id: number for number, need in enumerate(placement.frame.sized.needs)}
    chunks: list[Chunk] = []
    for feed in placement.frame.sized.feeds:
        needs = placement.needs_at.get((slot, feed), ())
        if not needs:
            continue
        if placement.frame.bus(slot) == "strip":
            entry = placement.frame.sized.entries[slot.instance.panel, slot.instance.module, slot.group, feed]
            number = placement.entries[slot.instance, slot.group, feed]
            parts = split([placement.load_ma(need) for need in needs], entry.limit_ma, number)
            if parts is None:
                raise RuntimeError("a row that was checked does not split")
            chunks += [(feed, [needs[way] for way in part]) for part in parts]
        else:
            chunks.append((feed, list(needs)))
    for _, needs_of_piece in chunks:
        needs_of_piece.sort(key=rank.__getitem__)
    return sorted(chunks, key=lambda chunk: rank[chunk[1][0]])


def _numbered(order: Sequence[str | None], chunks: Sequence[Chunk]) -> Ordered:
    """Return ways and pieces of an order; None in it is a way left empty."""
    piece_of = {need: number for number, (_, needs) in enumerate(chunks) for need in needs}
    return [(way, need, piece_of[need]) for way, need in enumerate(order, start=1) if need is not None]


def _clash(hot: Mapping[str, frozenset[int]], one: str | None, other: str | None) -> bool:
    if one is None or other is None:
        return False
    return bool(hot.get(one, frozenset()) & hot.get(other, frozenset()))


class _Spreading:
    """The first order, pieces as they come and needs as listed, in which no two neighbours are hot in one case."""

    def __init__(self, ways: int, hot: Mapping[str, frozenset[int]], contiguous: bool) -> None:
        self._ways, self._hot, self._contiguous = ways, hot, contiguous
        self._cases = sorted(frozenset().union(*hot.values()))
        self._steps = 0

    def order(self, chunks: Sequence[Chunk]) -> list[str | None] | None:
        """Return needs in the order of the ways, None for a way left empty; None if no order was found."""
        pieces = [needs for _, needs in chunks]
        if not self._contiguous:
            pieces = [[need for needs in pieces for need in needs]]
        return self._extended([], pieces, self._ways - sum(map(len, pieces)), begun=False)

    def _extended(
        self, placed: list[str | None], pieces: list[list[str]], gaps: int, *, begun: bool
    ) -> list[str | None] | None:
        """Return an order that starts with what is placed; ``begun`` says whether part of the first piece is."""
        self._steps += 1
        if not pieces:
            return placed
        first, *later = pieces
        before = placed[-1] if placed else None
        free = gaps if not self._contiguous else 0
        after_gap = before is None or (gaps > 0 and not (begun and self._contiguous))
        if self._steps > MOST_STEPS or not self._may_do(first, None if after_gap else before, free):
            return None
        for need in first:
            if not _clash(self._hot, before, need):
                rest = [other for other in first if other != need]
                left = [rest, *later] if rest else later
                found = self._extended([*placed, need], left, gaps, begun=bool(rest))
                if found is not None:
                    return found
        if before is not None and after_gap:
            return self._extended([*placed, None], pieces, gaps - 1, begun=begun)
        return None

    def _may_do(self, needs: Sequence[str], before: str | None, free: int) -> bool:
        """Whether so many hot needs can lie apart in so many ways, the first of them beside ``before``."""
        for case in self._cases:
            number = sum(case in self._hot.get(need, ()) for need in needs)
            taken = before is not None and case in self._hot.get(before, ())
            if 2 * number > len(needs) + free + (0 if taken else 1):
                return False
        return True
