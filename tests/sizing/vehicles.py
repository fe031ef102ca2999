"""A plain vehicle and a small catalogue for tests of the sums: change what the test is about, keep the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from allocator.errors import Fault, InputError
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.scenario import Circuit, Requirements, Scenario
from allocator.sizing import Sized, size
from allocator.sizing.sized import Need, Option

Table = Mapping[str, Any]

C_RATINGS = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)
F_RATINGS = (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30)
E_RATINGS = (20, 30, 40, 50, 60, 70, 80, 100)
MAIN_RATINGS = (*range(5, 100, 5), *range(100, 501, 10))
"""Of main fuses, which any net may have here: what a test is about is what stands behind them."""
AREAS = (0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50)


def part(name: str, **fields: Any) -> dict[str, Any]:
    """A catalogue part at a price of 1.00."""
    return {"id": name, "label": name, "price": "1.00"} | fields


def fuse(letter: str, rating: float, voltage: int = 32, breaking: int = 1000) -> dict[str, Any]:
    return part(
        f"{letter}{rating:g}" + (f"-{voltage}V" if voltage != 32 else ""),
        fuse_format=letter,
        rating=f"{rating} A",
        voltage=f"{voltage} V",
        breaking_capacity=f"{breaking} A",
    )


def relay(name: str, relay_class: str, function: str = "make", **fields: Any) -> dict[str, Any]:
    ratings = {"resistive": "40 A", "lamp": "23 A", "motor": "24 A", "inductive": "20 A"}
    return (
        part(name, relay_class=relay_class, function=function, voltage="12 V", coil="80 ohm", suppressed=True)
        | ratings
        | fields
    )


def terminal(kind: str, size: float | str, smallest: float, largest: float, limit: float) -> dict[str, Any]:
    place = {"stud": size} if kind == "ring" else {"tab": f"{size} mm"}
    return part(
        f"{kind}-{size}-{largest:g}",
        kind=kind,
        smallest_wire=f"{smallest} mm2",
        largest_wire=f"{largest} mm2",
        limit=f"{limit} A",
        **place,
    )


def row(letter: str, ways: int = 8, tab: float = 6.3, bus: str = "strip", **fields: Any) -> dict[str, Any]:
    strip = {"strip": "strip"} if bus == "strip" else {}
    return {"ways": ways, "fuse_format": letter, "bus": bus, "tab": f"{tab} mm"} | strip | fields


def wire(area: float, insulation: int = 105) -> dict[str, Any]:
    return part(f"w{area:g}", area=f"{area} mm2", insulation=f"{insulation} degC")


def catalogue_table() -> dict[str, Any]:
    make = {"30": "6.3 mm", "87": "6.3 mm", "85": "4.8 mm", "86": "4.8 mm"}
    heavy = {"30": "9.5 mm", "87": "9.5 mm", "85": "6.3 mm", "86": "6.3 mm"}
    sockets = [{"relay_class": name, "count": 2} for name in ("micro", "standard", "heavy")]
    return {
        "name": "Test range",
        "notice": "Invented.",
        "currency": "EUR",
        "modules": [
            part("row-c", rows=[row("C")], stated_ambient="125 degC"),
            part("row-f", rows=[row("F", tab=2.8)]),
            part("bus-e", rows=[row("E", 4, 9.5, "stud")], stud="M8", stud_limit="150 A"),
            part("single-c", rows=[row("C", 4, bus="single")]),
            part("sockets", sockets=sockets),
        ],
        "carriers": [part("frame-4", bays=4, width="200 mm", height="120 mm")],
        "strips": [part("strip", ways=20, limit="80 A", inlet_tab="9.5 mm", stated_ambient="125 degC")],
        "fuses": [
            *(fuse("C", rating) for rating in C_RATINGS),
            *(fuse("F", rating) for rating in F_RATINGS),
            *(fuse("E", rating) for rating in E_RATINGS),
            *(fuse("SF51", rating, 1000, 100_000) for rating in MAIN_RATINGS),
        ],
        "relays": [
            relay("micro", "micro", resistive="25 A", lamp="14 A", motor="15 A", inductive="12 A", coil="100 ohm"),
            relay("standard", "standard"),
            relay("heavy", "heavy", resistive="70 A", lamp="42 A", motor="44 A", inductive="38 A", coil="60 ohm"),
            relay("change", "standard", "changeover", break_share="75 %"),
            relay("flasher", "standard", "flasher", coil="1200 ohm"),
        ],
        "relay_tabs": [
            {"relay_class": "micro", "function": "make", "tabs": make},
            {"relay_class": "standard", "function": "make", "tabs": make},
            {"relay_class": "heavy", "function": "make", "tabs": heavy},
            {"relay_class": "standard", "function": "changeover", "tabs": make | {"87a": "6.3 mm"}},
            {
                "relay_class": "standard",
                "function": "flasher",
                "tabs": {"49": "6.3 mm", "49a": "6.3 mm", "31": "6.3 mm"},
            },
        ],
        "terminals": [
            terminal("tab", 2.8, 0.5, 2.5, 20),
            terminal("tab", 4.8, 0.5, 2.5, 20),
            terminal("tab", 6.3, 0.5, 1.5, 20),
            terminal("tab", 6.3, 1.5, 6, 40),
            terminal("tab", 9.5, 1, 6, 60),
            terminal("tab", 9.5, 4, 25, 110),
            terminal("inlet", 9.5, 1, 25, 100),
            terminal("ring", "M8", 1, 50, 250),
        ],
        "wires": [wire(area) for area in AREAS],
        "studs": [part("stud", size="M8", limit="200 A", stack=4)],
        "holders": [part("holder", fuse_format="F", limit="30 A")],
        "main_holders": [part("main", fuse_format="SF51", limit="500 A", stud="M8", stack=4)],
    }


def circuit(name: str = "lamp", **fields: Any) -> dict[str, Any]:
    length = fields.pop("length", "3 m")
    return {
        "id": name,
        "label": name,
        "load": "5 A",
        "load_type": "resistive",
        "feeds": ["battery"],
        "length": length if isinstance(length, dict) else {"": length},
    } | fields


def feed(name: str = "battery", **fields: Any) -> dict[str, Any]:
    return {"name": name, "kind": "permanent", "rating": "60 A"} | fields


def panel(name: str = "cabin", **fields: Any) -> dict[str, Any]:
    return {"name": name, "ambient": "30 degC", "max_bays": 8, "supply_distance": "2 m"} | fields


def requirements(
    *circuits: Table,
    feeds: Sequence[Table] = (feed(),),
    panels: Sequence[Table] = (panel(),),
    cases: Sequence[Table] = ({"name": "always", "engine_running": True, "hours": "1 h"},),
    vehicle: Table | None = None,
    supply: Table | None = None,
    rules: Table | None = None,
    catalogue: Table | None = None,
) -> Requirements:
    voltages = {"nominal_voltage": "12 V", "operating_voltage": "14 V", "minimum_voltage": "11 V"}
    source = {"charger_rating": "100 A", "battery_capacity": "100 Ah", "fault_current": "1000 A"}
    return Requirements(
        scenario=Scenario.model_validate(
            {
                "vehicle": {"name": "Test vehicle"} | voltages | dict(vehicle or {}),
                "supply": source | dict(supply or {}),
                "panels": list(panels),
                "feeds": list(feeds),
                "load_cases": list(cases),
                "rules": dict(rules or {}),
            }
        ),
        circuits=tuple(Circuit.model_validate(item) for item in circuits or (circuit(),)),
        catalogue=Catalogue.model_validate(catalogue_table() | dict(catalogue or {})),
    )


def sized(*circuits: Table, **tables: Any) -> Sized:
    return size(requirements(*circuits, **tables))


def need(*circuits: Table, name: str | None = None, **tables: Any) -> Need:
    """Size, and return one need: the first circuit's unless named."""
    table = sized(*circuits, **tables)
    return table.need_by_id[name or (circuits[0]["id"] if circuits else "lamp")]


def option(*circuits: Table, name: str | None = None, fuse_format: str | None = "C", **tables: Any) -> Option:
    """Size, and return the only option of one need in a fuse format."""
    (found,) = [item for item in need(*circuits, name=name, **tables).options if item.fuse_format == fuse_format]
    return found


def faults(*circuits: Table, **tables: Any) -> tuple[Fault, ...]:
    """Size what cannot be sized, and return why."""
    try:
        size(requirements(*circuits, **tables))
    except InputError as error:
        return error.faults
    return ()


def reason(item: Option, step: str) -> str:
    return "; ".join(found.text for found in item.reasons if found.step == step)


def told(rule: str, *circuits: Table, **tables: Any) -> list[tuple[str, str]]:
    """Size, and return what one caution is about and its text, as often as it is given."""
    return [(item.about, item.text) for item in sized(*circuits, **tables).cautions if item.rule == rule]
