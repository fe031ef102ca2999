"""
Every set of carriers and modules that a built panel may become, for the oracle of revisions.

Comes in as what is built and the sizing table of now; goes out as frames. Bays are told apart only where something
depends on them: where a module stays as it is built, and where a pin names a bay.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from allocator.address import parse_place
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.sized import Sized
from tests.oracles.arrangement import Standing
from tests.oracles.frames import Frame, module_rules_hold

Place = tuple[str, int]


@dataclass(frozen=True)
class Housing:
    """Carriers and modules as they are built, by their first bay, and whether every module must stay."""

    carriers: Sequence[tuple[str, str]]
    modules: Mapping[Place, str]
    is_fixed: bool

    def stays(self, standing: Standing) -> bool:
        """Whether a module stands where one of its type is built."""
        return self.modules.get((standing.panel, standing.bay)) == standing.module


def pinned_bays(sized: Sized) -> set[Place]:
    """Return the bays that pins name."""
    places = [parse_place(need.pin) for need in sized.needs if need.pin]
    return {(place.panel, place.bay) for place in places if place.bay is not None}


def built_frames(housing: Housing, sized: Sized) -> Iterator[Frame]:
    """Yield every frame that holds the built carriers, and the built modules where these must stay."""
    pinned = pinned_bays(sized)
    sites = sized.requirements.scenario.panels
    for parts in product(*(_of_panel(housing, sized, site, pinned) for site in sites)):
        carriers = tuple(carrier for part in parts for carrier in part[0])
        modules = tuple(module for part in parts for module in part[1])
        if module_rules_hold(sized, modules):
            yield carriers, modules


def _of_panel(housing: Housing, sized: Sized, site: PanelSite, pinned: set[Place]) -> list[Frame]:
    """Return the frames of one panel, one of each kind that can be told apart."""
    found: dict[object, Frame] = {}
    built = [name for panel, name in housing.carriers if panel == site.name]
    stay = {bay for panel, bay in housing.modules if panel == site.name and housing.is_fixed}
    for names in _carriers(sized, site, built):
        for modules in _fillings(sized, site.name, names, {bay: housing.modules[site.name, bay] for bay in stay}):
            if stay <= {module.bay for module in modules if housing.stays(module)}:
                seen = sorted(
                    (module.module, module.bay if housing.stays(module) or (site.name, module.bay) in pinned else 0)
                    for module in modules
                )
                key = (tuple(sorted(names)), tuple(seen))
                found.setdefault(key, (tuple((site.name, name) for name in names), modules))
    return list(found.values())


def _carriers(sized: Sized, site: PanelSite, built: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Yield carriers in their order from bay 1, those that are built first."""
    offered = sized.requirements.catalogue.carriers
    bays = {carrier.id: carrier.bays for carrier in offered if not site.carriers or carrier.id in site.carriers}

    def grow(chosen: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        if sum(bays[name] for name in chosen) <= site.max_bays:
            yield chosen
            for name in bays:
                yield from grow((*chosen, name))

    if all(name in bays for name in built):
        yield from grow(tuple(built))


def _fillings(
    sized: Sized, panel: str, carriers: Sequence[str], fixed: Mapping[int, str]
) -> Iterator[tuple[Standing, ...]]:
    """Yield every way to put modules into carriers; no module reaches over the end of one."""
    modules = {module.id: module.bays for module in sized.requirements.catalogue.modules}
    bays = {carrier.id: carrier.bays for carrier in sized.requirements.catalogue.carriers}

    def fill(bay: int, end: int) -> Iterator[tuple[Standing, ...]]:
        if bay > end:
            yield ()
            return
        if bay not in fixed:
            yield from fill(bay + 1, end)
        for module in (fixed[bay],) if bay in fixed else modules:
            if bay + modules[module] - 1 <= end:
                for rest in fill(bay + modules[module], end):
                    yield (Standing(panel, bay, module), *rest)

    first, parts = 1, []
    for name in carriers:
        parts.append(list(fill(first, first + bays[name] - 1)))
        first += bays[name]
    for chosen in product(*parts):
        yield tuple(standing for part in chosen for standing in part)
