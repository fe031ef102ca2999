"""
A fleet file in, a ``Fleet`` with its catalogue out; or one ``InputError`` with every fault of the file.

The vehicles that it names are files of their own, and are read by ``stocking/members.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Catalogue, parts_by_id
from allocator.requirements.checks.names import double_faults, unknown_fault
from allocator.requirements.documents import Document
from allocator.requirements.files import is_within, read_toml
from allocator.requirements.fleet import Fleet, FleetOrder, FleetVehicle, PartStock
from allocator.requirements.places import Item, PlacedFault, shown
from allocator.requirements.reading import load_catalogue

FLEET_FILE = "fleet.toml"


@dataclass(frozen=True, slots=True)
class FleetFile:
    """A fleet as read: its folder, its content, and the catalogue with the stock on hand."""

    folder: Path
    fleet: Fleet
    catalogue: Catalogue


def load_fleet(path: Path | str) -> FleetFile:
    """
    Read a fleet file.

    Parameters
    ----------
    path
        The file, or the folder that holds ``fleet.toml``.

    Raises
    ------
    InputError
        With every fault of the file and of its catalogue.
    """
    path = Path(path)
    path = path / FLEET_FILE if path.is_dir() else path
    raw = read_toml(path, path.as_posix())
    document = Document(path.as_posix(), 0)
    fleet = document.read(Fleet, raw)
    faults = [
        placed.fault for placed in sorted((*document.faults, *_faults(document)), key=lambda placed: placed.order)
    ]
    name = raw.get("catalogue")
    catalogue = None
    try:
        catalogue = load_catalogue(inside(path.parent, name, f'{path.as_posix()}, field "catalogue"') if name else None)
    except InputError as error:
        faults += error.faults
    if catalogue is not None:
        faults += [placed.fault for placed in _part_faults(document, catalogue)]
        known = [module.id for module in catalogue.modules]
        spot = document.spot("", "the file", raw)
        unknown = [name for name in (fleet.modules if fleet else ()) if name not in known]
        faults += [unknown_fault(spot, "modules", "module", name, known).fault for name in unknown]
    if faults or fleet is None or catalogue is None:
        raise InputError(dict.fromkeys(faults))
    return FleetFile(path.parent, fleet, catalogue)


def inside(folder: Path, name: object, where: str) -> Path:
    """Return a path within the fleet's folder; raise InputError for one outside."""
    if isinstance(name, str) and is_within(folder / name, folder):
        return folder / name
    known = "expected a name within the folder of the fleet file"
    raise InputError([Fault("outside-fleet", "it is outside the fleet's folder", f"{where} = {shown(name)}", known)])


def _items(document: Document, table: str) -> list[Item[FleetVehicle]]:
    return document.items.get(table, [])


def _faults(document: Document) -> Iterator[PlacedFault]:
    vehicles = _items(document, "vehicles")
    yield from double_faults(vehicles, "name")
    yield from _order_faults(document)
    for item in vehicles:
        vehicle, spot = item.value, item.spot
        if (vehicle.scenario is None) == (vehicle.plan is None):
            many = "both a scenario and a plan" if vehicle.plan else "neither a scenario nor a plan"
            yield spot.fault("one-source", f"{spot.subject} has {many}", known="expected one of the two")
        yield from _demand_faults(document, item)
    yield from double_faults(document.items.get("stock.parts", []), "part")
    for part in document.items.get("stock.parts", []):
        yield from _break_faults(part)


def _demand_faults(document: Document, item: Item[FleetVehicle]) -> Iterator[PlacedFault]:
    """A vehicle whose orders nobody counted and nobody expects."""
    vehicle, spot = item.value, item.spot
    if vehicle.orders_per_month is not None or "orders" in document.broken or "orders" in document.lost:
        return
    orders = [order.value for order in document.items.get("orders", [])]
    if not any(order.vehicle == vehicle.name and not order.open for order in orders):
        message = f'{spot.subject} has neither "orders_per_month" nor orders of the record'
        hint = "write 0 for a vehicle that is no longer expected"
        yield spot.fault("no-demand", message, "orders_per_month", hint=hint)
    elif not document.items.get("record"):
        message = f'{spot.subject} is expected as the record says, and there is no table "record"'
        yield spot.fault("no-record", message, "orders_per_month", hint="give the first and the last day of the record")


def _order_faults(document: Document) -> Iterator[PlacedFault]:
    record = next((item.value for item in document.items.get("record", [])), None)
    if record is not None and date.fromisoformat(record.last) <= date.fromisoformat(record.first):
        spot = document.items["record"][0].spot
        yield spot.fault("record-order", "the record ends on or before its first day", "last")
        record = None
    names = document.names.get("vehicles", [])
    item: Item[FleetOrder]
    for item in document.items.get("orders", []):
        order, spot = item.value, item.spot
        if order.vehicle not in names:
            yield unknown_fault(spot, "vehicle", "vehicle", order.vehicle, names)
        if not order.open and record is not None and not record.first <= order.day <= record.last:
            known = f"the record is from {record.first} to {record.last}"
            yield spot.fault("outside-record", f"{spot.subject} is outside the record", "day", known=known)


def _break_faults(item: Item[PartStock]) -> Iterator[PlacedFault]:
    quantities = [step.quantity for step in item.value.price_breaks]
    if quantities != sorted(set(quantities)):
        message = f"the quantities in the price breaks of {item.spot.subject} do not rise"
        yield item.spot.fault("break-order", message, "price_breaks")


def _part_faults(document: Document, catalogue: Catalogue) -> Iterator[PlacedFault]:
    known = list(parts_by_id(catalogue))
    for item in document.items.get("stock.parts", []):
        if item.value.part not in known:
            yield unknown_fault(item.spot, "part", "part", item.value.part, known)
