"""
The vehicles of a fleet, read and sized, with how each is ordered.

Comes in as a fleet file; goes out as members, or as one ``InputError`` with the faults of every vehicle. All vehicles
share one catalogue, because a shelf does: only stock on hand may differ, and the fleet's counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from allocator.errors import Fault, InputError
from allocator.plan.files import read_plan
from allocator.plan.plan import Plan
from allocator.requirements.catalogue import Catalogue, Part
from allocator.requirements.fleet import Fleet, FleetVehicle
from allocator.requirements.fleet_reading import FleetFile, inside
from allocator.requirements.reading import load_scenario
from allocator.requirements.scenario import ModuleLimit
from allocator.sizing.size import size
from allocator.sizing.sized import Sized
from allocator.stocking.demand import DAYS_PER_MONTH, OrderProcess
from allocator.verifying import verify

NO_LIMIT = 1000
"""Modules of one type that no panel holds."""


@dataclass(frozen=True)
class Member:
    """A vehicle of the fleet; ``plan`` where it is built by one that is given."""

    name: str
    sized: Sized
    process: OrderProcess
    plan: Plan | None = None


def members_of(file: FleetFile) -> tuple[Member, ...]:
    """
    Read and size every vehicle of a fleet.

    Raises
    ------
    InputError
        With every fault of every vehicle.
    """
    found, faults = [], list[Fault]()
    for number, vehicle in enumerate(file.fleet.vehicles, 1):
        try:
            found.append(_member(file, vehicle, f"[[vehicles]] no. {number}"))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(dict.fromkeys(faults))
    return tuple(found)


def _member(file: FleetFile, vehicle: FleetVehicle, place: str) -> Member:
    field = "scenario" if vehicle.scenario is not None else "plan"
    path = inside(file.folder, getattr(vehicle, field), f'{place} "{vehicle.name}", field "{field}"')
    plan = read_plan(path) if vehicle.plan is not None else None
    requirements = load_scenario(path) if plan is None else plan.requirements
    if _bare(requirements.catalogue) != _bare(file.catalogue):
        message = f'the catalogue of vehicle "{vehicle.name}" is not the fleet\'s'
        known = "expected the same parts and prices; only stock and offcuts may differ"
        hint = 'name its catalogue in the field "catalogue" of the fleet'
        raise InputError([Fault("other-catalogue", message, path.as_posix(), known, hint)])
    requirements = requirements.model_copy(update={"catalogue": file.catalogue})
    sized = size(requirements)
    if plan is not None:
        plan = plan.model_copy(update={"requirements": requirements})
        _refuse_broken(vehicle.name, sized, plan, path.as_posix())
    if file.fleet.modules:
        sized = limited(sized, dict.fromkeys(file.fleet.modules, NO_LIMIT), requirements.scenario.rules.objective)
    return Member(vehicle.name, sized, process_of(file.fleet, vehicle), plan)


def _refuse_broken(name: str, sized: Sized, plan: Plan, where: str) -> None:
    findings = verify(sized, plan)
    if findings:
        message = f'the plan of vehicle "{name}" does not keep its requirements: {findings[0].rule}'
        raise InputError([Fault("plan-not-kept", message, where, hint="see what allocator verify finds")])


def _bare(catalogue: Catalogue) -> Catalogue:
    """Return a catalogue without what changes from day to day."""
    update: dict[str, object] = {}
    for name in Catalogue.model_fields:
        table = getattr(catalogue, name)
        if isinstance(table, tuple) and table and isinstance(table[0], Part):
            update[name] = tuple(
                part.model_copy(update={"stock": None} | ({"offcuts": ()} if hasattr(part, "offcuts") else {}))
                for part in table
            )
    return catalogue.model_copy(update=update)


def process_of(fleet: Fleet, vehicle: FleetVehicle) -> OrderProcess:
    """
    Return how a vehicle is ordered: as the fleet file expects, and what it leaves open as its record says.

    Every order of the record counts alike; a month is a twelfth of 365 days.
    """
    listed = [order.vehicles for order in fleet.orders if order.vehicle == vehicle.name and not order.open]
    sizes: Sequence[int] = vehicle.order_sizes or listed or (1,)
    shares = {number: Fraction(count, len(sizes)) for number, count in sorted(Counter(sizes).items())}
    if vehicle.orders_per_month is not None:
        return OrderProcess(vehicle.orders_per_month, shares)
    if fleet.record is None:
        raise ValueError(f"vehicle {vehicle.name} has no record, and validation let it pass")
    days = (date.fromisoformat(fleet.record.last) - date.fromisoformat(fleet.record.first)).days + 1
    return OrderProcess(len(listed) * DAYS_PER_MONTH / days, shares)


def limited(sized: Sized, modules: Mapping[str, int], goals: Sequence[object]) -> Sized:
    """
    Return a vehicle that may have so many modules of each type and no others, with other goals.

    Sizing is about circuits and the parts on offer to them, which module limits do not touch.
    """
    requirements = sized.requirements
    written = {limit.module: limit.most for limit in requirements.scenario.rules.modules}
    limits = tuple(
        ModuleLimit(module=module.id, most=min(modules.get(module.id, 0), written.get(module.id, NO_LIMIT)))
        for module in requirements.catalogue.modules
    )
    return sized.under_rules(objective=tuple(goals), modules=limits)
