"""
Fewest holders of one capacity for things of given sizes: strip pieces for loads, stock lengths for pieces.

Comes in as sizes and a capacity; goes out as groups with a bound that is exact. Best-fit and a counting bound close
most cases at once; else patterns are searched (``patterns.py``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from math import gcd

from allocator.solving.engine import Clock
from allocator.solving.patterns import Kind, Pattern, Patterns, Thing


@dataclass(frozen=True)
class Packing:
    """Sizes by holder, and the number below which no packing can be."""

    holders: tuple[tuple[int, ...], ...]
    fewest: int

    @property
    def is_fewest(self) -> bool:
        """Whether no packing takes fewer holders."""
        return len(self.holders) == self.fewest


def pack(sizes: Iterable[int], capacity: int, clock: Clock) -> Packing:
    """
    Pack things into holders, as few as the clock allows to find.

    Parameters
    ----------
    sizes
        Size of each thing, at least 1; none is larger than ``capacity``.
    capacity
        What one holder takes.

    Returns
    -------
    Packing
        The best packing found; the same for the same input unless the clock ran out.
    """
    ordered = sorted(sizes, reverse=True)
    unit = reduce(gcd, ordered, 0) or 1
    whole = [size // unit for size in ordered]
    room = capacity // unit
    holders = best_fit(whole, room)
    fewest = fewest_holders(whole, room)
    if len(holders) > fewest:
        holders, fewest = _better(whole, room, holders, fewest, clock)
    return Packing(tuple(tuple(size * unit for size in holder) for holder in holders), fewest)


def best_fit(ordered: Iterable[int], capacity: int) -> list[list[int]]:
    """Put each thing, largest first, where it leaves the least room; into a new holder where none has room."""
    holders: list[list[int]] = []
    room: list[int] = []
    for size in ordered:
        fitting = [number for number, left in enumerate(room) if left >= size]
        if fitting:
            best = min(fitting, key=room.__getitem__)
            holders[best].append(size)
            room[best] -= size
        else:
            holders.append([size])
            room.append(capacity - size)
    return holders


def fewest_holders(sizes: Sequence[int], capacity: int) -> int:
    """
    Return how many holders any packing takes at the least.

    Notes
    -----
    The larger of the sizes in all, and L2 of Martello and Toth, "Lower bounds and reduction procedures for the bin
    packing problem" (1990), which counts things that cannot share a holder.
    """
    best = -(-sum(sizes) // capacity)
    for small in sorted({0, *(size for size in sizes if 2 * size <= capacity)}):
        alone = sum(size > capacity - small for size in sizes)
        halves = [size for size in sizes if capacity < 2 * size and size <= capacity - small]
        light = sum(size for size in sizes if small <= size and 2 * size <= capacity)
        spill = light - sum(capacity - size for size in halves)
        best = max(best, alone + len(halves) + max(0, -(-spill // capacity)))
    return best


def _better(
    sizes: Sequence[int], capacity: int, holders: list[list[int]], fewest: int, clock: Clock
) -> tuple[list[list[int]], int]:
    """Return better holders and a better bound, as far as there are any."""
    things = [Thing(size, number) for size, number in Counter(sizes).items()]
    patterns = Patterns(things, [Kind(capacity)], clock)
    known = [Pattern(0, tuple(map(holder.count, (thing.size for thing in things)))) for holder in holders]
    held, bound = patterns.cheapest(known, fewest)
    return [
        [thing.size for thing, count in zip(things, pattern.held, strict=True) for _ in range(count)]
        for pattern in held or known
    ], bound
