"""
One note of what was done at the vehicle laid over the plan: other places, fuses and wires, circuits more or less.

Comes in as a note with its row and the vehicle in the making, which goes out changed; what a note names and is not
there is a fault of that row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from allocator.address import Place, parse_place, parse_socket
from allocator.errors import Fault
from allocator.plan.index import PlanIndex
from allocator.plan.plan import UsedSocket, UsedWay
from allocator.requirements.places import Spot, did_you_mean
from allocator.requirements.vehicle_notes import VehicleNote
from allocator.sizing.sized import Sized

NOTED = "the plan with its notes"
"""Where faults of the requirements are said to be."""


@dataclass
class NotedVehicle:
    """The plan in the making: what is where, and what is insisted on."""

    sized: Sized
    circuits: dict[str, dict[str, Any]]
    ways: dict[str, UsedWay]
    sockets: dict[str, UsedSocket]
    left: dict[str, dict[str, Any]] = field(default_factory=dict)
    """Spare ways where circuits left a strip piece, by the address of the way."""
    used_up: set[str] = field(default_factory=set)
    """Spare ways that were asked for, and hold a circuit that was added."""
    faults: list[Fault] = field(default_factory=list)
    noted: set[str] = field(default_factory=set)
    rewired: set[str] = field(default_factory=set)
    """Circuits that have another load wire."""
    last_noted: dict[str, Spot] = field(default_factory=dict)
    """The last note on each circuit."""
    elsewhere: dict[tuple[str, str, str], str] = field(default_factory=dict)
    """Where a note says a field, by table, circuit and field."""

    def ask_for_spares(self, asked: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
        """Return the rules on spare ways as they are now, and call spare ways after them: fewer, and those left."""
        rules: list[dict[str, Any]] = []
        for number, rule in enumerate(asked, 1):
            names = [f"spare-{number}-{item}" for item in range(1, rule["count"] + 1)]
            names = [name for name in names if name not in self.used_up]
            if names:
                rules.append({**rule, "count": len(names)})
            for item, name in enumerate(names, 1):
                self.ways[name] = self.ways[name].model_copy(update={"need": f"spare-{len(rules)}-{item}"})
        for at, rule in self.left.items():
            rules.append(rule)
            self.ways[at] = self.ways[at].model_copy(update={"need": f"spare-{len(rules)}-1"})
        return rules

    def bonds(self, bonds: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
        """Return bonds without circuits that are gone, those that still bind two."""
        there = ({**bond, "circuits": [name for name in bond["circuits"] if name in self.circuits]} for bond in bonds)
        return [bond for bond in there if len(bond["circuits"]) > 1]

    def where(self, need: str) -> str:
        """Return the note that changed a need last, or the circuit that switches it; the whole where none did."""
        name: str | None = need
        while name is not None and name not in self.last_noted:
            name = self.circuits.get(name, {}).get("control")
        return NOTED if name is None else self.last_noted[name].where("value")

    def refuse(self, spot: Spot, message: str, field: str, *, known: str = "", hint: str = "") -> None:
        """Keep what is wrong with a field of a note."""
        self.faults.append(spot.fault("vehicle-note", message, field, known=known, hint=hint).fault)


def lay(vehicle: NotedVehicle, index: PlanIndex, note: VehicleNote, spot: Spot) -> None:
    """Lay one note over the vehicle; what it names and is not there is a fault."""
    vehicle.last_noted[note.circuit] = spot
    vehicle.elsewhere |= {("circuits", note.circuit, name): spot.where("value") for name in note.fields}
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
    insist(vehicle, index, note.circuit)
    if note.what == "way":
        _move(vehicle, index, note, spot)
    elif note.what == "socket":
        _replug(vehicle, note, spot)
    elif note.what in ("fuse", "wire"):
        circuit |= note.fields
        vehicle.rewired |= {note.circuit} if note.what == "wire" else set()
    else:
        _remove(vehicle, index, note.circuit, spot)


def insist(vehicle: NotedVehicle, index: PlanIndex, name: str) -> None:
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


def _held_by(vehicle: NotedVehicle, place: Place) -> UsedWay | None:
    return next((way for way in vehicle.ways.values() if parse_place(way.at) == place), None)


def _way_for_another(vehicle: NotedVehicle, text: str, spot: Spot) -> Place | None:
    """Return a way that holds nothing, or is a spare one; None where a note names no such way, which is its fault."""
    try:
        place = parse_place(text)
    except ValueError as error:
        vehicle.refuse(spot, str(error), "value")
        return None
    if place.first is None or place.last is not None:
        vehicle.refuse(spot, f'"{text}" is no way', "value", known="expected a way such as cabin/2/A/3")
        return None
    held = _held_by(vehicle, place)
    if held is not None and held.kind != "spare":
        vehicle.refuse(spot, f'the way holds "{held.need}"', "value", hint="note what left it first")
        return None
    return place


def _move(vehicle: NotedVehicle, index: PlanIndex, note: VehicleNote, spot: Spot) -> None:
    place = _way_for_another(vehicle, note.value, spot)
    if place is None:
        return
    old, held = vehicle.ways[note.circuit], _held_by(vehicle, place)
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


def _leave(vehicle: NotedVehicle, index: PlanIndex, old: UsedWay) -> None:
    """Make a way that was left a spare one: its strip piece still feeds it; a way that is fed alone is just free."""
    place = parse_place(old.at)
    entry = index.entry_by_way.get(place)
    if entry is None or entry.piece.kind != "strip" or place.row is None:
        return
    fuse_format = entry.at.module.rows[place.row].fuse_format
    vehicle.left[old.at] = {"fuse_format": fuse_format, "count": 1, "feed": old.feed, "panel": place.panel}
    vehicle.ways[old.at] = UsedWay(at=old.at, kind="spare", need=old.at, feed=old.feed, fuse=None, wire=None)


def _replug(vehicle: NotedVehicle, note: VehicleNote, spot: Spot) -> None:
    socket = vehicle.sockets.get(note.circuit)
    if socket is None:
        vehicle.refuse(spot, "the circuit has no relay", "circuit")
        return
    try:
        place = parse_socket(note.value)
    except ValueError as error:
        vehicle.refuse(spot, str(error), "value")
        return
    if any(parse_socket(other.at) == place for name, other in vehicle.sockets.items() if name != note.circuit):
        vehicle.refuse(spot, "the socket holds another relay", "value", hint="note what left it first")
    else:
        vehicle.sockets[note.circuit] = socket.model_copy(update={"at": str(place)})


def _remove(vehicle: NotedVehicle, index: PlanIndex, name: str, spot: Spot) -> None:
    switched = [f'circuit "{other}"' for other, row in vehicle.circuits.items() if row.get("control") == name]
    switched += [f'feed "{feed.name}"' for feed in index.sized.requirements.scenario.feeds if feed.control == name]
    if switched:
        message = f"the circuit supplies the coil of {', '.join(switched)}"
        vehicle.refuse(spot, message, "circuit", hint="note first what became of that, or revise the panel")
        return
    del vehicle.circuits[name]
    vehicle.sockets.pop(name, None)
    vehicle.noted.discard(name)
    _leave(vehicle, index, vehicle.ways.pop(name))


def _add(vehicle: NotedVehicle, index: PlanIndex, note: VehicleNote, spot: Spot) -> None:
    place = _way_for_another(vehicle, note.way, spot)
    if place is None:
        return
    held, entry = _held_by(vehicle, place), index.entry_by_way.get(place)
    if entry is None:
        vehicle.refuse(spot, "no feed comes to that way", "value", known="expected a way under a strip piece")
        return
    feed = entry.piece.feed
    row = {"id": note.circuit, "label": note.remark or note.circuit, "feeds": [feed], **note.fields}
    vehicle.circuits[note.circuit] = row
    if held is not None:
        del vehicle.ways[held.need]
        vehicle.used_up |= {held.need} - vehicle.left.keys()
        vehicle.left.pop(held.need, None)
    vehicle.ways[note.circuit] = UsedWay(
        at=str(place), kind="circuit", need=note.circuit, feed=feed, fuse=None, wire=None
    )
    vehicle.noted.add(note.circuit)
