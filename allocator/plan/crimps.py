"""
Every terminal that is crimped at the panel, with the wires in it, and how many there are of each kind.

Comes in as the runs of a plan (``wiring.py``); goes out as crimps in the order of the runs, and as counts by terminal
and wires, for the order list, the bench and the price of a build. A plan's bill holds exactly these terminals, and
that of the output of each branch that enters nowhere, onto which nothing is crimped.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from allocator.plan.wiring import STUD, Run, WireEnd


@dataclass(frozen=True, slots=True)
class Crimp:
    """One terminal, crimped onto one wire, or onto several that share its cavity; ``runs`` are their numbers."""

    terminal: str
    wires: tuple[str, ...]
    place: str
    cavity: str
    runs: tuple[str, ...]


def crimps_of(runs: Iterable[Run]) -> tuple[Crimp, ...]:
    """
    Return every terminal that is crimped, in the order of the runs.

    Parameters
    ----------
    runs
        Wires of a plan; an end without a terminal is a splice, or the far end's own business.

    Returns
    -------
    tuple of Crimp
        A cavity takes one terminal, whatever wires are in it; rings at a stud or at the supply stand for one wire each.
    """
    ends: dict[tuple[object, ...], list[tuple[WireEnd, Run]]] = {}
    for run in runs:
        for end in (run.start, run.end):
            if end.terminal:
                shared = end.cavity not in ("", STUD)
                key = (end.place, end.cavity) if shared else (end.place, end.cavity, run.number, end is run.start)
                ends.setdefault(key, []).append((end, run))
    return tuple(_crimp(found) for found in ends.values())


def _crimp(found: list[tuple[WireEnd, Run]]) -> Crimp:
    end = found[0][0]
    wires, numbers = (tuple(run.wire for _, run in found), tuple(run.number for _, run in found))
    return Crimp(end.terminal, wires, end.place, end.cavity, numbers)


def crimp_counts(crimps: Iterable[Crimp]) -> Mapping[tuple[str, tuple[str, ...]], int]:
    """Return how many crimps there are of each (terminal, wires), in the order of their ids."""
    counts = Counter((crimp.terminal, crimp.wires) for crimp in crimps)
    return {kind: counts[kind] for kind in sorted(counts)}
