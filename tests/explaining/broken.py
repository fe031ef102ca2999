"""Small panels that cannot be built, each for a reason of its own, with the least clash that a person finds by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from allocator.requirements.scenario import Requirements
from tests.builders import A, F, M, P, build_sized
from tests.sizing import vehicles

TWO = {"left": A(10), "right": A(10)}
PLAIN: Mapping[str, Any] = {
    "circuits": TWO,
    "modules": {"row-4": M(("4F strip",))},
    "feeds": {"main": F(100)},
    "panels": {"cab": P()},
}
BOTH = ("circuit left", "circuit right")
ONE_WAY = {"row-1": M(("1F strip",))}


def capped(goal: str, cap: int | str) -> dict[str, Any]:
    return {"goal": goal, "cap": cap}


@dataclass(frozen=True)
class Broken:
    """Changes of the plain panel, the clash, and in words one way out."""

    changes: Mapping[str, Any]
    clash: tuple[str, ...]
    remedy: str
    vehicle: Requirements | None = None
    """In place of the plain panel."""

    @property
    def requirements(self) -> Requirements:
        if self.vehicle is not None:
            return self.vehicle
        return build_sized(**{**PLAIN, **self.changes}).requirements


BROKEN: Mapping[str, Broken] = {
    "room": Broken(
        {"modules": ONE_WAY, "panels": {"cab": P(1)}}, (*BOTH, "room of cab"), 'panel "cab" with room for 2 bays'
    ),
    "feed": Broken({"feeds": {"main": F(15)}}, (*BOTH, "current of main"), 'feed "main" rated 22 A'),
    "strip": Broken(
        {"strip_limit_a": 8, "circuits": {"left": A(10)}},
        ("circuit left", "limits of entries"),
        "strips, inlets, studs and feed tails that carry more",
    ),
    "row": Broken(
        {"modules": {"row-4": M(("4F strip 15",))}, "panels": {"cab": P(1)}},
        (*BOTH, "limits of rows", "room of cab"),
        'panel "cab" with room for 2 bays',
    ),
    "module": Broken(
        {"modules": {"row-4": M(("4F strip",), limit_a=15)}, "panels": {"cab": P(1)}},
        (*BOTH, "limits of modules", "room of cab"),
        'panel "cab" with room for 2 bays',
    ),
    "apart, feed": Broken(
        {"apart": [(("left", "right"), "feed")]},
        (*BOTH, "apart 1"),
        'circuits "left", "right" not bound to be on different feeds',
    ),
    "apart, row": Broken(
        {"apart": [(("left", "right"), "row")], "panels": {"cab": P(1)}},
        (*BOTH, "apart 1", "room of cab"),
        'circuits "left", "right" not bound to be in different rows',
    ),
    "apart, module": Broken(
        {"apart": [(("left", "right"), "module")], "most": {"row-4": 1}},
        (*BOTH, "apart 1", "count of row-4"),
        '2 of module "row-4" instead of at most 1',
    ),
    "apart, panel": Broken(
        {"apart": [(("left", "right"), "panel")]},
        (*BOTH, "apart 1"),
        'circuits "left", "right" not bound to be at different panels',
    ),
    "three on two feeds": Broken(
        {
            "circuits": {"left": A(1), "middle": A(1), "right": A(1)},
            "feeds": {"main": F(50), "aux": F(50)},
            "apart": [(("left", "middle", "right"), "feed")],
        },
        ("circuit left", "circuit middle", "circuit right", "apart 1"),
        'circuits "left", "middle", "right" not bound to be on different feeds',
    ),
    "together, feed": Broken(
        {
            "circuits": {"left": A(1, ("main",)), "right": A(1, ("aux",))},
            "feeds": {"main": F(50), "aux": F(50)},
            "together": [(("left", "right"), "feed")],
        },
        (*BOTH, "feeds of left", "feeds of right", "together 1"),
        'circuit "left" on feed "aux" too',
    ),
    "together, panel": Broken(
        {
            "circuits": {"left": A(1, panels=("cab",)), "right": A(1, panels=("rear",))},
            "panels": {"cab": P(), "rear": P()},
            "together": [(("left", "right"), "panel")],
        },
        (*BOTH, "panels of left", "panels of right", "together 1"),
        'circuit "right" at panel "cab" too',
    ),
    "together, row": Broken(
        {
            "circuits": {"left": A(1), "right": A(1, formats=("C",))},
            "modules": {"both": M(("4F strip", "4C strip"))},
            "together": [(("left", "right"), "row")],
        },
        (*BOTH, "fuse format of left", "fuse format of right", "together 1"),
        'circuit "left" with a fuse of any type',
    ),
    "together, module": Broken(
        {
            "circuits": {"left": A(1), "right": A(1, formats=("C",))},
            "modules": {"row-f": M(("4F strip",)), "row-c": M(("4C strip",))},
            "together": [(("left", "right"), "module")],
        },
        (*BOTH, "fuse format of left", "fuse format of right", "together 1"),
        'circuits "left", "right" not bound to be in one module',
    ),
    "apart and together": Broken(
        {"apart": [(("left", "right"), "row")], "together": [(("left", "right"), "row")]},
        (*BOTH, "apart 1", "together 1"),
        'circuits "left", "right" not bound to be in one row',
    ),
    "one way for two pins": Broken(
        {"circuits": {"left": A(10, pin="cab/1/A/1"), "right": A(10, pin="cab/1/A/1")}},
        (*BOTH, "pin of left", "pin of right"),
        'circuit "left" without its pin',
    ),
    "a pin beyond the room": Broken(
        {"circuits": {"left": A(10, pin="cab/3/A/1")}, "panels": {"cab": P(2)}},
        ("circuit left", "pin of left", "room of cab"),
        'panel "cab" with room for 3 bays',
    ),
    "a pin to a row that is nowhere": Broken(
        {"circuits": {"left": A(10, pin="cab/1/C/1")}},
        ("circuit left", "pin of left"),
        'circuit "left" without its pin',
    ),
    "pins in one row, and apart": Broken(
        {
            "circuits": {"left": A(10, pin="cab/1/A"), "right": A(10, pin="cab/1/A")},
            "apart": [(("left", "right"), "row")],
        },
        (*BOTH, "pin of left", "pin of right", "apart 1"),
        'circuits "left", "right" not bound to be in different rows',
    ),
    "spares": Broken(
        {"panels": {"cab": P(1)}, "spares": [{"fuse_format": "F", "count": 3}]},
        (*BOTH, "room of cab", "spares 1"),
        "2 spare ways of type F instead of 3 (rule 1)",
    ),
    "amperes kept for spares": Broken(
        {"feeds": {"main": F(25)}, "spares": [{"fuse_format": "F", "count": 2, "reserve": "5 A"}]},
        (*BOTH, "current of main", "spares 1"),
        "1 spare way of type F instead of 2 (rule 1)",
    ),
    "module count": Broken(
        {"modules": ONE_WAY, "most": {"row-1": 1}},
        (*BOTH, "count of row-1"),
        '2 of module "row-1" instead of at most 1',
    ),
    "no such module": Broken(
        {"circuits": {"left": A(10)}, "most": {"row-4": 0}},
        ("circuit left", "count of row-4"),
        '1 of module "row-4" instead of at most 0',
    ),
    "shelf": Broken(
        {"modules": {"row-1": M(("1F strip",), stock=1)}, "use_stock": True},
        (*BOTH, "shelf"),
        '2 of module "row-1" on the shelf instead of 1',
    ),
    "sockets": Broken(
        {
            "circuits": {"left": A(1, relays=("micro",)), "right": A(1, relays=("micro",))},
            "modules": {"one": M(("4F strip",), {"micro": 1})},
            "panels": {"cab": P(1)},
        },
        (*BOTH, "relay of left", "relay of right", "room of cab"),
        'circuit "left" without its relay',
    ),
    "carriers": Broken(
        {"circuits": {"left": A(1)}, "carriers": {"small": 1, "large": 4}, "panels": {"cab": P(2, ("large",))}},
        ("circuit left", "carriers of cab", "room of cab"),
        'panel "cab" with any carrier',
    ),
    "hot ways": Broken(
        {"modules": {"row-2": M(("2F strip",))}, "panels": {"cab": P(1)}, "hot_share": "1 %"},
        (*BOTH, "hot ways", "room of cab"),
        "hot ways side by side",
    ),
    "relay beside its fuse": Broken(
        {
            "circuits": {"left": A(10, relays=("micro",))},
            "modules": {"row-1": M(("1F strip",)), "socket": M((), {"micro": 1})},
            "relay_beside_fuse_from": "10 A",
        },
        ("circuit left", "relay of left", "relay beside fuse"),
        "relays in other modules than their fuses",
    ),
    "one piece": Broken(
        {"strip_limit_a": 15, "panels": {"cab": P(1)}, "one_piece_per_feed_and_row": True},
        (*BOTH, "limits of entries", "one piece", "room of cab"),
        "several strip pieces of a feed in one row",
    ),
    "narrow choice of panel": Broken(
        {
            "circuits": {"left": A(1, panels=("cab",)), "right": A(1, panels=("cab",))},
            "modules": ONE_WAY,
            "panels": {"cab": P(1), "rear": P(1)},
        },
        (*BOTH, "panels of left", "panels of right", "room of cab"),
        'circuit "left" at panel "rear" too',
    ),
    "narrow choice of feed": Broken(
        {
            "circuits": {"left": A(10, ("main",)), "right": A(10, ("main",))},
            "feeds": {"main": F(15), "aux": F(15)},
        },
        (*BOTH, "current of main", "feeds of left", "feeds of right"),
        'circuit "right" on feed "aux" too',
    ),
    "key out": Broken(
        {
            "circuits": {"left": A(10, key_out=True), "right": A(10, key_out=True)},
            "feeds": {"main": F(15), "key": F(15, kind="ignition")},
        },
        (*BOTH, "current of main", "key out of left", "key out of right"),
        'circuit "left" dead with the key out',
    ),
    "cap on bays": Broken(
        {"modules": ONE_WAY, "goals": (capped("bays", 1),)}, (*BOTH, "cap on bays"), "a cap of 2 on bays"
    ),
    "cap on strip pieces": Broken(
        {
            "circuits": {"left": A(1, ("main",)), "right": A(1, ("aux",))},
            "feeds": {"main": F(50), "aux": F(50)},
            "goals": ("bays", capped("strip-pieces", 1)),
        },
        (*BOTH, "cap on strip-pieces", "feeds of left", "feeds of right"),
        "a cap of 2 on strip-pieces",
    ),
    "cap on the price": Broken(
        {
            "circuits": {"left": A(1)},
            "modules": {"row-4": M(("4F strip",), price=500)},
            "goals": ("bays", capped("price", "4.99")),
        },
        ("cap on price", "circuit left"),
        "a cap of 5.00 on price",
    ),
    "cap on the peak": Broken(
        {"feeds": {"main": F(25)}, "goals": (capped("peak-utilisation", "70 %"),)},
        (*BOTH, "cap on peak-utilisation"),
        "a cap of 80 % on peak-utilisation",
    ),
    "cap on long jumpers": Broken(
        {
            "circuits": {"left": A(10, relays=("micro",))},
            "modules": {"row-1": M(("1F strip",)), "socket": M((), {"micro": 1})},
            "goals": (capped("long-jumpers", 0),),
        },
        ("cap on long-jumpers", "circuit left", "relay of left"),
        "a cap of 1 on long-jumpers",
    ),
    "least spare ways": Broken(  # too many for one bay of four ways, circuits or none
        {"panels": {"cab": P(1)}, "goals": ("bays", {"goal": "spare-ways", "at_least": 5})},
        ("cap on spare-ways", "room of cab"),
        "at least 2 spare-ways",
    ),
    "least spare ways beside circuits": Broken(
        {"panels": {"cab": P(1)}, "goals": ("bays", {"goal": "spare-ways", "at_least": 3})},
        (*BOTH, "cap on spare-ways", "room of cab"),
        'panel "cab" with room for 2 bays',
    ),
    "wide module": Broken(
        {
            "circuits": {"left": A(1)},
            "modules": {"wide": M(("4F strip",), bays=2)},
            "carriers": {"small": 1, "double": 2},
            "panels": {"cab": P(1)},
        },
        ("circuit left", "room of cab"),
        'panel "cab" with room for 2 bays',
    ),
    "root of a branch": Broken(
        {},
        ("branch aux", "circuit far", "circuit near", "current of battery"),
        'feed "battery" rated 35 A',
        vehicles.requirements(
            vehicles.circuit("far", load="12 A", feeds=["aux"]),
            vehicles.circuit("near", load="14 A"),
            feeds=(
                vehicles.feed(rating="30 A"),
                vehicles.feed("aux", source="battery", fuse_format="C", rating="20 A"),
            ),
        ),
    ),
    "branch with a relay": Broken(
        {},
        ("circuit far", "circuit near", "current of aux", "feeds of far", "feeds of near"),
        'feed "aux" carrying more',
        vehicles.requirements(
            vehicles.circuit("far", load="14 A", feeds=["aux"]),
            vehicles.circuit("near", load="14 A", feeds=["aux"]),
            feeds=(
                vehicles.feed(rating="60 A"),
                vehicles.feed("aux", source="battery", fuse_format="C", relay_class="micro", rating="20 A"),
            ),
        ),
    ),
    "fuse of a branch": Broken(
        {},
        ("branch aux", "circuit lamp", "fuse format of lamp", "room of cabin"),
        'panel "cabin" with room for 2 bays',
        vehicles.requirements(
            vehicles.circuit(feeds=["aux"], fuse_format="F"),
            feeds=(vehicles.feed(), vehicles.feed("aux", source="battery", fuse_format="C", rating="20 A")),
            panels=(vehicles.panel(max_bays=1),),
            catalogue={"carriers": [vehicles.part("mount", bays=1, width="50 mm", height="120 mm")]},
        ),
    ),
}
