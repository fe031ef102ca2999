"""
The exact split of one row's ways on one feed into strip pieces, each within its limit in every load case.

Comes from ``learning.py`` and ``row_order.py`` with the loads of a row; goes back as groups, or None where there is no
such split.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Sequence

from allocator.solving.engine import Clock
from allocator.solving.packing import Packing, pack

MANY_WAYS = 20
"""From so many ways on, one load each, they are packed as a whole instead of being tried one after the other."""
GUARD_S = 60.0
_MOST_KNOWN = 256
_known: dict[tuple[tuple[int, ...], int], Packing] = {}
"""Packings that are settled: a row is split when it is checked, and again when it is arranged."""


class Undecided(RuntimeError):  # noqa: N818
    """Many ways could be neither split nor shown not to split, within the effort or the clock."""


def packed(loads_ma: Sequence[Sequence[int]], limit_ma: int, clock: Clock | None = None) -> Packing | None:
    """Return the fewest pieces for many ways with one load case that matters; None for others."""
    if len(loads_ma) < MANY_WAYS or any(len(loads) != 1 or not 0 < loads[0] <= limit_ma for loads in loads_ma):
        return None
    key = (tuple(sorted(loads[0] for loads in loads_ma)), limit_ma)
    if key in _known:
        return _known[key]
    packing = pack(key[0], limit_ma, clock or Clock(time.monotonic() + GUARD_S))
    if packing.is_fewest:
        if len(_known) >= _MOST_KNOWN:
            _known.clear()
        _known[key] = packing
    return packing


def _as_ways(loads_ma: Sequence[Sequence[int]], packing: Packing, num_pieces: int) -> list[list[int]]:
    """Return the ways of each piece of a packing; full pieces are divided until there are as many as asked for."""
    ways: dict[int, list[int]] = defaultdict(list)
    for way, (load_ma,) in enumerate(loads_ma):
        ways[load_ma].append(way)
    pieces = [sorted(ways[load_ma].pop() for load_ma in holder) for holder in packing.holders]
    while len(pieces) < num_pieces:
        longest = max(pieces, key=len)
        pieces.append([longest.pop()])
    return pieces


def split(
    loads_ma: Sequence[Sequence[int]], limit_ma: int, num_pieces: int, clock: Clock | None = None
) -> list[list[int]] | None:
    """
    Divide ways into pieces.

    Parameters
    ----------
    loads_ma
        Load of each way in each load case, mA, shape (n_ways, n_cases).
    limit_ma
        Limit of one piece, mA.
    num_pieces
        Pieces to make; each holds at least one way.

    Returns
    -------
    list of list of int or None
        Indices of the ways of each piece; None if no division keeps the limit.

    Raises
    ------
    Undecided
        If there are many ways and neither is clear.

    Notes
    -----
    Depth-first over ways in falling order of load, where a row has few ways. Equal partial pieces are tried once.
    """
    if num_pieces > len(loads_ma):
        return None
    packing = packed(loads_ma, limit_ma, clock)
    if packing is not None:
        if packing.fewest <= num_pieces < len(packing.holders):
            raise Undecided("a row could be neither split into so many pieces nor shown not to split")
        return _as_ways(loads_ma, packing, num_pieces) if len(packing.holders) <= num_pieces else None
    order = sorted(range(len(loads_ma)), key=lambda way: (-max(loads_ma[way], default=0), way))
    num_cases = len(loads_ma[0]) if loads_ma else 0
    pieces: list[list[int]] = [[] for _ in range(num_pieces)]
    sums = [[0] * num_cases for _ in range(num_pieces)]

    def place(depth: int) -> bool:
        if depth == len(order):
            return True
        way = order[depth]
        empty = sum(not piece for piece in pieces)
        tried: set[tuple[int, ...]] = set()
        for number in range(num_pieces):
            if pieces[number] and empty == len(order) - depth:
                continue  # every way left is wanted for a piece that is still empty
            key = (bool(pieces[number]), *sums[number])
            if key in tried:
                continue
            tried.add(key)
            grown = [total + load for total, load in zip(sums[number], loads_ma[way], strict=True)]
            if all(total <= limit_ma for total in grown):
                before, sums[number] = sums[number], grown
                pieces[number].append(way)
                if place(depth + 1):
                    return True
                pieces[number].pop()
                sums[number] = before
        return False

    return [sorted(piece) for piece in pieces] if place(0) else None
