"""
The catalogue and scenario tables of small test panels.

Comes in as specs; goes out as what the schema reads. Every part that must be there is, and costs nothing unless a test
says so.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

from allocator.requirements.quantities import Load
from allocator.requirements.scenario import Circuit
from tests.specs import LARGE_A, A, F, M, P

FORMATS = ("A", "C", "E", "F", "N", "P", "SF30", "SF51")
CLASSES = ("micro", "standard", "heavy")
RELAY_TABS = {
    "make": ("30", "85", "86", "87"),
    "changeover": ("30", "85", "86", "87", "87a"),
    "flasher": ("49", "49a", "31"),
}
"""Designations of a relay's tabs by its function."""


def money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"


def _row(text: str) -> dict[str, Any]:
    words = text.split()
    ways = "".join(itertools.takewhile(str.isdigit, words[0]))
    bus = words[1] if len(words) > 1 else "strip"
    table: dict[str, Any] = {"ways": int(ways), "fuse_format": words[0][len(ways) :], "bus": bus, "tab": "6.3 mm"}
    if len(words) > 2:
        table["limit"] = f"{words[2]} A"
    return table | ({"strip": "strip"} if bus == "strip" else {})


def _module(name: str, m: M) -> dict[str, Any]:
    rows = [_row(text) for text in m.rows]
    return {
        "id": name,
        "label": name,
        "price": money(m.price),
        "bays": m.bays,
        "stock": m.stock,
        "rows": rows,
        "sockets": [{"relay_class": name, "count": count} for name, count in m.sockets.items()],
        "limit": None if m.limit_a is None else f"{m.limit_a} A",
    } | ({"stud": "M6", "stud_limit": f"{m.stud_limit_a} A"} if any(row["bus"] == "stud" for row in rows) else {})


def catalogue_table(
    modules: Mapping[str, M],
    feeds: Mapping[str, F],
    carriers: Mapping[str, int],
    strip_limit_a: float,
    prices: Mapping[str, int],
    accessories: Sequence[Mapping[str, Any]],
    stud_stack: int,
    rating_a: int,
    coils: Mapping[str, int],
) -> dict[str, Any]:
    def part(name: str) -> dict[str, Any]:
        return {"id": name, "label": name, "price": money(prices.get(name, 0))}

    wire_range = {"smallest_wire": "0.5 mm2", "largest_wire": "120 mm2", "limit": f"{LARGE_A} A"}
    ratings_a = {feed.rating_a for feed in feeds.values()}
    limits_a = {strip_limit_a, *(m.stud_limit_a for m in modules.values())}
    contact = dict.fromkeys(("resistive", "lamp", "motor", "inductive"), f"{LARGE_A} A")
    return {
        "name": "test parts",
        "notice": "invented",
        "currency": "EUR",
        "modules": [_module(name, m) for name, m in modules.items()],
        "carriers": [
            part(name) | {"bays": bays, "width": f"{10 + 40 * bays} mm", "height": "100 mm"}
            for name, bays in carriers.items()
        ],
        "strips": [part("strip") | {"ways": 20, "limit": f"{strip_limit_a} A", "inlet_tab": "6.3 mm"}],
        "fuses": [
            part(f"fuse-{letter}")
            | {"fuse_format": letter, "rating": f"{rating_a} A", "voltage": "58 V", "breaking_capacity": "1000 A"}
            for letter in FORMATS
        ]
        + [part(tail_fuse_id(limit_a)) | _fuse("E", limit_a) for limit_a in sorted(limits_a)]
        + [part(main_fuse_id(rating_a)) | _fuse("SF51", rating_a) for rating_a in sorted(ratings_a)],
        "relays": [
            part(relay_id(name, function))
            | contact
            | {
                "relay_class": name,
                "function": function,
                "voltage": "12 V",
                "coil": f"{round(14000 / coils[name], 3) if coils[name] else 10**6} ohm",
            }
            for name in CLASSES
            for function in RELAY_TABS
        ],
        "relay_tabs": [
            {"relay_class": name, "function": function, "tabs": dict.fromkeys(designations, "6.3 mm")}
            for name in CLASSES
            for function, designations in RELAY_TABS.items()
        ],
        "terminals": [
            part("tab") | {"kind": "tab", "tab": "6.3 mm"} | wire_range,
            part("inlet") | {"kind": "inlet", "tab": "6.3 mm"} | wire_range,
            part("ring") | {"kind": "ring", "stud": "M6"} | wire_range,
        ],
        "wires": [part("wire") | {"area": "120 mm2"}],
        "studs": [part("stud") | {"size": "M6", "limit": f"{LARGE_A} A", "stack": stud_stack}],
        "holders": [
            part("holder") | {"fuse_format": "C", "limit": f"{LARGE_A} A"},
            part("tail-holder") | {"fuse_format": "E", "limit": f"{LARGE_A} A"},
        ],
        "main_holders": [
            part("main-holder") | {"fuse_format": "SF51", "limit": f"{LARGE_A} A", "stud": "M6", "stack": 8}
        ],
        "accessories": [part(str(table["id"])) | dict(table) for table in accessories],
    }


