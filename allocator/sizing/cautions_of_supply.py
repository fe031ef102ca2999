"""
Cautions about charger, battery and modules.

The sizing table and the figures behind its rows come in; cautions go out, one function each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from allocator.sizing.fuses import current_of_drop_a
from allocator.sizing.options import Sizing
from allocator.sizing.sized import Caution, Sized
from allocator.sizing.supply import quiescent, supply_cases


def charger_margin(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Running cases whose mean load is above the share of the charger that is sound."""
    rating_a = sized.requirements.scenario.supply.charger_rating
    most = sized.requirements.figures.charger_share.value
    for case in supply_cases(sized):
        if case.charger_share > most:
            yield Caution(
                "charger-margin",
                case.name,
                f"in load case {case.name} the circuits draw {case.mean_a:.3g} A on average, {case.charger_share:.0%} "
                "of the "
                f"charger's {rating_a:g} A; up to {most:.0%} is sound",
            )


def battery_endurance(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Engine-off cases that last longer than the battery."""
    usable = sized.requirements.figures.battery_share.value
    for case in supply_cases(sized):
        if case.endurance_h is not None and case.endurance_h < case.hours:
            yield Caution(
                "battery-endurance",
                case.name,
                f"load case {case.name} lasts {case.hours:g} h and drains {case.drained_ah:.3g} A h; after "
                f"{case.endurance_h:.1f} h {usable:.0%} of the battery is gone and an engine may no longer start",
            )


def quiescent_drain(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Drains with everything off that are larger than usual."""
    figures = sized.requirements.figures
    drain, most_a = quiescent(sized), figures.quiescent_limit.value
    if drain.days is None or drain.drain_a <= most_a:
        return
    largest = max(
        (sizing for sizing in sizings if sizing.circuit.id in drain.circuits),
        key=lambda sizing: sizing.circuit.quiescent or 0.0,
    )
    largest_a = largest.circuit.quiescent or 0.0
    fuse = largest.fuse
    told_a = current_of_drop_a(fuse.fuse_format, fuse.rating, 0.001, figures)
    how = (
        "" if told_a is None else f"; 1 mV across its {fuse.rating:g} A type {fuse.fuse_format} fuse is {told_a:.3g} A"
    )
    yield Caution(
        "quiescent-drain",
        "supply",
        f"with everything off {drain.drain_a * 1000:.3g} mA are drawn, more than the usual {most_a * 1000:g} mA: after "
        f"{drain.days:.3g} days {figures.battery_share.value:.0%} of the battery is gone; the most, "
        f"{largest_a * 1000:.3g} mA, by {largest.circuit.id}{how}",
    )


def module_too_hot(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Modules that may carry nothing at the ambient temperature of a panel."""
    ambient = {panel.name: panel.ambient for panel in sized.requirements.scenario.panels}
    rows = {(panel, module): limit for (panel, module, _), limit in sized.row_limit_ma.items() if limit == 0}
    for panel, module in [key for key, limit in sized.module_limit_ma.items() if limit == 0 or key in rows]:
        part = sized.module_by_id[module]
        yield Caution(
            "module-too-hot",
            f"{panel}, {module}",
            f"{part.label} carries nothing at panel {panel}: {ambient[panel]:g} °C is above its stated "
            f"{part.stated_ambient:g} "
            "°C, and its derating table does not reach there",
        )


def no_spare_way(sized: Sized, sizings: Sequence[Sizing]) -> Iterator[Caution]:
    """Plans for which no spare way was asked."""
    if not sized.requirements.scenario.rules.spares:
        yield Caution(
            "no-spare-way",
            "spare ways",
            "no spare way is asked for; 10 to 20 % of the ways, one of each format at least, is usual",
        )
