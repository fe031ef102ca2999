"""
Cautions about what the sums rest on: a vehicle's own figures, figures from memory, rules looser than the default.

The sizing table comes in; cautions go out, one function each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from allocator.sizing.figures_told import figures_told
from allocator.sizing.options import Sizing
from allocator.sizing.sized import Caution, Sized


def figure_of_ones_own(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Figures that the scenario has replaced by its own."""
    for figure in figures_told(sized):
        if figure.own:
            cells = "; ".join(own.text for own in figure.own)
            yield Caution(
                "figure-of-ones-own",
                figure.name,
                f"{figure.name} is this vehicle's own: {cells} (published: {figure.source})",
            )


def figure_from_memory(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Figures that no source confirms and that these sums used."""
    for figure in figures_told(sized):
        if figure.confidence == "M":
            shown = f", {figure.value}" if figure.value else ""
            yield Caution(
                "figure-from-memory",
                figure.name,
                f"a figure was used that no source confirms ({figure.name}{shown}): {figure.source}",
            )
