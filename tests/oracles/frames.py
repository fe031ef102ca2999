"""
Every set of carriers and modules that a tiny panel may be built of, for the oracles.

Comes in as the sizing table; goes out as frames: carriers by panel, and modules where they stand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from allocator.address import parse_place
from allocator.requirements.catalogue import Carrier
from allocator.requirements.vehicle import PanelSite
from allocator.sizing.sized import Sized
from tests.oracles.arrangement import Standing, spare_ways

Frame = tuple[tuple[tuple[str, str], ...], tuple[Standing, ...]]


def values_of_frame(sized: Sized, frame: Frame) -> dict[str, Fraction]:
    """Return the goals that carriers and modules alone decide, and the price of these parts as a floor of the price."""
    carriers, modules = frame
    catalogue = {carrier.id: carrier for carrier in sized.requirements.catalogue.carriers}
    chosen = [catalogue[name] for _, name in carriers]
    return {
        "bays": Fraction(sum(carrier.bays for carrier in chosen)),
        "module-types": Fraction(len({standing.module for standing in modules})),
        "carriers": Fraction(len(chosen)),
        "footprint": sum((Fraction(str(c.width)) * Fraction(str(c.height)) for c in chosen), Fraction(0)),
        "spare-ways": Fraction(spare_ways(sized, modules)),
        "panels": Fraction(len({panel for panel, _ in carriers})),
        "price": sum(
            (
                sized.price_by_part[name]
                for name in [name for _, name in carriers] + [standing.module for standing in modules]
            ),
            Fraction(0),
        ),
    }


def frames(sized: Sized) -> Iterator[Frame]:
    """Yield every set of carriers and modules that the module rules allow; bays are numbered where a pin asks."""
    numbered = any(need.pin is not None and parse_place(need.pin).bay is not None for need in sized.needs)
    sites = sized.requirements.scenario.panels
    seen = set()

    def build(left: Sequence[PanelSite], carriers: tuple[tuple[str, str], ...], modules: tuple[Standing, ...]) -> None:
        if left:
            for more_carriers, more_modules in _panel_frames(sized, left[0], numbered):
                build(left[1:], carriers + more_carriers, modules + more_modules)
        elif module_rules_hold(sized, modules):
            seen.add((carriers, modules))

    build(sites, (), ())
    yield from sorted(seen)


def _panel_frames(sized: Sized, site: PanelSite, numbered: bool) -> Iterator[Frame]:
    allowed = [
        carrier for carrier in sized.requirements.catalogue.carriers if not site.carriers or carrier.id in site.carriers
    ]

    def fill(bay: int, end: int) -> Iterator[tuple[Standing, ...]]:
        if bay > end:
            yield ()
            return
        yield from fill(bay + 1, end)
        for module in sized.requirements.catalogue.modules:
            if bay + module.bays - 1 <= end:
                for rest in fill(bay + module.bays, end):
                    yield (Standing(site.name, bay, module.id), *rest)

    def grow(first: int, chosen: tuple[Carrier, ...], modules: tuple[Standing, ...]) -> Iterator[Frame]:
        names = tuple((site.name, carrier.id) for carrier in chosen)
        if numbered:
            yield names, modules
        else:
            yield tuple(sorted(names)), tuple(sorted((Standing(m.panel, 0, m.module) for m in modules), key=_order))
        for carrier in allowed:
            if first + carrier.bays - 1 <= site.max_bays:
                for filling in fill(first, first + carrier.bays - 1):
                    yield from grow(first + carrier.bays, (*chosen, carrier), modules + filling)

    return grow(1, (), ())


def _order(standing: Standing) -> tuple[str, int, str]:
    return (standing.panel, standing.bay, standing.module)


def module_rules_hold(sized: Sized, modules: Sequence[Standing]) -> bool:
    """Whether no type has more modules than the rules, or the shelf, allow."""
    rules = sized.requirements.scenario.rules
    count = Counter(standing.module for standing in modules)
    if any(count[limit.module] > limit.most for limit in rules.modules):
        return False
    stocks = {module.id: module.stock for module in sized.requirements.catalogue.modules}
    return not rules.use_stock or all(stock is None or count[module] <= stock for module, stock in stocks.items())
