"""
For every rule that the model keeps: a smallest panel that the rule admits, and one change that it refuses.

``test_rules.py`` runs them over the ids of ``RULES``, so that a rule without one fails.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Sized
from tests.builders import A, F, M, P, build_sized
from tests.sizing import vehicles

Arguments = Mapping[str, Any]


@dataclass(frozen=True)
class RuleCase:
    """A panel that a rule admits, and the same panel with one change that the rule refuses."""

    rule: str
    admitted: Arguments
    change: Arguments
    goal: Goal = "bays"
    value: int = 1
    """Of the goal, where the rule costs nothing."""
    refused: int | None = None
    """Value of the goal that the rule forces; None: no plan."""
    build: Callable[[Arguments], Sized] = lambda arguments: build_sized(**arguments)

    @property
    def id(self) -> str:
        return f"{self.rule}: {', '.join(self.change)}"


ONE_FEED = {"battery": F(100)}
TWO_FEEDS = {"battery": F(100), "ignition": F(100)}
ONE_BAY = {"panel": P(1)}
HOT = {"hot_share": "0.1 %", "hot_from": "10 A"}
"""What is loaded with 10 A and more is hot."""
FRONT_AND_REAR = {"front": P(1), "rear": P(1)}


def alike(number: int, load_a: float = 5, **fields: Any) -> dict[str, A]:
    """Circuits that differ in nothing but their names."""
    return {f"c{index}": A(load_a, **fields) for index in range(number)}


def pinned(*places: str) -> dict[str, A]:
    return {f"c{index}": A(5, pin=place) for index, place in enumerate(places)}


def bonded(level: str, *names: str) -> Sequence[tuple[tuple[str, ...], str]]:
    return [(names, level)]


def panel(number: int = 2, rows: tuple[str, ...] = ("4F",), **arguments: Any) -> dict[str, Any]:
    """Arguments of a panel for a few equal circuits, with one module type and one feed."""
    return {"circuits": alike(number), "modules": {"block": M(rows)}, "feeds": ONE_FEED} | arguments


def on_carriers_and_modules() -> list[RuleCase]:
    small_or_large = {"block": M(("4F",)), "large": M(("8F",), stock=1)}
    blade = A(5, formats=("C",), pin="panel/1")
    beside = panel(
        circuits={"c0": A(5, pin="panel/2"), "c1": blade}, modules={"block": M(("4F",)), "large": M(("4C",))}
    )
    triple = {"panels": {"panel": P(4, ("triple",))}}
    one_each = {"c0": A(5, panels=("front",)), "c1": A(5, panels=("rear",))}
    ends = panel(circuits=one_each, modules={"block": M(("4F",), stock=1)}, panels=FRONT_AND_REAR)
    return [
        RuleCase("carrier-allowed", panel(carriers={"single": 1, "triple": 3}), triple, refused=3),
        RuleCase("bays-within-panel", panel(5, panels={"panel": P(2)}), {"panels": ONE_BAY}, value=2),
        RuleCase("carriers-in-line", panel(carriers={"single": 1}), {"circuits": pinned("panel/3")}, refused=3),
        RuleCase("module-in-carrier", panel(modules={"block": M(("4F",), bays=2)}), {"carriers": {"one": 1}}, value=2),
        RuleCase("one-module-per-bay", beside, {"circuits": {"c0": A(5, pin="panel/1"), "c1": blade}}, value=2),
        RuleCase("module-count", panel(8, modules=small_or_large), {"most": {"large": 0}}, refused=2),
        RuleCase("module-count", ends, {"most": {"block": 1}}, value=2),
        RuleCase("module-stock", ends, {"use_stock": True}, value=2),
        RuleCase("module-stock", panel(16, modules=small_or_large), {"use_stock": True}, value=2, refused=3),
    ]


def on_needs_at_ways() -> list[RuleCase]:
    ends = panel(5, panels=FRONT_AND_REAR)
    rear = panel(circuits=alike(2, panels=("rear",)), panels=FRONT_AND_REAR)
    kinds = {"battery": F(100), "ignition": F(100, kind="ignition")}
    key = panel(circuits=alike(2, feeds=("ignition",)), feeds=kinds)
    apart = panel(circuits=pinned("panel/1/A/2", "panel/1/A/1"))
    relayed = kinds | {"branch": F(100, source="battery", relay="heavy")}
    permanent = panel(circuits=alike(2, feeds=("branch",)), feeds=relayed, modules={"block": M(("4F",), {"heavy": 1})})
    return [
        RuleCase("every-need-placed", panel(4, panels=ONE_BAY), {"circuits": alike(5)}),
        RuleCase("way-exists", panel(circuits=pinned("panel/1/A/4")), {"circuits": pinned("panel/1/A/5")}),
        RuleCase("way-exists", panel(circuits=pinned("panel/1/A")), {"circuits": pinned("panel/1/B")}),
        RuleCase("one-need-per-way", apart, {"circuits": pinned("panel/1/A/1", "panel/1/A/1")}),
        RuleCase("format-matches", panel(), {"circuits": alike(2, formats=("C",))}),
        RuleCase("panel-accepted", ends, {"circuits": alike(5, panels=("front",))}, value=2),
        RuleCase(
            "feed-accepted",
            panel(feeds={"battery": F(6), "ignition": F(6)}),
            {"circuits": alike(2, feeds=("ignition",))},
        ),
        RuleCase("feed-reaches-panel", rear, {"feeds": {"battery": F(100, panels=("front",))}}),
        RuleCase("key-out", key, {"circuits": alike(2, feeds=("ignition",), key_out=True)}),
        RuleCase("key-out", permanent, {"circuits": alike(2, feeds=("branch",), key_out=True)}),
    ]


def _without(*modules: str) -> dict[str, Any]:
    """Rules that forbid module types, so that the row of the sizing table that is left has no place."""
    return {"objective": ["bays"], "modules": [{"module": module, "most": 0} for module in modules]}


def _vehicle(arguments: Arguments) -> Sized:
    tables = dict(arguments)
    return vehicles.sized(*tables.pop("circuits"), **tables)


def on_parts_and_safety() -> list[RuleCase]:
    """What the sizing table does not offer, the model does not choose: these panels are sized by the real sums."""
    lamp = vehicles.circuit
    blade = _without("row-f", "bus-e", "single-c")
    maxi: dict[str, Any] = {"circuits": [lamp(load="10 A")], "rules": _without("row-f", "row-c", "single-c")}
    pumps = [lamp(f"pump-{n}", load="14 A", load_type="motor", switching="relay") for n in range(3)]
    heavy = [pump | {"load": "20 A"} for pump in pumps]
    hot = [vehicles.panel(ambient="90 degC")]
    with_gauge = {"wires": [*vehicles.catalogue_table()["wires"], vehicles.part("g6", area="6 AWG")]}
    at_stern = lamp(wire="1 mm2", pin="stern")
    strong = [item | {"breaking_capacity": "2000 A"} for item in vehicles.catalogue_table()["fuses"]]
    weak = {"fuses": [item for item in strong if item["fuse_format"] != "C"]}
    weak["fuses"] += [vehicles.fuse("C", 7.5)]
    lone = {"circuits": [lamp()], "rules": blade, "catalogue": weak}
    holder = vehicles.part("main", fuse_format="SF51", limit="500 A", stud="M8", stack=1)
    main = {"circuits": [lamp(panels=["cabin"])], "rules": blade, "catalogue": {"main_holders": [holder]}}
    two = [vehicles.panel(), vehicles.panel("aft")]
    tails = {"circuits": [lamp()], "rules": blade, "feeds": [vehicles.feed(tail_fuse="30 A")]}
    small = vehicles.part("holder", fuse_format="F", limit="25 A")
    within = {"circuits": [lamp()], "rules": {"objective": [{"goal": "wire-length", "cap": "5 m"}]}}

    def weak_tabs(limit_a: float) -> dict[str, Any]:
        others = [item for item in vehicles.catalogue_table()["terminals"] if item["kind"] != "tab"]
        tabs = [vehicles.terminal("tab", 6.3, 0.5, 6, limit_a)]
        return {"circuits": [lamp()], "rules": blade, "catalogue": {"terminals": [*others, *tabs]}}

    def post(limit_a: float) -> dict[str, Any]:
        stud = vehicles.part("post", size="M8", limit=f"{limit_a} A", stack=4)
        return {"circuits": [lamp()], "rules": blade, "catalogue": {"studs": [stud]}}

    return [
        RuleCase("fuse-suits-net", lone, {"supply": {"fault_current": "1500 A"}}, build=_vehicle, value=4),
        RuleCase("main-fuse", main, {"panels": two}, build=_vehicle, value=4),
        RuleCase("main-fuse", main, {"feeds": [vehicles.feed(rating="61 A")]}, build=_vehicle, value=4),
        RuleCase("inline-fuse", tails, {"catalogue": {"holders": [small]}}, build=_vehicle, value=4),
        RuleCase(
            "fuse-protects-wire", maxi, {"circuits": [lamp(load="10 A", wire="1.5 mm2")]}, build=_vehicle, value=4
        ),
        RuleCase(
            "wire-withstands-fault",
            maxi | {"rules": maxi["rules"] | {"bundle_factor": "100 %"}, "panels": [vehicles.panel(ambient="30 degC")]},
            {"circuits": [lamp(load="10 A", wire="1 mm2")]},
            build=_vehicle,
            value=4,
        ),
        RuleCase(
            "drop-within-limit",
            {"circuits": [at_stern], "rules": blade, "panels": [vehicles.panel(), vehicles.panel("stern")]},
            {"circuits": [at_stern | {"length": {"cabin": "1 m", "stern": "20 m"}}]},
            build=_vehicle,
            value=4,
        ),
        RuleCase(  # 6 AWG fits the tabs of type E alone
            "wires-of-system",
            {"circuits": [lamp()], "rules": blade, "catalogue": with_gauge},
            {"rules": blade | {"wire_system": "awg"}},
            build=_vehicle,
            value=4,
        ),
        RuleCase(
            "fuse-carries-load",
            {"circuits": [lamp(load="29 A")], "rules": blade},
            {"circuits": [lamp(load="31 A")]},
            build=_vehicle,
            value=4,
        ),
        RuleCase(  # 15 A opens within 0.15 s at 90 A; a larger rating stands above 2.5 mm2
            "fuse-outlasts-start",
            {"circuits": [lamp(load="10 A", load_type="motor", stall="90 A", wire="2.5 mm2")], "rules": blade},
            {"rules": blade | {"fuse_outlasts_start": True}},
            build=_vehicle,
            value=4,
        ),
        RuleCase(  # 5 A want a fuse of 7.5 A
            "terminal-fits", weak_tabs(7.5), {"catalogue": weak_tabs(7)["catalogue"]}, build=_vehicle, value=4
        ),
        RuleCase("stud-fits", post(60), {"catalogue": post(59)["catalogue"]}, build=_vehicle, value=4),
        RuleCase(
            "wires-as-stated", within, {"circuits": [lamp(length="3.1 m")]}, "wire-length", build=_vehicle, value=5000
        ),
        RuleCase(
            "cable-lengths",
            within,
            {"panels": [vehicles.panel(supply_distance="2.1 m")]},
            "wire-length",
            build=_vehicle,
            value=5000,
        ),
        RuleCase("as-sized", {"circuits": [lamp()], "rules": blade}, {"panels": hot}, build=_vehicle, value=4),
        RuleCase(
            "relay-carries-load",
            {
                "circuits": pumps,
                "rules": {"objective": ["module-types"], "modules": [{"module": "sockets", "most": 1}]},
            },
            {"circuits": heavy},
            build=_vehicle,
            goal="module-types",
            value=2,
        ),
    ]


def _behind(rating_a: float) -> dict[str, Any]:
    """A strip of 80 A on a feed, and nothing on offer that could protect a tail on its own."""
    feeds = [vehicles.feed(rating=f"{rating_a} A")]
    no_holder = {"rules": _without("row-f", "bus-e", "single-c"), "catalogue": {"holders": []}}
    return {"circuits": [vehicles.circuit()], "feeds": feeds} | no_holder


def at_a_socket(load_a: float) -> dict[str, Any]:
    """
    Two loads on a branch that its source enters at a relay socket, behind a tail fuse of 30 A type F.

    That carries 22.5 A without end at 30 degC (75 % of it), and the branch may have 48 A.
    """
    branch = {"source": "battery", "relay_class": "heavy", "control": "switch"}
    feeds = [vehicles.feed(tail_fuse="30 A"), vehicles.feed("deck", **branch)]
    loads = [vehicles.circuit(f"lamp-{n}", load=f"{load_a} A", feeds=["deck"]) for n in range(2)]
    return {"circuits": [vehicles.circuit("switch", load="0.5 A"), *loads], "feeds": feeds}


def on_pieces_and_feeds() -> list[RuleCase]:
    in_two = panel(rows=("4F strip 40",), circuits=alike(2, 6), strip_limit_a=10, panels=ONE_BAY)
    side_by_side = {
        "c0": A(5, feeds=("battery",), pin="panel/1/A/1"),
        "c1": A(5, feeds=("battery",), pin="panel/1/A/2"),
        "c2": A(5, feeds=("ignition",), pin="panel/1/A/3"),
    }
    crossed = side_by_side | {
        "c1": A(5, feeds=("ignition",), pin="panel/1/A/2"),
        "c2": A(5, feeds=("battery",), pin="panel/1/A/3"),
    }
    two_feeds = {"c0": A(5, feeds=("battery",)), "c1": A(5, feeds=("ignition",))}
    branch = {"battery": F(100), "ignition": F(100, source="battery", fuse="F")}
    on_branch = panel(circuits={"c0": A(5, feeds=("ignition",)), "c1": A(5, feeds=("battery",))}, feeds=branch)
    return [
        RuleCase("piece-exists", panel(), {"modules": {"block": M(("1F", "1F"))}}, "strip-pieces", refused=2),
        RuleCase(
            "pieces-apart",
            panel(circuits=side_by_side, feeds=TWO_FEEDS),
            {"circuits": crossed},
            "strip-pieces",
            value=2,
            refused=3,
        ),
        RuleCase(
            "way-is-fed",
            panel(circuits=pinned("panel/1/A/1", "panel/1/A/2")),
            {"circuits": pinned("panel/1/A/1", "panel/1/A/4")},
            "strip-pieces",
            refused=2,
        ),
        RuleCase("one-feed-per-piece", panel(feeds=TWO_FEEDS), {"circuits": two_feeds}, "strip-pieces", refused=2),
        RuleCase(
            "one-feed-per-piece",
            panel(rows=("2F stud", "2F stud"), feeds=TWO_FEEDS),
            {"circuits": two_feeds},
            refused=2,
        ),
        RuleCase("way-is-fed", panel(), {"modules": {"block": M(("4F single",))}}, "strip-pieces", refused=2),
        RuleCase("one-piece-per-feed-and-row", in_two, {"one_piece_per_feed_and_row": True}),
        RuleCase("tail-fits", panel(), {"feeds": {"battery": F(100, never_enters=("block",))}}),
        RuleCase("inlet-protected", _behind(70), {"feeds": _behind(90)["feeds"]}, value=4, build=_vehicle),
        RuleCase("piece-current", panel(1), {"strip_limit_a": 4}),
        RuleCase(
            "piece-current",
            panel(rows=("2F stud",)),
            {"modules": {"block": M(("2F stud",), stud_limit_a=9)}},
            refused=2,
        ),
        RuleCase("piece-current", at_a_socket(10), at_a_socket(12), value=4, build=_vehicle),
        RuleCase("row-current", panel(panels=ONE_BAY), {"modules": {"block": M(("4F strip 9",))}}),
        RuleCase(
            "module-current", panel(rows=("1F", "1F")), {"modules": {"block": M(("1F", "1F"), limit_a=9)}}, refused=2
        ),
        RuleCase("hot-apart", panel(circuits=alike(3, 12)), HOT, refused=2),
        RuleCase("hot-apart", panel(circuits=alike(2, 12), goals=("strip-pieces",)), HOT, "strip-pieces", refused=2),
        RuleCase("feed-current", panel(), {"feeds": {"battery": F(9)}}),
        RuleCase("feed-current", panel(), {"feed_loading": 9}),
        RuleCase("feed-current", on_branch, {"feeds": branch | {"battery": F(9)}}),
        RuleCase("feed-current", on_branch, {"feeds": branch | {"ignition": F(4, source="battery", fuse="F")}}),
    ]


def on_relays() -> list[RuleCase]:
    with_socket = {"block": M(("4F",), {"micro": 1})}
    front = alike(2, panels=("front",), relays=("micro",))
    split = {"fuses": M(("2F",)), "sockets": M((), {"micro": 2})}
    at_front = panel(circuits=front, modules=split, panels={"front": P(2), "rear": P(1)})
    return [
        RuleCase("relay-present", panel(), {"circuits": alike(2, relays=("micro",))}),
        RuleCase(
            "socket-exists",
            panel(circuits=alike(2, relays=("micro",)), modules={"block": M(("4F",), {"micro": 2})}),
            {"modules": with_socket},
            refused=2,
        ),
        RuleCase(
            "one-relay-per-socket",
            panel(circuits=alike(1, relays=("micro",)), modules=with_socket, panels=ONE_BAY),
            {"circuits": alike(2, relays=("micro",))},
        ),
        RuleCase(
            "class-matches",
            panel(circuits=alike(1, relays=("standard", "micro")), modules=with_socket),
            {"circuits": alike(1, relays=("standard",))},
        ),
        RuleCase(
            "relay-beside-fuse",
            panel(circuits=alike(1, relays=("micro",)), modules=split),
            {"relay_beside_fuse_from": "1 A"},
            value=2,
        ),
        RuleCase("relay-in-panel", at_front, {"panels": FRONT_AND_REAR}, value=2),
    ]


def on_wishes() -> list[RuleCase]:
    spare = {"fuse_format": "F", "count": 2}
    one_bay = panel(panels=ONE_BAY)
    ends = panel(panels=FRONT_AND_REAR)
    rows = ("2F", "2F")
    at_one_end = panel(goals=("bays", {"goal": "wire-length", "cap": "1 m"}))
    priced = {"large": M(("4F",), price=900), "small": M(("2F",), price=200)}
    dear = panel(4, modules=priced, goals=("bays", {"goal": "price", "cap": "9.00"}))
    small_feeds = panel(feeds={"battery": F(9), "ignition": F(9)})
    roomy = panel(4, modules={"one": M(("4F",)), "other": M(("2C",))}, panels={"panel": P(2)})
    roomy |= {"goals": ("bays", {"goal": "spare-ways", "at_least": 4})}
    return [
        RuleCase("spare-ways", one_bay, {"spares": [spare | {"count": 3}]}),
        RuleCase(
            "spare-ways",
            panel(feeds=TWO_FEEDS),
            {
                "spares": [spare | {"feed": "ignition"}],
                "feeds": {"battery": F(100), "ignition": F(100, never_enters=("block",))},
            },
        ),
        RuleCase("spare-ways", ends, {"spares": [spare | {"panel": "rear", "count": 5}]}),
        RuleCase("spare-ways", panel(spares=[spare]), {"spares": [spare | {"reserve": "46 A"}]}),
        RuleCase("apart-feed", panel(), {"apart": bonded("feed", "c0", "c1")}),
        RuleCase("apart-row", panel(panels=ONE_BAY), {"apart": bonded("row", "c0", "c1")}),
        RuleCase("apart-row", panel(4, rows), {"apart": bonded("row", "c0", "c1", "c2")}, refused=2),
        RuleCase("apart-module", panel(), {"apart": bonded("module", "c0", "c1")}, refused=2),
        RuleCase("apart-panel", ends, {"apart": bonded("panel", "c0", "c1")}, refused=2),
        RuleCase("together-feed", small_feeds, {"together": bonded("feed", "c0", "c1")}),
        RuleCase("together-row", panel(rows=("1F", "1F")), {"together": bonded("row", "c0", "c1")}),
        RuleCase("together-module", panel(rows=("1F",)), {"together": bonded("module", "c0", "c1")}, value=2),
        RuleCase(
            "together-panel",
            panel(rows=("1F",), panels=FRONT_AND_REAR),
            {"together": bonded("panel", "c0", "c1")},
            value=2,
        ),
        RuleCase(
            "pin",
            panel(modules={"block": M(("1C", "1F"))}, circuits=pinned("panel/1/B")),
            {"circuits": pinned("panel/1/A")},
        ),
        RuleCase("pin", panel(circuits=pinned("rear"), panels=FRONT_AND_REAR), {"circuits": pinned("rear/2")}),
        RuleCase("goal-cap", at_one_end, {"goals": ("bays", {"goal": "wire-length", "cap": "0.9 m"})}),
        RuleCase("goal-cap", dear, {"goals": ("bays", {"goal": "price", "cap": "8.99"})}, refused=2),
        RuleCase("goal-cap", roomy, {"goals": ("bays", {"goal": "spare-ways", "at_least": 5})}, value=2),
    ]


CASES: Sequence[RuleCase] = [
    *on_carriers_and_modules(),
    *on_needs_at_ways(),
    *on_parts_and_safety(),
    *on_pieces_and_feeds(),
    *on_relays(),
    *on_wishes(),
]
