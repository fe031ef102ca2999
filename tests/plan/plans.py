"""A small plan by hand for the tests of this room: one panel, two feeds, a branch, a relay on each side of a jumper."""

from __future__ import annotations

from typing import Any

from allocator.plan.plan import Piece, PlacedCarrier, PlacedModule, Plan, UsedSocket, UsedWay
from allocator.sizing.sized import Sized
from tests.builders import A, F, M, P, build_sized

ACCESSORIES: list[dict[str, Any]] = [
    {"id": "a-carrier", "per": "carrier", "quantity": 4},
    {"id": "a-bay", "per": "bay"},
    {"id": "a-empty-bay", "per": "empty-bay"},
    {"id": "a-module", "per": "module", "quantity": 2},
    {"id": "a-row", "per": "row"},
    {"id": "a-socket", "per": "socket"},
    {"id": "a-relay", "per": "relay"},
    {"id": "a-unused-cavity", "per": "unused-cavity"},
    {"id": "a-feed-tail", "per": "feed-tail"},
]
PRICES = {
    "carrier-4": 1000,
    "fuse-F": 30,
    "fuse-E": 50,
    "relay-micro": 200,
    "tab": 5,
    "inlet": 7,
    "wire": 90,
    "strip": 400,
}


def small() -> tuple[Sized, Plan]:
    """
    Return a plan of four circuits and a branch.

    Row A of module ``twin`` (cabin/1): horn and pump on battery, lamp on key; row B: fan on key, fed apart. Module
    ``mixed`` (cabin/2): the fuse of branch key and its relay S1; pump's relay S2 is there too, so its jumper is long.
    """
    sized = build_sized(
        circuits={
            "horn": A(4, feeds=("battery",), cases=("day",)),
            "pump": A(6, feeds=("battery",), relays=("micro",)),
            "lamp": A(5, feeds=("key",), cases=("night",)),
            "fan": A(3, feeds=("key",)),
        },
        feeds={"battery": F(60), "key": F(20, source="battery", fuse="E", relay="micro")},
        modules={"twin": M(rows=("4F", "4F"), price=800), "mixed": M(rows=("2E",), sockets={"micro": 2}, price=900)},
        panels={"cabin": P(max_bays=4)},
        carriers={"carrier-4": 4},
        cases=("day", "night"),
        coil_ma={"micro": 200},
        prices=PRICES,
        accessories=ACCESSORIES,
        feed_loading=80,
    )
    return sized, Plan(
        allocator_version="test",
        solver_version="none",
        depends_on_time=False,
        requirements=sized.requirements,
        carriers=(PlacedCarrier(panel="cabin", carrier="carrier-4", first_bay=1),),
        modules=(PlacedModule(at="cabin/1", module="twin"), PlacedModule(at="cabin/2", module="mixed")),
        ways=(
            _way("cabin/1/A/1", "horn", "battery"),
            _way("cabin/1/A/2", "pump", "battery"),
            _way("cabin/1/A/3", "lamp", "key"),
            _way("cabin/1/B/1", "fan", "key"),
            UsedWay(at="cabin/2/A/1", kind="feed", need="key", feed="battery", fuse="fuse-E", wire="wire"),
        ),
        sockets=(
            UsedSocket(at="cabin/2/S1", kind="feed", need="key", relay="relay-micro"),
            UsedSocket(at="cabin/2/S2", kind="circuit", need="pump", relay="relay-micro"),
        ),
        pieces=(
            Piece(at="cabin/1/A/1-2", kind="strip", feed="battery"),
            Piece(at="cabin/1/A/3-3", kind="strip", feed="key"),
            Piece(at="cabin/1/B/1-1", kind="strip", feed="key"),
            Piece(at="cabin/2/A/1-1", kind="strip", feed="battery"),
        ),
        goals=(),
    )


def _way(at: str, need: str, feed: str) -> UsedWay:
    return UsedWay(at=at, kind="circuit", need=need, feed=feed, fuse="fuse-F", wire="wire")
