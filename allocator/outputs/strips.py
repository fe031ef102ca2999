"""
The cutting plan of the bus strips: every length that is cut into, and where each of its pieces goes.

Comes in as an indexed plan; goes out as one StripPlan for each strip of the catalogue that the plan takes, with what is
proven of it. Strips are cut between two ways, so that nothing is lost at a cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from allocator.plan.index import EntryAt, PlanIndex
from allocator.requirements.catalogue import Module, Strip
from allocator.solving.cutting import Cutting, cut


@dataclass(frozen=True, slots=True)
class CutStrip:
    """One length of strip: its ways, whether it is an offcut of the shelf, its pieces in order, and the leftover."""

    ways: int
    is_offcut: bool
    pieces: tuple[EntryAt, ...]
    leftover: int


@dataclass(frozen=True, slots=True)
class StripPlan:
    """How one strip is cut; a leftover of ``usable`` ways or more fills the shortest row that takes the strip."""

    strip: Strip
    cutting: Cutting
    cuts: tuple[CutStrip, ...]
    usable: int

    @property
    def proof(self) -> str:
        """What is proven of it, in words."""
        if not self.cutting.is_fewest:
            return f"{self.cutting.num_stock} lengths found; {self.cutting.fewest} might do"
        if not self.cutting.leftovers_proven:
            return "no cutting needs fewer lengths; other leftovers may be of more use"
        return "proven: no cutting needs fewer lengths, and none of so many leaves less scrap"


def strip_plans(index: PlanIndex) -> tuple[StripPlan, ...]:
    """Return the cutting plan of every strip in use, in the catalogue's order."""
    catalogue = index.sized.requirements.catalogue
    return tuple(_plan(index, strip, catalogue.modules) for strip in catalogue.strips if any(_pieces(index, strip.id)))


def _pieces(index: PlanIndex, strip: str) -> Iterator[EntryAt]:
    """Yield the pieces of a strip in order of place."""
    for entry in index.entries:
        in_row = entry.row is not None and entry.piece.kind == "strip"
        if in_row and entry.at.module.rows[entry.row or 0].strip == strip:
            yield entry


def _plan(index: PlanIndex, strip: Strip, modules: tuple[Module, ...]) -> StripPlan:
    usable = min(row.ways for module in modules for row in module.rows if row.strip == strip.id)
    entries = list(_pieces(index, strip.id))
    cutting = cut([len(entry.ways) for entry in entries], strip.ways, offcuts=strip.offcuts, usable=usable)
    waiting: dict[int, list[EntryAt]] = {}
    for entry in entries:
        waiting.setdefault(len(entry.ways), []).append(entry)
    cuts = tuple(
        CutStrip(item.of, item.is_offcut, tuple(waiting[ways].pop(0) for ways in item.pieces), item.leftover)
        for item in cutting.lengths
    )
    return StripPlan(strip, cutting, cuts, usable)
