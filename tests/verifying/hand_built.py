"""
A whole vehicle by hand: requirements that use every feature, and the plan a person would draw for them.

Two panels; a feed with fuse and relay, one with a relay only, one with a fuse only, one with a fuse in each tail; a
module with a stud, one whose ways are fed singly, one of two bays; flasher, changeover and make relays; spares, pins, a
bond of each kind, circuits that work with the key out, limits on modules and stock, hot ways apart, relays beside large
fuses, and one strip piece for each feed and row.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from allocator.address import parse_place
from allocator.plan.plan import GoalResult, Piece, PlacedCarrier, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.scenario import DEFAULT_GOALS, Circuit, Requirements, Scenario
from allocator.sizing import size
from allocator.sizing.sized import Option, Sized
from allocator.verifying import goal_values
from tests.plan.tails import with_tail_fuses
from tests.verifying.hand_parts import Table, catalogue_table


def _branch(name: str, kind: str, rating: str, panel: str, **fields: Any) -> Table:
    branch = {"name": name, "kind": kind, "rating": rating, "source": "battery", "panels": [panel]}
    return branch | fields


FEEDS: list[Table] = [
    {"name": "battery", "kind": "permanent", "rating": "100 A", "tail_fuse": "60 A"},
    {"name": "ignition", "kind": "ignition", "rating": "60 A", "panels": ["cabin"]},
    _branch("lights", "switched", "40 A", "cabin", fuse_format="E", relay_class="heavy", control="light-switch"),
    _branch("deck", "switched", "50 A", "aft", relay_class="heavy", control="deck-switch", home="aft"),
    _branch("hold", "permanent", "30 A", "aft", fuse_format="E"),
]

RULES: Table = {
    "wire_system": "metric",
    "fuse_outlasts_start": True,
    "one_piece_per_feed_and_row": True,
    "use_stock": True,
    "hot_share": "50 %",
    "relay_beside_fuse_from": "20 A",
    "objective": [
        *DEFAULT_GOALS,
        {"goal": "carriers", "cap": 4},
        "footprint",
        "panels",
        "wire-length",
        "copper",
        "spare-ways",
    ],
    "modules": [{"module": "twin", "most": 3}],
    "spares": [
        {"fuse_format": "C", "count": 1, "feed": "ignition", "panel": "cabin", "reserve": "2 A"},
        {"fuse_format": "E", "count": 1},
    ],
    "apart": [
        {"circuits": ["dip-left", "dip-right"], "level": "feed"},
        {"circuits": ["dip-left", "dip-right"], "level": "row"},
        {"circuits": ["radio", "horn"], "level": "module"},
        {"circuits": ["radio", "pump-a"], "level": "panel"},
    ],
    "together": [
        {"circuits": ["wiper", "washer"], "level": "feed"},
        {"circuits": ["wiper", "washer"], "level": "row"},
        {"circuits": ["fan", "hazard"], "level": "module"},
        {"circuits": ["pump-a", "pump-b"], "level": "panel"},
    ],
}


def _circuit(name: str, load: str, load_type: str, feeds: str, **fields: Any) -> Table:
    table = {
        "id": name,
        "label": name,
        "load": load,
        "load_type": load_type,
        "feeds": feeds.split(),
        "length": {"": "2 m"},
    }
    return table | fields


CIRCUITS = [
    _circuit("radio", "36 W", "electronics", "ignition", panels=["cabin"], pin="cabin/4/B"),
    _circuit("horn", "8 A", "inductive", "battery", panels=["cabin"], load_cases=["road"])
    | {"switching": "relay", "relay_class": "micro"},
    _circuit("dip-left", "55 W", "filament-lamp", "battery lights", panels=["cabin"], load_cases=["road"]),
    _circuit("dip-right", "55 W", "filament-lamp", "battery lights", panels=["cabin"], load_cases=["road"]),
    _circuit("hazard", "4 x 21 W + 2 x 5 W", "filament-lamp", "battery ignition", switching="flasher", key_out=True),
    _circuit("fan", "10 A", "motor", "battery ignition", switching="changeover", panels=["cabin"], stall="35 A"),
    _circuit("light-switch", "0.5 A", "electronics", "ignition", panels=["cabin"]),
    _circuit("wiper", "96 W", "motor", "ignition", panels=["cabin"], load_cases=["road"]),
    _circuit("washer", "3 A", "motor", "ignition", panels=["cabin"], load_cases=["road"], stall="12 A"),
    _circuit("heater", "180 W", "heater", "battery", fuse_format="E", panels=["cabin"], load_cases=["road"]),
    _circuit("pump-a", "5 A", "motor", "hold battery"),
    _circuit("pump-b", "5 A", "motor", "hold battery", key_out=True, fuse_format="C", fuse_rating="10 A"),
    _circuit("deck-switch", "0.5 A", "electronics", "hold", panels=["aft"]),
    _circuit("deck-lamp", "3 x 20 W", "led", "deck", panels=["aft"]),
    _circuit("winch", "15 A", "resistive", "deck", panels=["aft"], wire="6 mm2", load_cases=["parked"])
    | {"length": {"": "4 m"}},
]


def scenario_table() -> Table:
    """Return the scenario as a file would hold it."""
    return {
        "vehicle": {"name": "test boat"}
        | {"nominal_voltage": "12 V", "operating_voltage": "14 V", "minimum_voltage": "11 V"},
        "supply": {"charger_rating": "80 A", "battery_capacity": "100 Ah", "fault_current": "900 A"},
        "panels": [
            {"name": "cabin", "ambient": "35 degC", "max_bays": 6, "supply_distance": "2 m"}
            | {"carriers": ["frame-2", "frame-4"]},
            {"name": "aft", "ambient": "50 degC", "max_bays": 3, "supply_distance": "4 m"},
        ],
        "feeds": FEEDS,
        "load_cases": [
            {"name": "road", "engine_running": True, "hours": "2 h"},
            {"name": "parked", "engine_running": False, "hours": "8 h"},
        ],
        "rules": RULES,
    }


def build_requirements(*, scenario: Table | None = None, catalogue: Table | None = None) -> Requirements:
    """Return the requirements, with whole tables of scenario or catalogue replaced where a test says so."""
    return Requirements(
        scenario=Scenario.model_validate(scenario_table() | (scenario or {})),
        circuits=tuple(Circuit.model_validate(row) for row in CIRCUITS),
        catalogue=Catalogue.model_validate(catalogue_table() | (catalogue or {})),
    )


CARRIERS = (("cabin", "frame-4", 1), ("cabin", "frame-2", 5), ("aft", "frame-2", 1), ("aft", "frame-1", 3))

PLACED = {
    "cabin/1": "wide",
    "cabin/3": "twin",
    "cabin/4": "twin",
    "cabin/5": "bus",
    "aft/1": "solo",
    "aft/2": "bus",
    "aft/3": "twin",
}

WAYS = (
    ("cabin/1/A/1", "circuit", "hazard", "battery"),
    ("cabin/1/A/2", "circuit", "fan", "battery"),
    ("cabin/3/A/1", "circuit", "horn", "battery"),
    ("cabin/3/A/2", "circuit", "dip-right", "battery"),
    ("cabin/3/B/1", "circuit", "dip-left", "lights"),
    ("cabin/4/B/1", "circuit", "radio", "ignition"),
    ("cabin/4/B/2", "spare", "spare-1-1", "ignition"),
    ("cabin/4/A/1", "circuit", "wiper", "ignition"),
    ("cabin/4/A/2", "circuit", "washer", "ignition"),
    ("cabin/4/A/3", "circuit", "light-switch", "ignition"),
    ("cabin/5/A/1", "feed", "lights", "battery"),
    ("cabin/5/A/2", "circuit", "heater", "battery"),
    ("aft/1/A/1", "circuit", "pump-a", "hold"),
    ("aft/2/A/1", "feed", "hold", "battery"),
    ("aft/2/A/2", "spare", "spare-2-1", "battery"),
    ("aft/3/A/1", "circuit", "pump-b", "hold"),
    ("aft/3/A/2", "circuit", "deck-switch", "hold"),
    ("aft/3/B/1", "circuit", "deck-lamp", "deck"),
    ("aft/3/B/2", "circuit", "winch", "deck"),
)

SOCKETS = (
    ("cabin/1/S1", "circuit", "hazard"),
    ("cabin/1/S2", "circuit", "fan"),
    ("cabin/1/S3", "circuit", "horn"),
    ("cabin/5/S1", "feed", "lights"),
    ("aft/1/S1", "feed", "deck"),
)

PIECES = (
    ("cabin/1/A/1-2", "strip", "battery"),
    ("cabin/3/A/1-2", "strip", "battery"),
    ("cabin/3/B/1-1", "strip", "lights"),
    ("cabin/4/A/1-3", "strip", "ignition"),
    ("cabin/4/B/1-2", "strip", "ignition"),
    ("cabin/5/stud", "stud", "battery"),
    ("aft/1/A/1", "single", "hold"),
    ("aft/1/S1", "socket", "battery"),
    ("aft/2/stud", "stud", "battery"),
    ("aft/3/A/1-2", "strip", "hold"),
    ("aft/3/B/1-2", "strip", "deck"),
)


def _option(sized: Sized, need: str, at: str) -> Option:
    """Return the only row of the sizing table for a need at its place: every need here has one class at most."""
    place = parse_place(at.replace("/S", "/A/"))
    module = next(m for m in sized.requirements.catalogue.modules if m.id == PLACED[f"{place.panel}/{place.bay}"])
    letter = None if "/S" in at else module.rows[place.row or 0].fuse_format
    return next(o for o in sized.need_by_id[need].options if (o.panel, o.fuse_format) == (place.panel, letter))


def build_plan(sized: Sized) -> Plan:
    """Return the plan for a sizing table of these requirements; every goal is stated truly."""
    way_by_need = {need: at for at, _, need, _ in WAYS}
    plan = Plan(
        allocator_version="0",
        solver_version="none",
        depends_on_time=False,
        requirements=sized.requirements,
        carriers=tuple(PlacedCarrier(panel=panel, carrier=name, first_bay=bay) for panel, name, bay in CARRIERS),
        modules=tuple(PlacedModule(at=at, module=module) for at, module in PLACED.items()),
        ways=tuple(
            UsedWay(
                at=at,
                kind=kind,
                need=need,
                feed=feed,
                fuse=_option(sized, need, at).fuse,
                wire=_option(sized, need, at).wire,
            )
            for at, kind, need, feed in WAYS
        ),
        sockets=tuple(
            UsedSocket(at=at, kind=kind, need=need, relay=_option(sized, need, way_by_need.get(need, at)).relay)
            for at, kind, need in SOCKETS
        ),
        pieces=tuple(Piece(at=at, kind=kind, feed=feed) for at, kind, feed in PIECES),
        goals=(),
    )
    return state_goals(sized, with_tail_fuses(sized, plan))


def state_goals(sized: Sized, plan: Plan) -> Plan:
    """Return the plan with the value of each goal stated as best possible, and what tolerance and cap allow."""
    values, results = goal_values(sized, plan), []
    for aim in sized.requirements.scenario.rules.aims:
        goal, value = aim.goal, values[aim.goal]
        tolerated = {} if aim.tolerance is None else {"best": value, "allowed": aim.allowed(value)}
        proof = {"outcome": "best possible", "closed_by": "search", "cap": aim.most}
        results.append(GoalResult.model_validate({"goal": goal, "value": value, "bound": value} | proof | tolerated))
    return plan.model_copy(update={"goals": tuple(results)})


@cache
def good() -> tuple[Sized, Plan]:
    """Return the sizing table and the plan that keeps every rule."""
    sized = size(build_requirements())
    return sized, build_plan(sized)


def with_feed(sized: Sized, name: str, **fields: Any) -> Sized:
    """Return a sizing table over requirements in which one feed is other."""
    requirements = sized.requirements
    feeds = tuple(f.model_copy(update=fields) if f.name == name else f for f in requirements.scenario.feeds)
    scenario = requirements.scenario.model_copy(update={"feeds": feeds})
    return replace(sized, requirements=requirements.model_copy(update={"scenario": scenario}))
