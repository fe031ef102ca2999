"""
The answer of a range search as plain data: the curve of sets, each with its proof, and what each type is needed for.

Filled in by ``range.py``; read by lists, charts and summary.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from allocator.sizing.sized import Sized


@dataclass(frozen=True, slots=True)
class VehicleHousing:
    """What one vehicle needs within a set of types; ``is_planned``: a checked plan has it."""

    types: frozenset[str]
    bays: int
    cents: int
    is_planned: bool


@dataclass(frozen=True)
class RangePoint:
    """
    The best set of so many module types.

    Attributes
    ----------
    most
        How many types may be kept.
    kept
        The types that some vehicle takes, in the catalogue's order.
    bays, cents
        Over the fleet in a year.
    least_bays, least_cents
        No set of so many types has fewer bays, and none with these bays a lower price.
    by_vehicle
        Of each vehicle.
    """

    most: int
    kept: tuple[str, ...]
    bays: Fraction
    cents: Fraction
    least_bays: Fraction
    least_cents: Fraction
    by_vehicle: Mapping[str, VehicleHousing]

    @property
    def is_exact(self) -> bool:
        """Whether every housing has a checked plan and no set is better."""
        planned = all(housing.is_planned for housing in self.by_vehicle.values())
        return planned and (self.bays, self.cents) == (self.least_bays, self.least_cents)


@dataclass(frozen=True, slots=True)
class Without:
    """What it would come to without one type: the best point then, or the vehicles that could not be built."""

    module: str
    point: RangePoint | None
    unbuildable: tuple[str, ...] = ()
    only_source_of: tuple[str, ...] = ()
    """What no other type offers, such as ``heavy sockets``."""


@dataclass(frozen=True)
class Range:
    """The curve from the fewest types that will do, and every type of its end left out in turn."""

    offers: tuple[str, ...]
    points: tuple[RangePoint, ...]
    without: tuple[Without, ...]
    num_plans: int
    """Plans that were made and checked for it."""
    was_cut: bool = False
    """Whether time ran out first: fewer types, or leaving one out, were not looked at any more."""
    has_fewest: bool = False
    """Whether it is proven that no set of fewer types than those of the first point builds every vehicle."""

    def best(self, most: int | None = None) -> RangePoint:
        """Return the point of so many types, or the end of the curve."""
        within = [point for point in self.points if most is None or point.most <= most]
        return within[-1] if within else self.points[0]


def only_source_of(sized: Sized, module: str) -> Iterator[str]:
    """Yield what a vehicle needs, whatever is chosen, that only one module type offers."""
    modules = sized.requirements.catalogue.modules
    others = [item for item in modules if item.id != module]
    formats = {row.fuse_format for item in others for row in item.rows}
    classes = {group.relay_class for item in others for group in item.sockets}
    for need in sized.needs:
        lacking = [_lacking(option.fuse_format if need.takes_way else None, option.relay_class, formats, classes)
                   for option in need.options]  # fmt: skip
        if lacking and all(lacking):
            yield lacking[0]


def _lacking(
    fuse_format: str | None, relay_class: str | None, formats: Collection[str], classes: Collection[str]
) -> str:
    if fuse_format is not None and fuse_format not in formats:
        return f"ways for format {fuse_format}"
    return f"{relay_class} sockets" if relay_class is not None and relay_class not in classes else ""
