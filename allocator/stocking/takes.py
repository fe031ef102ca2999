"""
What one vehicle takes from the shelf: pieces, whole lengths of strip, metres of wire, and what is cut from them.

Comes in as a plan with its sizing; goes out as counts by part. Strip is counted in whole lengths, cut for this vehicle
alone, and wire in metres, rounded up: what is left over is not counted on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from allocator.plan.colours import look_of
from allocator.plan.cuts import cut_mm
from allocator.plan.index import PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.plan.plan import Plan
from allocator.plan.wiring import runs_of
from allocator.requirements.catalogue import Catalogue, Strip, parts_by_id
from allocator.sizing.sized import Sized
from allocator.solving.cutting import Cutting, cut
from allocator.units import MM_PER_M

WireKind = tuple[str, str]
"""Wire and its colour, in letter codes."""


def unit_of(catalogue: Catalogue, part: str) -> str:
    """Return in what a part is counted: ``piece``, ``length`` of strip, ``m`` of wire."""
    if any(strip.id == part for strip in catalogue.strips):
        return "length"
    return "m" if any(wire.id == part for wire in catalogue.wires) else "piece"


@dataclass(frozen=True)
class Takes:
    """What a plan takes."""

    sized: Sized
    plan: Plan

    @cached_property
    def _index(self) -> PlanIndex:
        return PlanIndex(self.sized, self.plan)

    @cached_property
    def strip_pieces(self) -> Mapping[str, Sequence[int]]:
        """Ways of every piece of each strip."""
        pieces: dict[str, list[int]] = defaultdict(list)
        for entry in self._index.entries:
            if entry.row is not None and entry.piece.kind == "strip":
                pieces[str(entry.at.module.rows[entry.row].strip)].append(len(entry.ways))
        return pieces

    @cached_property
    def wire_cuts_mm(self) -> Mapping[WireKind, Sequence[int]]:
        """Length to cut of every wire by kind, mm; those that the builder measures are left out."""
        cuts: dict[WireKind, list[int]] = defaultdict(list)
        for run in runs_of(self._index):
            length = cut_mm(run, self.sized.requirements)
            if length is not None:
                cuts[run.wire, look_of(run, self.sized.requirements).code].append(length)
        return cuts

    @cached_property
    def number_by_part(self) -> Mapping[str, int]:
        """Pieces, lengths of strip and metres of wire, in the catalogue's order."""
        number = dict(bill_of_index(self._index).parts)
        strips = {strip.id: strip for strip in self.sized.requirements.catalogue.strips}
        for name, pieces in self.strip_pieces.items():
            number[name] = cut_strip(strips[name], pieces, 1, on_shelf=False).num_stock
        wire_mm: dict[str, int] = defaultdict(int)
        for (wire, _), cuts in self.wire_cuts_mm.items():
            wire_mm[wire] += sum(cuts)
        number |= {wire: -(-mm // MM_PER_M) for wire, mm in wire_mm.items()}
        order = parts_by_id(self.sized.requirements.catalogue)
        return {part: number[part] for part in order if number.get(part)}


def cut_strip(strip: Strip, pieces: Sequence[int], usable: int, *, on_shelf: bool) -> Cutting:
    """Cut pieces from lengths of a strip, and from the offcuts where the shelf is asked."""
    return cut(pieces, strip.ways, offcuts=strip.offcuts if on_shelf else (), usable=usable)
