"""
Where feed tails go in: what carries the current there, at a panel's ambient temperature.

A module of the catalogue, a row and a panel come in; the inlet, with what its strip or stud carries and what the ways
behind it let pass, goes out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from allocator.errors import SizingError
from allocator.requirements.catalogue import DeratingStep, Module, Terminal, Wire
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.offer import Offer
from allocator.units import limit_to_model, to_model


@dataclass(frozen=True, slots=True)
class Inlet:
    """
    Where a tail enters a row.

    Attributes
    ----------
    kind, size
        Kind of the terminal that it needs, and its tab, mm, or stud.
    limit_ma
        What the strip or stud under the terminal carries, mA; None at a way fed singly.
    passes_ma
        What the ways behind it let pass at most, mA: at a way fed singly its largest fuse; None: all.
    """

    kind: str
    size: float | str
    limit_ma: int | None
    passes_ma: int | None

    def bears(self, rating_ma: int) -> bool:
        """Say whether strip or stud carry what a fuse before them, mA, lets pass."""
        return self.limit_ma is None or self.limit_ma >= rating_ma

    def terminals(self, offer: Offer, tail: Wire, rating_ma: int) -> Sequence[Terminal]:
        """Return the terminals for a tail that carry what a fuse before it, mA, and the ways behind it let pass."""
        needed_ma = rating_ma if self.passes_ma is None else min(rating_ma, self.passes_ma)
        found = offer.terminals(self.kind, self.size, tail)
        return [item for item in found if limit_to_model(item.limit) >= needed_ma]


def inlet_of(offer: Offer, module: Module, row: int, panel: PanelSite) -> Inlet:
    """Return where a tail enters a row at a panel."""
    shape = module.rows[row]
    if shape.bus == "single":
        return Inlet("tab", shape.tab, None, _largest_fuse_ma(offer, shape.fuse_format))
    if module.stud is not None and module.stud_limit is not None and shape.bus == "stud":
        return Inlet("ring", module.stud, _at(module.stud_limit, module, panel), None)
    strip = next(strip for strip in offer.catalogue.strips if strip.id == shape.strip)
    limit_ma = derated_ma(strip.limit, strip.stated_ambient, strip.derating, panel.ambient)
    return Inlet("inlet", strip.inlet_tab, limit_ma, None)


def _largest_fuse_ma(offer: Offer, fuse_format: str) -> int | None:
    try:
        return to_model(offer.fuses(fuse_format)[-1].rating)
    except SizingError:
        return None  # no fuse of this format suits the net, so nothing stands in such ways


def derated_ma(limit_a: float, stated_c: float, steps: Sequence[DeratingStep], ambient_c: float) -> int:
    """
    Return what is left of a continuous limit at an ambient temperature.

    Parameters
    ----------
    limit_a, stated_c
        Limit, A, and the ambient temperature up to which it holds, degC.
    steps
        Derating table of the part, in any order; read at the next higher column, never interpolated.
    ambient_c
        Ambient temperature, degC.

    Returns
    -------
    int
        Limit, mA, rounded down; 0 above the stated temperature without a table, or past its last column.
    """
    if ambient_c <= stated_c:
        return limit_to_model(limit_a)
    columns = sorted((step.ambient, step.factor) for step in steps)
    share = next((factor for column, factor in columns if ambient_c <= column), 0.0)
    return limit_to_model(limit_a * share / 100)


def _at(limit_a: float, module: Module, panel: PanelSite) -> int:
    return derated_ma(limit_a, module.stated_ambient, module.derating, panel.ambient)
