"""
What to cut from which length: fewest stock lengths first, then least scrap, then fewest leftovers.

Comes in as pieces, a stock length and the offcuts on the shelf; goes out as a cutting with what is proven of it. The
same input gives the same cutting; nothing is lost at a cut. Lengths are whole units: ways of a bus strip here.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from allocator.model.cutting import CuttingModel, build_cutting
from allocator.solving.engine import Clock, Solved, solve
from allocator.solving.packing import pack

EFFORT = 5.0
"""Deterministic effort for each of the three goals; strips of a vehicle take a thousandth of it."""
GUARD_S = 600.0
MOST_PLACES = 20_000
"""Places times lengths of pieces, up to which the exact model is asked for the least scrap."""


@dataclass(frozen=True, slots=True)
class CutLength:
    """One length that is cut into: how long it is, whether it was an offcut, and its pieces, longest first."""

    of: int
    is_offcut: bool
    pieces: tuple[int, ...]

    @property
    def leftover(self) -> int:
        """What is left of it."""
        return self.of - sum(self.pieces)


@dataclass(frozen=True, slots=True)
class Cutting:
    """
    All lengths that are cut into, offcuts first, and what is proven of them.

    Attributes
    ----------
    lengths
        Longest pieces first.
    fewest
        No cutting takes fewer stock lengths.
    leftovers_proven
        Whether no cutting of so many stock lengths leaves less scrap, and among these none fewer leftovers.
    """

    lengths: tuple[CutLength, ...]
    fewest: int
    leftovers_proven: bool

    @property
    def num_stock(self) -> int:
        """Stock lengths that are cut into."""
        return sum(not length.is_offcut for length in self.lengths)

    @property
    def is_fewest(self) -> bool:
        """Whether no cutting takes fewer stock lengths."""
        return self.num_stock == self.fewest


def cut(
    pieces: Iterable[int], stock: int, *, offcuts: Sequence[int] = (), usable: int = 1, effort: float = EFFORT
) -> Cutting:
    """
    Cut pieces from stock lengths and offcuts.

    Parameters
    ----------
    pieces
        Length of each piece; none is longer than ``stock``.
    stock
        Length of a stock length.
    offcuts
        Length of each offcut on the shelf, shorter than ``stock``; each saves material where it saves a stock length.
    usable
        Length from which a leftover is of use; what is shorter is scrap.
    effort
        Deterministic effort of the solver for each goal; where it does not do, the cutting says so.

    Returns
    -------
    Cutting
        The best cutting found; proven ones are the same on every machine.
    """
    ordered = sorted(pieces, reverse=True)
    if not ordered:
        return Cutting((), 0, True)
    packing = pack(ordered, stock, Clock(time.monotonic() + GUARD_S))
    fewest = max(0, packing.fewest - len(offcuts))
    greedy = _best_fit(ordered, stock, offcuts)
    if len(packing.holders) < sum(not item.is_offcut for item in greedy):
        greedy = _in_order(CutLength(stock, False, pieces) for pieces in packing.holders)
    if _is_too_large(ordered, stock, offcuts):
        return Cutting(greedy, fewest, _leaves_least(greedy, fewest, usable))
    problem = build_cutting(Counter(ordered), stock, Counter(offcuts), usable)
    problem.model.add(problem.lengths >= fewest)
    _hint(problem, greedy)
    best, proven = greedy, list[bool]()
    for goal in (problem.lengths, problem.scrap, problem.leftovers):
        problem.model.minimize(goal)
        solved = solve(problem.model, Clock(time.monotonic() + GUARD_S), effort=effort)
        if goal is problem.lengths:
            fewest = max(fewest, solved.bound or 0)
        proven.append(solved.status == "optimal")
        if not solved.has_solution:
            break
        best = _lengths_of(problem, solved, stock)
        problem.model.add(goal == int(solved.objective or 0))
    return Cutting(best, fewest, len(proven) == 3 and all(proven))


def _leaves_least(cuts: Sequence[CutLength], fewest: int, usable: int) -> bool:
    """Whether nothing can be better: fewest lengths, no scrap, and one leftover of stock lengths alone, or none."""
    left = [item.leftover for item in cuts if item.leftover]
    is_fewest = sum(not item.is_offcut for item in cuts) == fewest
    return is_fewest and all(n >= usable for n in left) and len(left) <= (not any(item.is_offcut for item in cuts))


def _is_too_large(ordered: Sequence[int], stock: int, offcuts: Sequence[int]) -> bool:
    """Whether the model would have more places than it is of use for: wire on reels, in centimetres."""
    return (stock + sum(set(offcuts))) * len(set(ordered)) > MOST_PLACES


def _best_fit(ordered: Iterable[int], stock: int, offcuts: Iterable[int]) -> tuple[CutLength, ...]:
    """Longest piece first, each from what holds it most tightly; a stock length where nothing does."""
    cuts = [CutLength(of, True, ()) for of in sorted(offcuts)]
    for piece in ordered:
        holding = [number for number, item in enumerate(cuts) if item.leftover >= piece]
        if holding:
            best = min(holding, key=lambda number: cuts[number].leftover)
            cuts[best] = CutLength(cuts[best].of, cuts[best].is_offcut, (*cuts[best].pieces, piece))
        else:
            cuts.append(CutLength(stock, False, (piece,)))
    return _in_order(item for item in cuts if item.pieces)


def _hint(problem: CuttingModel, cutting: Iterable[CutLength]) -> None:
    """Let the solver start from a cutting."""
    arcs: Counter[tuple[int, int]] = Counter()
    ends: Counter[tuple[int, int]] = Counter()
    for item in cutting:
        place = 0
        for piece in item.pieces:
            arcs[place, piece] += 1
            place += piece
        ends[place, item.of] += 1
    for arc, variable in problem.arcs.items():
        problem.model.add_hint(variable, arcs[arc])
    for end, variable in problem.ends.items():
        problem.model.add_hint(variable, ends[end])


def _lengths_of(problem: CuttingModel, solved: Solved, stock: int) -> tuple[CutLength, ...]:
    """Follow the flow from the start of a length to its end, the longest piece first, until nothing flows any more."""
    arcs = Counter({arc: solved.value(variable) for arc, variable in problem.arcs.items()})
    ends = Counter({end: solved.value(variable) for end, variable in problem.ends.items()})
    found = []
    for _ in range(ends.total()):
        place, pieces = 0, []
        while leaving := [length for (start, length), flow in arcs.items() if start == place and flow]:
            pieces.append(max(leaving))
            arcs[place, pieces[-1]] -= 1
            place += pieces[-1]
        of = min(of for (start, of), flow in ends.items() if start == place and flow)
        ends[place, of] -= 1
        found.append(CutLength(of, of != stock, tuple(sorted(pieces, reverse=True))))
    return _in_order(found)


def _in_order(cuts: Iterable[CutLength]) -> tuple[CutLength, ...]:
    """Offcuts first, then what holds the longest pieces."""
    return tuple(sorted(cuts, key=lambda item: (not item.is_offcut, tuple(-piece for piece in item.pieces), item.of)))
