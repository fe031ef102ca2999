"""
A panel small enough to be added up on paper, with its sizing table written by hand: no sum of ``sizing/`` is in it.

Six feed entries: four tails of ``main`` with a fuse each, ``aux`` straight into a relay socket, ``sub`` behind that
relay.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from allocator.plan.plan import Piece, PlacedCarrier, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.scenario import Circuit, Requirements, Scenario
from allocator.sizing.sized import Cut, Entry, MainFuse, Need, Option, Sized, SizedFeed
from tests.plan.tails import with_tail_fuses
from tests.verifying.hand_built import state_goals


def _part(name: str, price: str, **fields: Any) -> dict[str, Any]:
    return {"id": name, "label": name, "price": price} | fields


def _row(ways: int, bus: str) -> dict[str, Any]:
    return {"ways": ways, "fuse_format": "C", "bus": bus, "tab": "6.3 mm", "strip": "s" if bus == "strip" else None}


_PER = ("carrier", "bay", "empty-bay", "module", "row", "socket", "relay", "unused-cavity", "feed-tail")
_WIDE = {"smallest_wire": "1 mm2", "largest_wire": "50 mm2", "limit": "200 A"}
_CONTACTS = dict.fromkeys(("resistive", "lamp", "motor", "inductive"), "50 A")
_MAKE = dict.fromkeys(("30", "87", "85", "86"), "6.3 mm")

CATALOGUE = {
    "name": "paper",
    "notice": "invented",
    "currency": "EUR",
    "tail_length": "0.4 m",
    "short_jumper": "0.1 m",
    "long_jumper": "0.5 m",
    "modules": [
        _part("m", "10.00", rows=[_row(3, "strip")], sockets=[{"relay_class": "micro", "count": 1}]),
        _part("n", "20.00", rows=[_row(2, "single"), _row(2, "stud")], stud="M8"),
    ],
    "carriers": [
        _part("c3", "30.00", bays=3, width="100.5 mm", height="80 mm"),
        _part("c1", "11.00", bays=1, width="40 mm", height="80 mm"),
    ],
    "strips": [_part("s", "7.00", ways=20, limit="60 A", inlet_tab="6.3 mm")],
    "fuses": [
        _part("f", "1.00", fuse_format="C", rating="20 A", voltage="32 V", breaking_capacity="1000 A"),
        _part("m100", "2.50", fuse_format="SF30", rating="100 A", voltage="32 V", breaking_capacity="2000 A"),
        _part("m60", "2.00", fuse_format="SF30", rating="60 A", voltage="32 V", breaking_capacity="2000 A"),
        _part("tf", "0.50", fuse_format="E", rating="40 A", voltage="32 V", breaking_capacity="1000 A"),
    ],
    "relays": [_part("r", "2.00", relay_class="micro", function="make", voltage="12 V", coil="140 ohm", **_CONTACTS)],
    "relay_tabs": [
        {"relay_class": "micro", "function": "make", "tabs": _MAKE},
        {"relay_class": "micro", "function": "changeover", "tabs": _MAKE | {"87a": "6.3 mm"}},
    ],
    "terminals": [
        _part("tab", "0.10", kind="tab", tab="6.3 mm", **_WIDE),
        _part("inlet", "0.20", kind="inlet", tab="6.3 mm", **_WIDE),
        _part("ring", "0.30", kind="ring", stud="M8", **_WIDE),
        _part("big-ring", "0.40", kind="ring", stud="M8", **_WIDE),
    ],
    "wires": [_part("w", "1.00", area="6 mm2"), _part("cable", "4.00", area="25 mm2")],
    "studs": [_part("post", "5.00", size="M8", limit="150 A", stack=4)],
    "holders": [_part("holder", "3.00", fuse_format="E", limit="60 A")],
    "main_holders": [_part("mh", "6.00", fuse_format="SF30", limit="200 A", stud="M8", stack=3)],
    "accessories": [_part(name, f"0.0{count}", per=name, quantity=count) for count, name in enumerate(_PER, 1)],
}

SCENARIO = {
    "vehicle": {"name": "paper", "nominal_voltage": "12 V", "operating_voltage": "14 V", "minimum_voltage": "11 V"},
    "supply": {"charger_rating": "80 A", "battery_capacity": "100 Ah", "fault_current": "900 A"},
    "panels": [
        {"name": name, "ambient": "30 degC", "max_bays": 3, "supply_distance": distance}
        for name, distance in (("one", "2 m"), ("two", "3.2 m"), ("three", "4 m"))
    ],
    "feeds": [
        {"name": "main", "kind": "permanent", "rating": "100 A", "tail_fuse": "40 A", "panels": ["one"]},
        {"name": "aux", "kind": "permanent", "rating": "60 A", "main_fuse_distance": "0.2 m"},
        {"name": "sub", "kind": "switched", "rating": "50 A", "source": "aux", "relay_class": "micro", "home": "two"},
    ],
    "load_cases": [{"name": name, "engine_running": True, "hours": "1 h"} for name in ("day", "night")],
    "rules": {"loading_factor": "100 %", "feed_loading": "80 %", "bundle_factor": "100 %"},
}  # fmt: skip

LOADS = {"a": (10, "day"), "b": (9, ""), "c": (8, ""), "d": (7, ""), "e": (5, "night")}


def _circuit(name: str, amperes: int, case: str) -> Circuit:
    feed = "sub" if name == "e" else "main"
    table = {"id": name, "label": name, "load": f"{amperes} A", "load_type": "resistive", "feeds": [feed]}
    return Circuit.model_validate(
        table
        | {
            "length": {"": "1 m"},
            "return_length": "0.25 m",
            "load_cases": [case] if case else [],
            "switching": "relay" if name == "a" else "none",
        }
    )


def _option(panel: str, *, way: bool, relay: bool) -> Option:
    places = [*(["way"] if way else []), *(_MAKE if relay else [])]
    return Option(
        panel=panel,
        fuse_format="C" if way else None,
        relay_class="micro" if relay else None,
        fuse="f" if way else None,
        fuse_rating_a=20.0 if way else 0.0,
        relay="r" if relay else None,
        wire="w" if way else None,
        wire_limit_a=60.0,
        jumper_wire="w" if way and relay else None,
        cavities=len(places),
        parts={"tab": len(places)} | ({"f": 1} if way else {}) | ({"r": 1} if relay else {}),
        wires=(
            *((Cut("w", 1000, "87" if relay else "way", "load"), Cut("w", 250, "", "return")) if way else ()),
            *((Cut("w", 100, "86", "own fuse way"),) if relay and way else ()),
        ),
        terminal_by_designation=dict.fromkeys(places, "tab"),
    )


def _need(name: str, amperes: int, case: str) -> Need:
    coil = 100 if name == "a" else 0
    by_case = tuple((amperes * 1000 + coil) * (case in ("", each)) for each in ("day", "night"))
    panel, feed = ("two", "sub") if name == "e" else ("one", "main")
    return Need(name, "circuit", name, (feed,), by_case, (_option(panel, way=True, relay=name == "a"),))


def paper_feed(name: str, rating_a: int, **fields: Any) -> SizedFeed:
    plain: dict[str, Any] = {
        "name": name,
        "source": None,
        "panels": ("one", "two", "three"),
        "rating_ma": rating_a * 1000,
        "allowed_ma": Fraction(rating_a * 800),
        "tail_protection_a": float(rating_a),
        "tail_wire": "w",
        "tail_fuse": None,
        "tail_holder": None,
        "cable_wire": "cable",
        "cable_mm_by_panel": {"one": 2000, "two": 3000, "three": 4000},
        "stud": "post",
        "stud_stack": 4,
        "tail_ring": "ring",
        "cable_ring": "big-ring",
    }
    return SizedFeed(**(plain | fields))


def paper() -> tuple[Sized, Plan]:
    """Return the panel of these tests: what it is built from is counted in the tests, line by line."""
    requirements = Requirements(
        scenario=Scenario.model_validate(SCENARIO),
        circuits=tuple(_circuit(name, *load) for name, load in LOADS.items()),
        catalogue=Catalogue.model_validate(CATALOGUE),
    )
    sub = Need("sub", "feed", "sub", ("aux",), (100, 100), (_option("two", way=False, relay=True),), "sub", False)
    terminals = {("m", 0): "inlet", ("n", 0): "tab", ("n", 1): "ring"}
    feeds = {
        "main": paper_feed(
            "main",
            100,
            tail_fuse="tf",
            tail_holder="holder",
            tail_protection_a=40.0,
            main=MainFuse("m100", "mh", "big-ring", 0, ()),
        ),
        "aux": paper_feed("aux", 60, main=MainFuse("m60", "mh", "big-ring", 200, ("big-ring", "big-ring"))),
        "sub": paper_feed("sub", 50, source="aux", cable_wire="w", cable_mm_by_panel={"two": 400}, cable_ring=None),
    }
    sized = Sized(
        requirements=requirements,
        needs=(*(_need(name, *load) for name, load in LOADS.items()), sub),
        feeds=feeds,
        entries={
            (panel, module, group, feed): Entry(40_000, terminal)
            for panel in ("one", "two")
            for (module, group), terminal in terminals.items()
            for feed in feeds
        },
        row_limit_ma={},
        module_limit_ma={},
    )
    plan = Plan(
        allocator_version="0",
        solver_version="none",
        depends_on_time=False,
        requirements=requirements,
        carriers=(
            PlacedCarrier(panel="one", carrier="c3", first_bay=1),
            PlacedCarrier(panel="two", carrier="c1", first_bay=1),
        ),
        modules=(
            PlacedModule(at="one/1", module="m"),
            PlacedModule(at="one/2", module="n"),
            PlacedModule(at="two/1", module="m"),
        ),
        ways=tuple(
            UsedWay(at=at, kind="circuit", need=need, feed=feed, fuse="f", wire="w")
            for at, need, feed in (
                ("one/1/A/1", "a", "main"),
                ("one/1/A/2", "b", "main"),
                ("one/2/A/1", "c", "main"),
                ("one/2/B/2", "d", "main"),
                ("two/1/A/3", "e", "sub"),
            )
        ),
        sockets=(
            UsedSocket(at="one/1/S1", kind="circuit", need="a", relay="r"),
            UsedSocket(at="two/1/S1", kind="feed", need="sub", relay="r"),
        ),
        pieces=tuple(
            Piece(at=at, kind=kind, feed=feed)
            for at, kind, feed in (
                ("one/1/A/1-1", "strip", "main"),
                ("one/1/A/2-2", "strip", "main"),
                ("one/2/A/1", "single", "main"),
                ("one/2/stud", "stud", "main"),
                ("two/1/S1", "socket", "aux"),
                ("two/1/A/3-3", "strip", "sub"),
            )
        ),
        goals=(),
    )
    return sized, state_goals(sized, with_tail_fuses(sized, plan))
