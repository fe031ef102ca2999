"""
What each load case asks of charger and battery.

A sizing table comes in; one line per load case goes out, as plain data for reports. Duty counts here, and only here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from allocator.requirements.vehicle import Feed
from allocator.sizing.sized import Sized
from allocator.units import from_model

HOURS_A_DAY = 24


@dataclass(frozen=True, slots=True)
class SupplyCase:
    """
    Charge and drain in one load case.

    Attributes
    ----------
    name, engine_running, hours
        As in the scenario.
    mean_a
        Mean current of all circuits and coils with their duty, A.
    peak_a
        Current when all that run draw at once, A.
    charger_share
        Mean current over the charger's rating, 1; 0 with the engine off.
    drained_ah
        Charge taken from the battery in the stated hours, A h; 0 with the engine running.
    endurance_h
        Hours until the engine may no longer start, h; None with the engine running or nothing drawn.
    """

    name: str
    engine_running: bool
    hours: float
    mean_a: float
    peak_a: float
    charger_share: float
    drained_ah: float
    endurance_h: float | None


@dataclass(frozen=True, slots=True)
class Quiescent:
    """
    The drain with everything switched off.

    Attributes
    ----------
    drain_a
        What is drawn, A.
    days
        Days until an engine may no longer start; None where nothing is drawn.
    circuits
        Circuits that draw it: those on no feed that is always live are not among them.
    """

    drain_a: float
    days: float | None
    circuits: tuple[str, ...]


def supply_cases(sized: Sized) -> tuple[SupplyCase, ...]:
    """Return charge and drain of every load case, in the scenario's order."""
    supply = sized.requirements.scenario.supply
    usable_ah = supply.battery_capacity * sized.requirements.figures.battery_share.value
    found = []
    for index, case in enumerate(sized.requirements.scenario.load_cases):
        mean_a, peak_a = _mean_a(sized, index), _peak_a(sized, index)
        off = not case.engine_running
        found.append(
            SupplyCase(
                name=case.name,
                engine_running=case.engine_running,
                hours=case.hours,
                mean_a=mean_a,
                peak_a=peak_a,
                charger_share=0.0 if off else charger_share(mean_a, supply.charger_rating),
                drained_ah=mean_a * case.hours if off else 0.0,
                endurance_h=endurance_h(usable_ah, mean_a) if off and mean_a > 0 else None,
            )
        )
    return tuple(found)


def charger_share(load_a: float, rating_a: float) -> float:
    """Return a steady load as a share of the charger's rating, 1; up to ``Figures.charger_share`` is sound."""
    return load_a / rating_a


def endurance_h(usable_ah: float, drain_a: float) -> float:
    """Return how long a charge, A h, lasts at a drain, A; hours."""
    return usable_ah / drain_a


def quiescent(sized: Sized) -> Quiescent:
    """Return the drain with everything switched off, and how long the battery bears it."""
    feeds, supply = sized.requirements.scenario.feeds, sized.requirements.scenario.supply
    by_name = {feed.name: feed for feed in feeds}
    live = {feed.name for feed in feeds if _always_live(by_name, feed)}
    drawing = [item for item in sized.requirements.circuits if item.quiescent and live & set(item.feeds)]
    drain_a = sum(item.quiescent or 0.0 for item in drawing)
    usable_ah = supply.battery_capacity * sized.requirements.figures.battery_share.value
    days = endurance_h(usable_ah, drain_a) / HOURS_A_DAY if drawing else None
    return Quiescent(drain_a, days, tuple(item.id for item in drawing))


def _always_live(by_name: Mapping[str, Feed], feed: Feed) -> bool:
    """Say whether a feed is permanent up to its root, with no relay on the way."""
    if feed.kind != "permanent" or feed.relay_class is not None:
        return False
    return feed.source is None or _always_live(by_name, by_name[feed.source])


def _mean_a(sized: Sized, case: int) -> float:
    duty = {circuit.id: circuit.duty / 100 for circuit in sized.requirements.circuits}
    # Coils on a circuit share its duty: what it controls runs no longer than it does.
    return sum(from_model(need.load_ma_by_case[case]) * _share(need.kind, need.id, duty) for need in sized.needs)


def _peak_a(sized: Sized, case: int) -> float:
    return sum(from_model(need.load_ma_by_case[case]) for need in sized.needs if need.kind != "spare")


def _share(kind: str, name: str, duty: dict[str, float]) -> float:
    return duty[name] if kind == "circuit" else float(kind == "feed")
