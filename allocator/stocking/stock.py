"""
The whole of a shelf: range, quantities, what to build today, what to buy when, what to cut.

Comes in as a fleet file with its members; goes out as a Stock, from which lists and charts are made.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from allocator.errors import CannotBeMet
from allocator.plan.plan import Plan
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.fleet import Fleet
from allocator.requirements.fleet_reading import FleetFile
from allocator.sizing.sized import Sized
from allocator.solving.allocate import search_plan
from allocator.solving.engine import Clock
from allocator.stocking.book_cuts import BookCut, book_cuts
from allocator.stocking.building import Buildable, OrderBook, Shelf
from allocator.stocking.buying import Purchase, Rhythm, calendar, rhythm
from allocator.stocking.curve import Range
from allocator.stocking.members import NO_LIMIT, Member, limited
from allocator.stocking.range import search_range
from allocator.stocking.shelf import ServicePoint, ShelfLine, demand_by_part, service_curve, shelf_lines
from allocator.stocking.spreading import Submit, spread
from allocator.stocking.takes import Takes

SERVICE_LEVELS = (50.0, 60.0, 70.0, 80.0, 85.0, 90.0, 93.0, 95.0, 97.0, 98.0, 99.0, 99.5, 99.9)


@dataclass(frozen=True)
class Stock:
    """
    All that is known of a fleet's shelf.

    Attributes
    ----------
    kept
        Module types that the vehicles are planned with.
    takes
        What one of each vehicle takes, with its plan.
    service
        Money on the shelf by service level, the same for all parts.
    """

    fleet: Fleet
    catalogue: Catalogue
    members: tuple[Member, ...]
    range: Range
    kept: tuple[str, ...]
    takes: Mapping[str, Takes]
    lines: tuple[ShelfLine, ...]
    service: tuple[ServicePoint, ...]
    buildable: tuple[Buildable, ...]
    book: OrderBook
    purchases: tuple[Purchase, ...]
    rhythm: Rhythm | None
    cuts: tuple[BookCut, ...]

    @property
    def money_cents(self) -> float:
        """Money on the shelf on average, cents."""
        return sum(line.money_cents for line in self.lines)


def plan_stock(
    file: FleetFile,
    members: Sequence[Member],
    *,
    time_limit_s: float,
    plan_limit_s: float,
    submit: Submit | None = None,
    stop: threading.Event | None = None,
    progress: Callable[[str], None] | None = None,
) -> Stock:
    """
    Work out range, quantities, orders and cuts of a fleet.

    Parameters
    ----------
    file, members
        The fleet and its vehicles.
    time_limit_s
        Wall time of the range.
    plan_limit_s
        Wall time of each plan.
    submit
        Gives out work on vehicles; none: all is done here.
    stop
        Set from outside to end early.
    progress
        Called with a line of text now and then.

    Raises
    ------
    CannotBeMet
        If a vehicle cannot be built.
    NoPlanInTime
        If a limit or an interrupt came before a vehicle had any plan.
    """
    fleet, catalogue = file.fleet, file.catalogue
    found = search_range(
        members, time_limit_s=time_limit_s, plan_limit_s=plan_limit_s, submit=submit, stop=stop, progress=progress
    )
    kept = None if fleet.module_types is None else found.best(fleet.module_types).kept
    clock = Clock(time.monotonic() + time_limit_s, progress=progress)
    clock.stop = stop or clock.stop
    takes = _takes(members, kept, plan_limit_s, clock, submit)
    demands = demand_by_part(members, {name: item.number_by_part for name, item in takes.items()}, catalogue)
    lines = shelf_lines(demands, catalogue, fleet.stock, progress)
    shelf = Shelf(catalogue)
    open_orders = [order for order in fleet.orders if order.open]
    used = {module.module for item in takes.values() for module in item.plan.modules}
    return Stock(
        fleet=fleet,
        catalogue=catalogue,
        members=tuple(members),
        range=found,
        kept=tuple(module.id for module in catalogue.modules if module.id in used),
        takes=takes,
        lines=lines,
        service=service_curve(demands, catalogue, fleet.stock, SERVICE_LEVELS),
        buildable=tuple(shelf.buildable(name, item) for name, item in takes.items()),
        book=shelf.order_book(fleet.orders, takes),
        purchases=calendar(fleet.orders, takes, catalogue, fleet.stock),
        rhythm=rhythm(lines, fleet.stock),
        cuts=book_cuts(open_orders, takes, catalogue, fleet.stock.usable_wire),
    )


def _takes(
    members: Sequence[Member], kept: Sequence[str] | None, plan_limit_s: float, clock: Clock, submit: Submit | None
) -> dict[str, Takes]:
    """Plan every vehicle that brings no plan, with the types that are kept and its own goals."""
    sized = {item.name: item.sized if kept is None else _with_types(item.sized, kept) for item in members}
    asked = [member.name for member in members if member.plan is None]
    found = spread(plan_of, [(sized[name], plan_limit_s) for name in asked], clock, submit, "vehicle")
    plans = {member.name: member.plan for member in members} | dict(zip(asked, found, strict=True))
    takes = {}
    for member in members:
        plan = plans[member.name]
        if not isinstance(plan, Plan):
            raise CannotBeMet([f"vehicle {member.name}: {reason}" for reason in plan or ()])
        takes[member.name] = Takes(member.sized if member.plan is not None else sized[member.name], plan)
    return takes


def plan_of(sized: Sized, time_limit_s: float) -> Plan | tuple[str, ...]:
    """Return the plan of one vehicle, or why there is none."""
    try:
        return search_plan(sized, time_limit_s=time_limit_s).plan
    except CannotBeMet as verdict:
        return verdict.reasons


def _with_types(sized: Sized, kept: Sequence[str]) -> Sized:
    rules = sized.requirements.scenario.rules
    return limited(sized, dict.fromkeys(kept, NO_LIMIT), rules.objective)
