"""What counts do see: panels where the bound of the count model is the optimum, so that no search is needed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.builders import A, F, M, P, build_sized
from tests.model.checked import believed_by_counts, planned
from tests.model.rule_cases import FRONT_AND_REAR, HOT, alike, bonded, panel, pinned

BAYS = ("bays",)
APART_MODULES = {"ways": M(("2F",)), "sockets": M((), {"micro": 2})}
AT_BOTH_ENDS = {"c0": A(5, panels=("front",)), "c1": A(5, panels=("rear",))}
# Three feeds with one hot way each, and five cool ways of a fourth, which lie between two pairs of them and no more.
AMONG_COOL_ONES = panel(
    circuits={f"hot-{feed}": A(12, feeds=(feed,)) for feed in ("a", "b", "c")}
    | {f"cool-{n}": A(2, feeds=("d",)) for n in range(5)},
    rows=("8F",),
    feeds={name: F(100) for name in ("a", "b", "c", "d")},
    panels={"panel": P(1)},
    goals=("strip-pieces",),
    **HOT,
)

CASES: Mapping[str, tuple[Mapping[str, Any], int | None]] = {
    "sockets": (
        panel(circuits=alike(3, relays=("micro",)), modules={"block": M(("4F",), {"micro": 1})}, goals=BAYS),
        3,
    ),
    "relays in modules without ways": (
        panel(circuits=alike(2, relays=("micro",)), modules=APART_MODULES, goals=("long-jumpers",)),
        2,
    ),
    "amperes of pieces": (panel(circuits=alike(4, 5), strip_limit_a=10, goals=("strip-pieces",)), 2),
    "hot ways beside each other": (panel(circuits=alike(3, 12), goals=BAYS, **HOT), 2),
    "hot ways where pieces meet": (AMONG_COOL_ONES, 5),
    "hot ways where pieces meet, one for each feed": (AMONG_COOL_ONES | {"one_piece_per_feed_and_row": True}, None),
    "amperes of modules": (panel(4, modules={"block": M(("4F",), limit_a=10)}, goals=BAYS), 2),
    "amperes of feeds in every case": (
        panel(
            circuits={"c0": A(5, cases=("day",)), "c1": A(5, cases=("night",)), "c2": A(2)},
            cases=("day", "night"),
            feeds={"battery": F(7), "ignition": F(2)},
            goals=("strip-pieces",),
        ),
        1,
    ),
    "one feed on a stud": (
        panel(
            circuits={"c0": A(5, feeds=("battery",)), "c1": A(5, feeds=("ignition",))},
            feeds={"battery": F(100), "ignition": F(100)},
            modules={"block": M(("4F stud",))},
            goals=BAYS,
        ),
        2,
    ),
    "modules over all panels": (
        panel(circuits=AT_BOTH_ENDS, panels=FRONT_AND_REAR, most={"block": 1}, goals=BAYS),
        None,
    ),
    "a module in every pinned bay": (panel(circuits=pinned("panel/1", "panel/2"), goals=BAYS), 2),
    "two-bay modules in carriers of three": (
        panel(12, modules={"block": M(("4F",), bays=2)}, carriers={"triple": 3}, goals=BAYS),
        9,
    ),
    "circuits apart in feeds": (panel(apart=bonded("feed", "c0", "c1"), goals=BAYS), None),
    "circuits together at a panel": (
        panel(2, ("1F",), panels={"front": P(1), "rear": P(1)}, together=bonded("panel", "c0", "c1"), goals=BAYS),
        None,
    ),
}


@pytest.mark.parametrize("what", CASES)
def test_the_count_is_the_optimum(what: str) -> None:
    arguments, value = CASES[what]
    sized = build_sized(**arguments)
    believed, values = believed_by_counts(sized), planned(sized)
    assert (None if believed is None else believed[0]) == value
    assert (None if values is None else values[arguments["goals"][0]]) == value
