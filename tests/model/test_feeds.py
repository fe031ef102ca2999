"""What flows in the tree of feeds: branches on their sources, coils and reserves, and the entries of them all."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from allocator.verifying import verify
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import plan_of, planned
from tests.model.rule_cases import alike, panel

PEAK = ("peak-utilisation",)
BLOCK = {"block": M(("4F", "1E"), {"heavy": 1, "micro": 1})}


def peak(**arguments: Any) -> Fraction:
    return plan_of(**(panel(modules=BLOCK, goals=PEAK) | arguments)).goals[0].value


def fewest_bays(**arguments: Any) -> Fraction | None:
    values = planned(build_sized(**arguments))
    return None if values is None else values["bays"]


@pytest.mark.parametrize(
    ("night_a", "expected"),
    [(1, Fraction(8, 16)), (10, Fraction(14, 20))],
    ids=["the branch by day", "its source by night"],
)
def test_the_source_carries_the_branch_in_every_case(night_a: float, expected: Fraction) -> None:
    """By day 8 A flow on the branch of 16 A; by night 4 A, and something on its source of 20 A besides."""
    assert expected == peak(
        feeds={"battery": F(20), "branch": F(16, source="battery", fuse="E")},
        circuits={
            "day": A(8, feeds=("branch",), cases=("day",)),
            "night": A(4, feeds=("branch",), cases=("night",)),
            "lamp": A(night_a, feeds=("battery",), cases=("night",)),
        },
        cases=("day", "night"),
    )


def test_three_feeds_in_line_carry_the_last_one() -> None:
    """What flows at the end flows all the way."""
    first_of_three = {"battery": F(30), "middle": F(40, source="battery", fuse="E")}
    assert peak(
        feeds=first_of_three | {"end": F(50, source="middle", fuse="F")},
        circuits={"lamp": A(6, feeds=("end",))},
    ) == Fraction(6, 30)


@pytest.mark.parametrize(
    ("control", "expected"),
    [(None, Fraction(5400, 40_000)), ("switch", Fraction(1400, 10_000))],
    ids=["own", "control"],
)
def test_a_coil_hangs_on_its_control_or_on_the_source(control: str | None, expected: Fraction) -> None:
    """The heavy relay's coil draws 0.4 A in all cases, from the source or from the control circuit."""
    assert expected == peak(
        feeds={
            "battery": F(40),
            "accessory": F(10),
            "branch": F(100, source="battery", fuse="E", relay="heavy", control=control),
        },
        circuits={"lamp": A(5, feeds=("branch",)), "switch": A(1, feeds=("accessory",))},
        coil_ma={"heavy": 400},
    )


def test_a_branch_with_only_a_relay_is_one_entry_and_no_way() -> None:
    """Its source enters at the socket; the circuits behind it have a piece of their own."""
    plan = plan_of(
        **panel(
            circuits=alike(2, feeds=("branch",)),
            feeds={"battery": F(100), "branch": F(100, source="battery", relay="heavy")},
            modules=BLOCK,
            goals=("strip-pieces", "bays"),
        )
    )
    assert [result.value for result in plan.goals] == [2, 1]
    assert [(piece.at, piece.kind, piece.feed) for piece in plan.pieces] == [
        ("panel/1/A/1-2", "strip", "branch"),
        ("panel/1/S1", "socket", "battery"),
    ]
    assert {way.need for way in plan.ways} == {"c0", "c1"}


def test_a_branch_counts_where_its_own_fuse_lies() -> None:
    """A row that carries 9 A cannot hold the branch's fuse as soon as 10 A flow behind it."""
    arguments = panel(
        circuits={"lamp": A(9, feeds=("branch",), formats=("C",))},
        feeds={"battery": F(100), "branch": F(20, source="battery", fuse="F")},
        modules={"block": M(("4F strip 9", "1C"))},
    )
    assert fewest_bays(**arguments) == 1
    assert fewest_bays(**arguments | {"circuits": {"lamp": A(10, feeds=("branch",), formats=("C",))}}) is None


