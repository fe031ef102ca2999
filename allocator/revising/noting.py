"""
A plan as it is at the vehicle: the notes of what was done there, laid over the plan that the panel was built from.

Comes in as a plan with its sizing and notes; goes out as the plan with other places, fuses and wires, and requirements
that insist on what is really there, so that sizing and checker judge it. Nothing is searched.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from allocator.address import parse_place, parse_socket
from allocator.errors import Fault, InputError
from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.plan import Plan, UsedWay
from allocator.requirements.catalogue import FuseFormat
from allocator.requirements.places import Item
from allocator.requirements.reading import requirements_from_json, requirements_to_json
from allocator.requirements.scenario import Requirements
from allocator.requirements.vehicle_notes import VehicleNote
from allocator.revising.laying import NOTED, NotedVehicle, insist, lay
from allocator.revising.left_behind import left_behind
from allocator.sizing.offer import Offer
from allocator.sizing.size import size
from allocator.sizing.sized import Option, Sized


def as_noted(plan: Plan, sized: Sized, notes: Sequence[Item[VehicleNote]]) -> tuple[Plan, Sized]:
    """
    Return the plan as it is after what was done at the vehicle, with its sizing.

    Parameters
    ----------
    plan, sized
        The plan that the panel was built from, and the sizing of its requirements.
    notes
        What was done, first one first, each with its row.

    Returns
    -------
    tuple
        The plan, and its sizing. Fuse and wire of every circuit that a note names are insisted on as they are, so that
        sizing refuses what does not go together and the checker finds the rest. A way that a circuit left is a spare
        way from then on, for its strip piece still feeds it.

    Raises
    ------
    InputError
        If a note names what is not there, or fuse, wire and load of a circuit do not go together any more.
    """
    vehicle = NotedVehicle(
        sized,
        {circuit.id: circuit.model_dump(mode="json") for circuit in plan.requirements.circuits},
        {way.need: way for way in plan.ways},
        {socket.need: socket for socket in plan.sockets},
    )
    index = PlanIndex(sized, plan)
    for item in notes:
        lay(vehicle, index, item.value, item.spot)
    if vehicle.faults:
        raise InputError(vehicle.faults)
    data = requirements_to_json(plan.requirements)
    data["circuits"] = list(vehicle.circuits.values())
    rules = data["scenario"]["rules"]
    rules["spares"] = vehicle.ask_for_spares(rules["spares"])
    rules["apart"], rules["together"] = vehicle.bonds(rules["apart"]), vehicle.bonds(rules["together"])

    def stated() -> Requirements:
        return requirements_from_json(data, NOTED).said_elsewhere(vehicle.elsewhere)

    requirements = stated()
    try:
        sized_now = size(requirements)
    except InputError:
        # Most often the same is refused of the formats of their ways alone, and then that is what to tell.
        formats = {name: _format_at(index, vehicle.ways[name]) for name in vehicle.noted}
        data["circuits"] = [
            row | {"fuse_format": row.get("fuse_format") or formats.get(row["id"])} for row in data["circuits"]
        ]
        size(stated())
        raise

    if stale := list(_sized_otherwise(vehicle, index, sized_now)):
        for name in stale:
            insist(vehicle, index, name)
        requirements = stated()
        sized_now = size(requirements)

    def option_now(item: NeedAt) -> Option | None:
        need, way = sized_now.need_by_id.get(item.need.id), vehicle.ways.get(item.need.id)
        if need is None or need.kind == "spare":
            return None
        return need.options[0] if way is None else _option_of(vehicle, index, sized_now, way)

    faults = [
        *_no_such_fuse(vehicle, index, sized_now),
        *left_behind(index, Offer(requirements), option_now, vehicle.rewired, vehicle.where),
    ]
    if faults:
        raise InputError(faults)
    changed = plan.model_copy(
        update={
            "requirements": requirements,
            "ways": tuple(_as_sized(vehicle, index, sized_now, way) for way in vehicle.ways.values()),
            "sockets": tuple(vehicle.sockets.values()),
            "notes": (*plan.notes, *(item.value for item in notes)),
            "changes": (),
            "stays": None,
        }
    )
    return changed, sized_now


def _sized_otherwise(vehicle: NotedVehicle, index: PlanIndex, sized: Sized) -> Iterator[str]:
    """Yield circuits that nobody noted and whose fuse or wire would be another now: a coil on them came or went."""
    for way in vehicle.ways.values():
        if way.kind == "circuit" and way.need not in vehicle.noted:
            built, option = index.need_by_id[way.need].option, _option_of(vehicle, index, sized, way)
            there = (way.fuse, way.wire)
            if option is not None and there == (built.fuse, built.wire) and there != (option.fuse, option.wire):
                yield way.need


def _no_such_fuse(vehicle: NotedVehicle, index: PlanIndex, sized: Sized) -> Iterator[Fault]:
    """Yield a fault for every noted circuit whose way takes fuses of a type that has not got its rating."""
    for name in sorted(vehicle.noted & vehicle.ways.keys()):
        way, options = vehicle.ways[name], sized.need_by_id[name].options
        fuse_format, rating_a = _format_at(index, way), {option.fuse_rating_a for option in options}
        fitting = sorted(
            {fuse.rating for fuse in index.sized.requirements.catalogue.fuses if fuse.fuse_format == fuse_format}
        )
        if fitting and rating_a.isdisjoint(fitting):
            message = f"there is no fuse of {max(rating_a):g} A and type {fuse_format}, which {way.at} takes"
            known = "ratings of that type: " + ", ".join(f"{rating:g}" for rating in fitting) + " A"
            yield Fault("vehicle-note", message, vehicle.where(name), known, "note the fuse that is really there")


def _as_sized(vehicle: NotedVehicle, index: PlanIndex, sized: Sized, way: UsedWay) -> UsedWay:
    """Return the way of a circuit that was noted with the fuse and wire of its place; another way as it is."""
    option = _option_of(vehicle, index, sized, way) if way.need in vehicle.noted else None
    return way if option is None else way.model_copy(update={"fuse": option.fuse, "wire": option.wire})


def _option_of(vehicle: NotedVehicle, index: PlanIndex, sized: Sized, way: UsedWay) -> Option | None:
    """Return what sizing has for a circuit or branch in its way and socket of now; None where it has nothing."""
    panel, fuse_format, socket = parse_place(way.at).panel, _format_at(index, way), vehicle.sockets.get(way.need)
    relay_class = None
    if socket is not None:
        at = parse_socket(socket.at)
        holder = index.module_by_bay.get((at.panel, at.bay))
        relay_class = holder.sockets[at.socket - 1] if holder and at.socket <= len(holder.sockets) else None
    key = (panel, fuse_format, relay_class)
    options = sized.need_by_id[way.need].options
    return next((item for item in options if (item.panel, item.fuse_format, item.relay_class) == key), None)


def _format_at(index: PlanIndex, way: UsedWay) -> FuseFormat | None:
    """Return the fuse format of a way; None where no module has it."""
    place = parse_place(way.at)
    module = index.module_by_bay.get((place.panel, place.bay or 0))
    if module is None or place.row is None or place.row >= len(module.module.rows):
        return None
    return module.module.rows[place.row].fuse_format
