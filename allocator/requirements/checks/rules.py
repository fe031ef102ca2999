"""Vehicle, panels and rules: voltages in order, carriers that fit, wishes that can hold together."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from allocator.requirements.checks.feeds import reaches
from allocator.requirements.drafting import Draft
from allocator.requirements.places import Item, PlacedFault, shown
from allocator.requirements.scenario import Bond
from allocator.units import wire_system

_LOWEST_SHARE, _HIGHEST_SHARE = 0.5, 1.5
"""Widest span about the nominal voltage. Common practice, no source: supplies of ISO 16750-2 run from 0.5 to 1.33."""

_FINER_OR_EQUAL = {
    "feed": ("feed",),
    "row": ("row",),
    "module": ("row", "module"),
    "panel": ("row", "module", "panel"),
}
"""Circuits that are together in a row are together in a module and at a panel too."""


def rule_faults(draft: Draft) -> Iterator[PlacedFault]:
    """Yield every fault of the vehicle, the panels and the rules."""
    yield from _voltages(draft)
    yield from _small_craft(draft)
    yield from _source(draft)
    yield from _wire_system(draft)
    yield from _carriers(draft)
    yield from _spares(draft)
    yield from _goals(draft)
    yield from _module_limits(draft)
    yield from _stock(draft)
    yield from _contradictions(draft)
    yield from _colours(draft)


def _voltages(draft: Draft) -> Iterator[PlacedFault]:
    if draft.vehicle is None:
        return
    spot, vehicle = draft.vehicle.spot, draft.vehicle.value
    low, nominal, high = vehicle.minimum_voltage, vehicle.nominal_voltage, vehicle.operating_voltage
    if not low <= nominal <= high:
        message = "the voltages of the vehicle are not in order"
        known = f"expected minimum <= nominal <= operating, found {low:g} V, {nominal:g} V, {high:g} V"
        yield spot.fault("voltage-order", message, known=known)
    elif low < _LOWEST_SHARE * nominal or high > _HIGHEST_SHARE * nominal:
        field = "minimum_voltage" if low < _LOWEST_SHARE * nominal else "operating_voltage"
        known = f"expected {_LOWEST_SHARE * nominal:g} V to {_HIGHEST_SHARE * nominal:g} V about {nominal:g} V"
        yield spot.fault("voltage-span", f'"{field}" is too far from the nominal voltage', field, known=known)


def _small_craft(draft: Draft) -> Iterator[PlacedFault]:
    if draft.vehicle is None or draft.rules is None or draft.rules.value.fuse_over_wire == "never":
        return
    volts, below = draft.vehicle.value.operating_voltage, draft.figures.small_craft_below.value
    if volts >= below:
        message = f'"fuse_over_wire" of [rules] asks for 150 % in a net of {volts:g} V'
        known = f"33 CFR 183.455 allows it below {below:g} V"
        yield draft.rules.spot.fault("small-craft-voltage", message, "fuse_over_wire", known=known)


def _source(draft: Draft) -> Iterator[PlacedFault]:
    if draft.supply is None:
        return
    spot, supply = draft.supply.spot, draft.supply.value
    if supply.source_fault_current is not None and supply.source_fault_current < supply.fault_current:
        message = "the short-circuit current at the source is less than that at the panel behind it"
        known = f"expected at least {supply.fault_current:g} A, fault_current of the panel"
        yield spot.fault("source-fault-below-panel", message, "source_fault_current", known=known)


def _wire_system(draft: Draft) -> Iterator[PlacedFault]:
    if draft.rules is None or draft.rules.value.wire_system == "any" or not draft.parts("wires"):
        return
    system = draft.rules.value.wire_system
    if all(wire_system(item.value.area) != system for item in draft.parts("wires")):
        message = f'"wire_system" of [rules] is {shown(system)}, and no wire of the catalogue is of that system'
        yield draft.rules.spot.fault("no-wire-of-system", message, "wire_system")


def _carriers(draft: Draft) -> Iterator[PlacedFault]:
    bays = {item.value.id: item.value.bays for item in draft.parts("carriers")}
    known = draft.names("carriers") or []
    for item in draft.panels:
        allowed = item.value.carriers or known
        if not allowed or any(name not in bays for name in allowed):
            continue  # unknown or broken ones have a fault of their own
        smallest = min(bays[name] for name in allowed)
        if smallest > item.value.max_bays:
            message = f"{item.spot.subject} has room for no carrier that is allowed there"
            yield item.spot.fault("no-carrier-fits", message, "max_bays", known=f"the smallest has {smallest} bays")


def _spares(draft: Draft) -> Iterator[PlacedFault]:
    for item in draft.rule_items("spares"):
        feed = draft.feed_by_name.get(item.value.feed or "")
        if feed is not None and item.value.panel is not None and not reaches(feed, item.value.panel):
            message = f"{item.spot.subject} wants spare ways at a panel that feed {shown(feed.name)} does not reach"
            yield item.spot.fault("spare-not-reached", message, "panel")


def _goals(draft: Draft) -> Iterator[PlacedFault]:
    if draft.rules is None:
        return
    goals = draft.rules.value.goals
    for goal in dict.fromkeys(goals):
        if goals.count(goal) > 1:
            message = f'"objective" of [rules] names {shown(goal)} twice'
            yield draft.rules.spot.fault("listed-twice", message, "objective")


def _module_limits(draft: Draft) -> Iterator[PlacedFault]:
    first: dict[str, str] = {}
    for item in draft.rule_items("modules"):
        place = first.setdefault(item.value.module, item.spot.place)
        if place != item.spot.place:
            message = f"{item.spot.subject} limits a module a second time"
            yield item.spot.fault("duplicate-limit", message, "module", known=f"the first is at {place}")


def _stock(draft: Draft) -> Iterator[PlacedFault]:
    if draft.rules is None or not draft.rules.value.use_stock or not draft.modules:
        return
    if all(item.value.stock is None for item in draft.modules):
        message = "the stock is to be kept to, and no module of the catalogue says how many are on the shelf"
        yield draft.rules.spot.fault("stock-unknown", message, "use_stock", hint='give modules a "stock"')


def _contradictions(draft: Draft) -> Iterator[PlacedFault]:
    group_by_level = {level: _groups(draft, levels) for level, levels in _FINER_OR_EQUAL.items()}
    for item in draft.rule_items("apart"):
        bond: Bond = item.value
        group = group_by_level[bond.level]
        for one, other in combinations(dict.fromkeys(bond.circuits), 2):
            if one in group and group[one] == group.get(other):
                message = (
                    f"circuits {shown(one)} and {shown(other)} must be apart at level {shown(bond.level)}, "
                    "and other rules keep them together there"
                )
                yield item.spot.fault("apart-and-together", message, _field(item, "separate_from"))


def _colours(draft: Draft) -> Iterator[PlacedFault]:
    for item in draft.wire_colours:
        pair = {item.value.colour, item.value.tracer}
        if pair == {"GN", "YE"}:
            message = f"{item.spot.subject} is green and yellow, which marks a protective conductor"
            known = "IEC 60445 keeps these two together for protective conductors"
            yield item.spot.fault("green-and-yellow", message, "tracer", known=known)
        if len(pair) == 1:
            message = f"{item.spot.subject} has a tracer of the colour of the wire, which nobody can see"
            yield item.spot.fault("tracer-unseen", message, "tracer", hint="leave the tracer out")


def _field(item: Item[Bond], column: str) -> str:
    return column if column in item.spot.raw else "circuits"


def _groups(draft: Draft, levels: tuple[str, ...]) -> dict[str, str]:
    """Return by circuit one that stands for all that bonds of these levels keep together with it."""
    leader: dict[str, str] = {}

    def lead(circuit: str) -> str:
        while leader.setdefault(circuit, circuit) != circuit:
            leader[circuit] = leader[leader[circuit]]  # halves the way for whoever comes next
            circuit = leader[circuit]
        return circuit

    for item in draft.rule_items("together"):
        if item.value.level in levels:
            first, *others = item.value.circuits
            for other in others:
                leader[lead(other)] = lead(first)
    return {circuit: lead(circuit) for circuit in list(leader)}