def test_reserves_load_their_feed_and_every_feed_above_it() -> None:
    """Two spare ways with 3 A each on a branch are 6 A on its source."""
    assert peak(
        circuits={"lamp": A(1, feeds=("battery",)), "radio": A(1, feeds=("branch",))},
        feeds={"battery": F(40), "branch": F(100, source="battery", fuse="E")},
        spares=[{"fuse_format": "F", "count": 2, "reserve": "3 A", "feed": "branch"}],
    ) == Fraction(8, 40)


def test_feeds_share_the_load_so_that_the_busiest_has_least() -> None:
    """Ratings without a common measure: circuits of 5 A on feeds of 7, 11 and 13 A."""
    ratings = {"small": F(7), "middle": F(11), "large": F(13)}
    one_each = {f"c{n}": A(5) for n in range(3)}
    assert peak(circuits=one_each, feeds=ratings, feed_loading=90) == Fraction(5, 7) / Fraction(9, 10)
    two_on_the_largest = {"c0": A(5), "c1": A(5)}
    assert peak(circuits=two_on_the_largest, feeds=ratings) == Fraction(5, 11)


def test_feeds_reach_only_their_panels() -> None:
    """Each panel gets what its feed can serve, and the bays for it."""
    plan = plan_of(
        **panel(
            circuits={"bow": A(5), "stern": A(5, feeds=("aft",)), "hatch": A(5, feeds=("fore",))},
            feeds={"fore": F(100, panels=("front",)), "aft": F(100, panels=("rear",))},
            panels={"front": P(1), "rear": P(1)},
            goals=("bays", "panels"),
        )
    )
    assert [result.value for result in plan.goals] == [2, 2]
    panel_of = {way.need: way.at.partition("/")[0] for way in plan.ways}
    feed_of = {way.need: way.feed for way in plan.ways}
    assert (panel_of["stern"], panel_of["hatch"]) == ("rear", "front")
    assert feed_of["bow"] == {"front": "fore", "rear": "aft"}[panel_of["bow"]]


@pytest.mark.parametrize("key_out", ["c0", "c1"])
def test_circuits_alike_but_for_key_out_are_told_apart(key_out: str) -> None:
    """The feed with much to spare is for the one that may lose it; the other stays on the permanent one."""
    plan = plan_of(
        **panel(
            circuits={name: A(5, key_out=name == key_out) for name in ("c0", "c1")},
            feeds={"ignition": F(50, kind="ignition"), "battery": F(7)},
            goals=PEAK,
        )
    )
    feed_of = {way.need: way.feed for way in plan.ways}
    assert feed_of.pop(key_out) == "battery"
    assert set(feed_of.values()) == {"ignition"}


KEYED: dict[str, Any] = {
    "feeds": {"battery": F(100), "ignition": F(100, kind="ignition")},
    "modules": {"m": M(("4F strip", "4F strip"), {"micro": 2})},
}


def test_the_control_of_a_circuit_that_must_work_with_the_key_out_does_too() -> None:
    """Its relay would drop out with the key, whatever feed its own fuse is on."""
    kept = A(5, feeds=("battery",), relays=("micro",), control="c1", key_out=True)
    plan = plan_of(**panel(circuits={"c0": kept, "c1": A(1, feeds=("ignition", "battery"))}, **KEYED))
    assert {way.need: way.feed for way in plan.ways}["c1"] == "battery"


def test_the_checker_follows_the_coil_of_such_a_circuit() -> None:
    """A plan with the control on the ignition feed is refused as soon as the key may be out."""
    lost = A(5, feeds=("battery",), relays=("micro",), control="c1")
    arguments = panel(circuits={"c0": lost, "c1": A(1, feeds=("ignition",))}, **KEYED)
    kept = arguments | {"circuits": arguments["circuits"] | {"c0": replace(lost, key_out=True)}}
    (finding,) = verify(build_sized(**kept), plan_of(**arguments))
    assert finding.rule == "key-out" and 'coil of its relay hangs on "c1"' in finding.detail
