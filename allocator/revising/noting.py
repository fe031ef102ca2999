"""
A plan as it is at the vehicle: the notes of what was done there, laid over the plan that the panel was built from.

Comes in as a plan with its sizing and notes; goes out as the plan with other places, fuses and wires, and requirements
that insist on what is really there, so that sizing and checker judge it. Nothing is searched.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from allocator.address import Place, parse_place, parse_socket
from allocator.errors import Fault, InputError
from allocator.plan.index import NeedAt, PlanIndex
from allocator.plan.plan import Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import FuseFormat
from allocator.requirements.places import Item, Spot, did_you_mean
from allocator.requirements.reading import requirements_from_json, requirements_to_json
from allocator.requirements.vehicle_notes import VehicleNote
from allocator.revising.left_behind import left_behind
from allocator.sizing.size import size
from allocator.sizing.sized import Option, Sized

NOTED = "the plan with its notes"
"""Where faults of the requirements are said to be."""


@dataclass
class _Vehicle:
    """The plan in the making: what is where, and what is insisted on."""

    sized: Sized
    circuits: dict[str, dict[str, Any]]
    ways: dict[str, UsedWay]
    sockets: dict[str, UsedSocket]
    left: dict[str, dict[str, Any]] = field(default_factory=dict)
    """Spare ways where circuits left a strip piece, by the address of the way."""
    faults: list[Fault] = field(default_factory=list)
    noted: set[str] = field(default_factory=set)
    rewired: set[str] = field(default_factory=set)
    """Circuits that have another load wire."""
    last_noted: dict[str, Spot] = field(default_factory=dict)
    """The last note on each circuit."""

    def where(self, need: str) -> str:
        """Return the note that changed a need last, or the circuit that switches it; the whole where none did."""
        name: str | None = need
        while name is not None and name not in self.last_noted:
            name = self.circuits.get(name, {}).get("control")
        return NOTED if name is None else self.last_noted[name].where("value")

    def refuse(self, spot: Spot, message: str, field: str, *, known: str = "", hint: str = "") -> None:
        """Keep what is wrong with a field of a note."""
        self.faults.append(spot.fault("vehicle-note", message, field, known=known, hint=hint).fault)


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
    vehicle = _Vehicle(
        sized,
        {circuit.id: circuit.model_dump(mode="json") for circuit in plan.requirements.circuits},
        {way.need: way for way in plan.ways},
        {socket.need: socket for socket in plan.sockets},
    )
    index = PlanIndex(sized, plan)
    for item in notes:
        _lay(vehicle, index, item.value, item.spot)
        vehicle.last_noted[item.value.circuit] = item.spot
    if vehicle.faults:
        raise InputError(vehicle.faults)
    data = requirements_to_json(plan.requirements)
    data["circuits"] = list(vehicle.circuits.values())
    asked = data["scenario"]["rules"]["spares"]
    for number, at in enumerate(vehicle.left, len(asked) + 1):
        vehicle.ways[at] = vehicle.ways[at].model_copy(update={"need": f"spare-{number}-1"})
    data["scenario"]["rules"]["spares"] = [*asked, *vehicle.left.values()]
    requirements = requirements_from_json(data, NOTED)
    try:
        sized_now = size(requirements)
    except InputError:
        # Most often the same is refused of the formats of their ways alone, and then that is what to tell.
        formats = {name: _format_at(index, vehicle.ways[name]) for name in vehicle.noted}
        data["circuits"] = [
            row | {"fuse_format": row.get("fuse_format") or formats.get(row["id"])} for row in data["circuits"]
        ]
        size(requirements_from_json(data, NOTED))
        raise

    def option_now(item: NeedAt) -> Option | None:
        need, way = sized_now.need_by_id.get(item.need.id), vehicle.ways.get(item.need.id)
        if need is None or need.kind == "spare":
            return None
        return need.options[0] if way is None else _option_of(vehicle, index, sized_now, way)

    faults = list(left_behind(index, option_now, vehicle.rewired, vehicle.where))
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


def _as_sized(vehicle: _Vehicle, index: PlanIndex, sized: Sized, way: UsedWay) -> UsedWay:
    """Return the way of a circuit that was noted with the fuse and wire of its place; another way as it is."""
    option = _option_of(vehicle, index, sized, way) if way.need in vehicle.noted else None
    return way if option is None else way.model_copy(update={"fuse": option.fuse, "wire": option.wire})


def _option_of(vehicle: _Vehicle, index: PlanIndex, sized: Sized, way: UsedWay) -> Option | None:
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


def _lay(vehicle: _Vehicle, index: PlanIndex, note: VehicleNote, spot: Spot) -> None:
    """Lay one note over the vehicle; what it names and is not there is a fault."""
    circuit = vehicle.circuits.get(note.circuit)
    if note.what == "added":
        if circuit is not None:
            vehicle.refuse(spot, f'there is a circuit "{note.circuit}" already', "circuit")
        else:
            _add(vehicle, index, note, spot)
        return
    if circuit is None:
        hint = did_you_mean(note.circuit, vehicle.circuits)
        vehicle.refuse(spot, f'there is no circuit "{note.circuit}"', "circuit", hint=hint)
        return
    _insist(vehicle, index, note.circuit)
    if note.what == "way":
        _move(vehicle, index, note, spot)
    elif note.what == "socket":
        _replug(vehicle, note, spot)
    elif note.what == "fuse":
        circuit["fuse_rating"] = note.value
    elif note.what == "wire":
        circuit["wire"] = note.value
        vehicle.rewired.add(note.circuit)
    else:
        _remove(vehicle, index, note.circuit)


def _insist(vehicle: _Vehicle, index: PlanIndex, name: str) -> None:
    """Insist on fuse and wire as they are, before the first note on a circuit changes one of them."""
    if name in vehicle.noted or name not in index.need_by_id:
        return
    vehicle.noted.add(name)
    option, circuit = index.need_by_id[name].option, vehicle.circuits[name]
    if option.fuse is not None:
        circuit["fuse_rating"] = f"{option.fuse_rating_a:g} A"
    wire = next((w for w in vehicle.sized.requirements.catalogue.wires if w.id == option.wire), None)
    if wire is not None:
        circuit["wire"] = f"{wire.area!r} mm2"


def _held_by(vehicle: _Vehicle, place: Place) -> UsedWay | None:
    return next((way for way in vehicle.ways.values() if parse_place(way.at) == place), None)


def _read(vehicle: _Vehicle, text: str, spot: Spot) -> Place | None:
    try:
        place = parse_place(text)
    except ValueError as error:
        vehicle.refuse(spot, str(error), "value")
        return None
    if place.first is None or place.last is not None:
        vehicle.refuse(spot, f'"{text}" is no way', "value", known="expected a way such as cabin/2/A/3")
        return None
    return place


def _move(vehicle: _Vehicle, index: PlanIndex, note: VehicleNote, spot: Spot) -> None:
    place = _read(vehicle, note.value, spot)
    if place is None:
        return
    old, held = vehicle.ways[note.circuit], _held_by(vehicle, place)
    if held is not None and held.kind != "spare":
        vehicle.refuse(spot, f'the way holds "{held.need}"', "value", hint="note what left it first")
        return
    entry = index.entry_by_way.get(place)
    feed = entry.piece.feed if entry is not None else old.feed
    vehicle.ways[note.circuit] = old.model_copy(update={"at": str(place), "feed": feed})
    if held is not None and held.need in vehicle.left:
        del vehicle.ways[held.need], vehicle.left[held.need]
        _leave(vehicle, index, old)
    elif held is not None:
        vehicle.ways[held.need] = held.model_copy(update={"at": old.at, "feed": old.feed})
    else:
        _leave(vehicle, index, old)


def _leave(vehicle: _Vehicle, index: PlanIndex, old: UsedWay) -> None:
    """Make a way that was left a spare one: its strip piece still feeds it; a way that is fed alone is just free."""
    place = parse_place(old.at)
    entry = index.entry_by_way.get(place)
    if entry is None or entry.piece.kind != "strip" or place.row is None:
        return
    fuse_format = entry.at.module.rows[place.row].fuse_format
    vehicle.left[old.at] = {"fuse_format": fuse_format, "count": 1, "feed": old.feed, "panel": place.panel}
    vehicle.ways[old.at] = UsedWay(at=old.at, kind="spare", need=old.at, feed=old.feed, fuse=None, wire=None)


def _replug(vehicle: _Vehicle, note: VehicleNote, spot: Spot) -> None:
    socket = vehicle.sockets.get(note.circuit)
    if socket is None:
        vehicle.refuse(spot, "the circuit has no relay", "circuit")
    elif any(other.at == note.value for name, other in vehicle.sockets.items() if name != note.circuit):
        vehicle.refuse(spot, "the socket holds another relay", "value", hint="note what left it first")
    else:
        vehicle.sockets[note.circuit] = socket.model_copy(update={"at": note.value})


def _remove(vehicle: _Vehicle, index: PlanIndex, name: str) -> None:
    del vehicle.circuits[name]
    vehicle.sockets.pop(name, None)
    vehicle.noted.discard(name)
    _leave(vehicle, index, vehicle.ways.pop(name))


def _add(vehicle: _Vehicle, index: PlanIndex, note: VehicleNote, spot: Spot) -> None:
    at, load, load_type, length, wire, fuse = note.items
    place = _read(vehicle, at, spot)
    if place is None:
        return
    held, entry = _held_by(vehicle, place), index.entry_by_way.get(place)
    if held is not None and held.kind != "spare":
        vehicle.refuse(spot, f'the way holds "{held.need}"', "value", hint="note what left it first")
        return
    if entry is None:
        vehicle.refuse(spot, "no feed comes to that way", "value", known="expected a way under a strip piece")
        return
    feed = entry.piece.feed
    row = {
        "id": note.circuit, "label": note.remark or note.circuit, "load": load, "load_type": load_type,
        "feeds": [feed], "length": {"": length}, "wire": wire, "fuse_rating": fuse,
    }  # fmt: skip
    vehicle.circuits[note.circuit] = row
    if held is not None:
        del vehicle.ways[held.need]
        vehicle.left.pop(held.need, None)
    vehicle.ways[note.circuit] = UsedWay(
        at=str(place), kind="circuit", need=note.circuit, feed=feed, fuse=None, wire=None
    )
    vehicle.noted.add(note.circuit)
