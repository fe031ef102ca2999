"""
Panels that a count judges too kindly: for each rule that needs places, one where counts alone believe in a better plan.

The coarser model is a relaxation, so its optimum is a bound; here it is strictly better than any plan.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import pytest

from tests.builders import A, F, M, P, build_sized
from tests.model.checked import BELIEFS, planned
from tests.model.rule_cases import HOT, alike, bonded, panel, pinned

BAYS, PIECES = ("bays",), ("strip-pieces",)


@dataclass(frozen=True)
class Kindly:
    """A panel whose optimum is worse than a coarser model believes."""

    what: str
    blind: Literal["counts", "cover"]
    arguments: Mapping[str, Any]
    believed: int
    """Value of the only goal in the coarser model."""
    value: int | None
    """Value of the goal in the best plan; None: there is none."""


def on_bonds() -> Sequence[Kindly]:
    long_row = panel(4, ("4F",), goals=BAYS)
    rows = panel(4, ("3F", "3F"), goals=BAYS)
    # The two that belong together do not fit beside the four that are pinned there.
    crowded = {f"c{n}": A(5, pin="panel/1" if n < 3 else None) for n in range(5)}
    short = panel(circuits=crowded, modules={"block": M(("4F",))}, goals=BAYS, panels={"panel": P(2)})
    return [
        Kindly("apart-row", "counts", long_row | {"apart": bonded("row", "c0", "c1")}, 1, 2),
        Kindly("apart-row in two rows", "counts", rows | {"apart": bonded("row", "c0", "c1", "c2")}, 1, 2),
        Kindly("apart-module", "counts", rows | {"apart": bonded("module", "c0", "c1", "c2")}, 1, 3),
        Kindly(
            "together-row",
            "counts",
            panel(3, ("2F", "1F"), goals=BAYS, together=bonded("row", "c0", "c1", "c2")),
            1,
            None,
        ),
        Kindly("together-module", "counts", short | {"together": bonded("module", "c0", "c3", "c4")}, 2, None),
    ]


def on_currents() -> Sequence[Kindly]:
    seven = panel(circuits=alike(7, 2.6), strip_limit_a=10, goals=PIECES)  # three to a piece
    rows = {"block": M(("2F strip 10", "2F strip 10"))}
    blocks = {"block": M(("2F",), limit_a=10)}
    by_day = {f"c{n}": A(2.6, cases=("day",)) for n in range(7)}
    branched = {"battery": F(100), "branch": F(3, source="battery", fuse="F")}
    on_branch = {"c0": A(2.6, feeds=("branch",), formats=("C",))}
    on_branch |= {f"c{n}": A(2.6, feeds=("battery",)) for n in range(1, 7)}
    return [
        Kindly("piece-current", "counts", seven, 2, 3),
        Kindly("row-current", "counts", panel(circuits=alike(3, 6), modules=rows, goals=BAYS), 1, 2),
        Kindly("module-current", "counts", panel(circuits=alike(3, 6), modules=blocks, goals=BAYS), 2, 3),
        Kindly(
            "limits hold in every case that matters",
            "counts",
            panel(circuits=by_day, cases=("day", "night"), strip_limit_a=10, goals=PIECES),
            2,
            3,
        ),
        Kindly(
            "a branch's own fuse carries the branch's load",
            "counts",
            panel(
                circuits=on_branch, feeds=branched, modules={"block": M(("8F", "1C"))}, strip_limit_a=10, goals=PIECES
            ),
            3,
            4,
        ),
    ]


def on_relays() -> Sequence[Kindly]:
    pair = {"block": M(("2F",), {"micro": 1})}
    relayed = panel(circuits=alike(2, relays=("micro",)), modules=pair, goals=("long-jumpers",), panels={"panel": P(2)})
    in_one_bay = {"circuits": {f"c{n}": A(5, relays=("micro",), pin="panel/1") for n in range(2)}}
    must_be_beside = relayed | {"goals": BAYS, "relay_beside_fuse_from": "1 A"}
    return [
        Kindly("relay-beside-fuse", "counts", must_be_beside | {"together": bonded("module", "c0", "c1")}, 2, None),
        Kindly("relay-beside-fuse, pinned", "counts", must_be_beside | in_one_bay, 2, None),
        Kindly("a relay beside its fuse, bound", "counts", relayed | {"together": bonded("module", "c0", "c1")}, 0, 1),
        Kindly("a relay beside its fuse, pinned", "counts", relayed | in_one_bay, 0, 1),
    ]


def on_hot_neighbours() -> Sequence[Kindly]:
    """Three circuits of which every two are hot together in some case: each case asks for three ways, all for five."""
    cases = ("day", "night", "work")
    two_of_three = {f"c{n}": A(12, cases=tuple(case for case in cases if case != cases[n])) for n in range(3)}
    turns = panel(circuits=two_of_three, cases=cases, panels={"panel": P(2)}, **HOT)
    return [
        Kindly("hot-apart in every case", "counts", turns | {"goals": BAYS}, 1, 2),
        Kindly("hot-apart in pieces", "counts", turns | {"modules": {"block": M(("5F",))}, "goals": PIECES}, 2, 3),
        Kindly("hot-apart", "cover", panel(circuits=alike(3, 12), goals=BAYS, **HOT), 1, 2),
    ]


def on_pins() -> Sequence[Kindly]:
    two = {"battery": F(100), "ignition": F(100)}
    crossed = {f"c{n}": A(5, feeds=(feed,), pin=f"panel/1/A/{n + 1}") for n, feed in enumerate((*two, "battery"))}
    heavy_first = {f"c{n}": A(load, pin=f"panel/1/A/{n + 1}") for n, load in enumerate((6, 6, 2, 2))}
    return [
        Kindly(
            "a gap between pins", "counts", panel(circuits=pinned("panel/1/A/1", "panel/1/A/3"), goals=PIECES), 1, 2
        ),
        Kindly("another feed between pins", "counts", panel(circuits=crossed, feeds=two, goals=PIECES), 2, 3),
        Kindly(
            "piece-current in pinned order", "counts", panel(circuits=heavy_first, strip_limit_a=8, goals=PIECES), 2, 3
        ),
    ]


def on_bays() -> Sequence[Kindly]:
    wide = {"block": M(("4F",), bays=2)}
    triple = {"triple": 3}
    both = wide | {"narrow": M(("1C",))}
    at_two = {"c0": A(5), "c1": A(5, formats=("C",), pin="panel/2")}
    cut = panel(circuits=at_two, modules=both, carriers={"single": 1, "triple": 3}, goals=BAYS)
    return [
        Kindly("module-in-carrier", "cover", panel(12, modules=wide, carriers=triple, goals=BAYS), 6, 9),
        Kindly("a pinned bay cuts the room of a two-bay module", "counts", cut, 3, 4),
    ]


def on_feeds() -> Sequence[Kindly]:
    two = {"battery": F(100), "ignition": F(100)}
    one_each = {"c0": A(5, feeds=("battery",)), "c1": A(5, feeds=("ignition",))}
    solid = panel(circuits=one_each, feeds=two, modules={"block": M(("4F stud",))}, goals=BAYS)
    ends = {"battery": F(100, panels=("front",)), "ignition": F(9, panels=("rear",))}
    reach = panel(4, ("2F",), feeds=ends, panels={"front": P(1), "rear": P(1)}, goals=BAYS)
    reserve = {"fuse_format": "F", "count": 2, "reserve": "6 A"}
    rows = {"block": M(("4F", "4F"))}
    strict = panel(circuits=alike(7, 2.6), modules=rows, strip_limit_a=10, goals=BAYS, one_piece_per_feed_and_row=True)
    on_ignition = panel(feeds={"battery": F(100), "ignition": F(11)}, goals=BAYS)
    return [
        Kindly("one-feed-per-piece on a solid bus", "cover", solid, 1, 2),
        Kindly("feed-reaches-panel", "cover", reach, 2, None),
        Kindly("spare-ways with a reserve", "counts", panel(1, spares=[reserve], strip_limit_a=10, goals=PIECES), 2, 3),
        Kindly("spare-ways on a feed", "cover", on_ignition | {"spares": [reserve | {"feed": "ignition"}]}, 1, None),
        Kindly("one-piece-per-feed-and-row", "counts", strict, 1, 2),
    ]


def on_modules() -> Sequence[Kindly]:
    """Rows that carry little want more modules than a count of their ways and amperes, and there are not so many."""
    weak = panel(circuits=alike(3, 6), modules={"block": M(("3F strip 10",), stock=2)}, goals=BAYS)
    return [
        Kindly("row-current in three modules", "counts", weak, 1, 3),
        Kindly("module-stock", "counts", weak | {"use_stock": True}, 1, None),
        Kindly("module-count", "counts", weak | {"most": {"block": 2}}, 1, None),
    ]


CASES = [
    *on_bonds(),
    *on_currents(),
    *on_relays(),
    *on_hot_neighbours(),
    *on_pins(),
    *on_bays(),
    *on_feeds(),
    *on_modules(),
]


@pytest.mark.parametrize("case", CASES, ids=[case.what for case in CASES])
def test_counts_alone_believe_in_a_better_plan(case: Kindly) -> None:
    """The bound of the coarser model is met by no plan."""
    sized = build_sized(**case.arguments)
    believed, values = BELIEFS[case.blind](sized), planned(sized)
    assert believed is not None
    assert believed[0] == case.believed
    (goal,) = case.arguments["goals"]
    assert (None if values is None else values[goal]) == case.value
