"""
How many whole lengths of strip the pieces need.

Comes in as piece lengths and the length of a stock strip, in ways; goes out as the pieces by stock length, with a bound
that says how few lengths could do. A strip is cut between two ways, so that nothing is lost at a cut.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cutting:
    """Pieces by stock length, each list longest first, and the fewest lengths that any cutting could need."""

    lengths: tuple[tuple[int, ...], ...]
    fewest: int

    @property
    def is_best(self) -> bool:
        """Whether no cutting needs fewer lengths."""
        return len(self.lengths) == self.fewest


def cut(pieces: Iterable[int], stock_ways: int) -> Cutting:
    """
    Cut pieces from stock lengths, the longest piece first, each from the fullest length that still holds it.

    Parameters
    ----------
    pieces
        Ways of each piece; none is longer than ``stock_ways``.
    stock_ways
        Ways of one stock length.

    Returns
    -------
    Cutting
        The cutting and a bound.

    Notes
    -----
    Best-fit decreasing needs at most 11/9 of the fewest lengths (and 6/9 of one more). The bound is the larger of the
    ways in all, and Martello and Toth's L2, which counts pieces that cannot share a length.
    """
    ordered = sorted(pieces, reverse=True)
    lengths: list[list[int]] = []
    for piece in ordered:
        holding = [length for length in lengths if sum(length) + piece <= stock_ways]
        if holding:
            max(holding, key=sum).append(piece)
        else:
            lengths.append([piece])
    return Cutting(tuple(map(tuple, lengths)), _fewest(ordered, stock_ways))


def _fewest(pieces: list[int], stock: int) -> int:
    """Martello and Toth's bound, "Lower bounds and reduction procedures for the bin packing problem" (1990)."""
    best = -(-sum(pieces) // stock)
    for small in range(stock // 2 + 1):
        alone = sum(piece > stock - small for piece in pieces)
        halves = [piece for piece in pieces if stock // 2 < piece <= stock - small]
        light = sum(piece for piece in pieces if small <= piece <= stock // 2)
        spill = light - sum(stock - piece for piece in halves)
        best = max(best, alone + len(halves) + max(0, -(-spill // stock)))
    return best
