"""
What a millivolt meter should read over a fuse when everything is switched off.

Comes in as a fuse and the figures in force; goes out as its cold resistance with where that comes from. A fuse is not
pulled for this test: that would wake what sleeps behind it.
"""

from __future__ import annotations

from dataclasses import dataclass

from allocator.figures import Figures
from allocator.requirements.catalogue import Fuse

MILLI = 1000
SMALLEST_STEP_MV = 0.1
"""Last digit of a usual meter in its millivolt range: common practice."""


@dataclass(frozen=True, slots=True)
class ColdResistance:
    """Cold resistance of a fuse, mohm, and where it comes from."""

    mohm: float
    source: str

    def drop_mv(self, current_a: float) -> float:
        """Return what a current loses in it, mV."""
        return current_a * self.mohm

    @property
    def ma_per_step(self) -> float:
        """Return the current that moves the last digit of a usual meter, mA."""
        return SMALLEST_STEP_MV / self.mohm * MILLI


def cold_resistance(fuse: Fuse, figures: Figures) -> ColdResistance | None:
    """Return the catalogue's cold resistance of a fuse, else a published one of its type and rating, else None."""
    if fuse.cold_resistance is not None:
        return ColdResistance(fuse.cold_resistance * MILLI, "catalogue")
    published = figures.fuse_cold_resistance
    mohm = published.value.get(fuse.fuse_format, {}).get(fuse.rating)
    return None if mohm is None else ColdResistance(mohm, published.source)