def tail_fuse_id(rating_a: float) -> str:
    """A type E fuse: at 20 degC it carries all of its rating, so that it takes nothing from a strip's limit."""
    return f"fuse-tail-{rating_a:g}"


def main_fuse_id(rating_a: float) -> str:
    """The main fuse of a root feed of that rating."""
    return f"fuse-main-{rating_a:g}"


def _fuse(letter: str, rating_a: float) -> dict[str, Any]:
    return {"fuse_format": letter, "rating": f"{rating_a} A", "voltage": "58 V", "breaking_capacity": "1000 A"}


def relay_id(relay_class: str, function: str) -> str:
    return f"relay-{relay_class}" if function == "make" else f"relay-{relay_class}-{function}"


def scenario_table(
    panels: Mapping[str, P], feeds: Mapping[str, F], cases: Sequence[str], rules: Mapping[str, Any], rating_a: int
) -> dict[str, Any]:
    volts = {"nominal_voltage": "12 V", "operating_voltage": "14 V", "minimum_voltage": "11 V"}
    return {
        "vehicle": {"name": "test"} | volts,
        "supply": {"charger_rating": "100 A", "battery_capacity": "100 Ah", "fault_current": "500 A"},
        "panels": [
            {"name": name, "ambient": "20 degC", "supply_distance": "1 m"}
            | {"max_bays": panel.max_bays, "carriers": panel.carriers}
            for name, panel in panels.items()
        ],
        "feeds": [feed_table(name, feed, rating_a) for name, feed in feeds.items()],
        "load_cases": [{"name": case, "engine_running": True, "hours": "1 h"} for case in cases],
        "rules": rules,
    }


def feed_table(name: str, feed: F, rating_a: int) -> dict[str, Any]:
    return {
        "name": name,
        "kind": feed.kind,
        "rating": f"{feed.rating_a} A",
        "source": feed.source,
        "fuse_format": feed.fuse,
        "relay_class": feed.relay,
        "control": feed.control,
        "home": feed.home,
        "panels": feed.panels,
        "tail_fuse": f"{rating_a} A" if feed.tail_fuse else None,
    }


def circuit_row(name: str, a: A, feeds: Mapping[str, F], panels: Mapping[str, P]) -> Circuit:
    return Circuit.model_validate(
        {
            "id": name,
            "label": name,
            "load": Load(f"{a.load_a} A"),
            "load_type": "resistive",
            "load_cases": a.cases,
            "feeds": a.feeds or tuple(feeds),
            "panels": a.panels,
            "switching": a.switching if a.relays else "none",
            "control": a.control,
            "length": dict.fromkeys(a.panels or panels, "0 m"),
            "key_out": a.key_out,
            "fuse_format": a.formats[0] if len(a.formats) == 1 else None,
            "relay_class": a.relays[0] if len(a.relays) == 1 else None,
            "pin": a.pin,
        }
    )
