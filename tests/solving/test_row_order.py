"""Rows with hot ways: apart in every load case, in as few pieces as any order allows, else as the user lists them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.model.learnt import CrowdedRow, Learnt, learn
from allocator.model.variables import Places
from allocator.plan.plan import Plan
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import plan_of, planned
from tests.model.rule_cases import HOT, alike, panel

WAYS = 5
LIMIT_A = 30
CASES = ("day", "night")
TURNS = ("day", "night", "work")
BY_TURNS = {f"c{n}": A(12, cases=tuple(case for case in TURNS if case != idle)) for n, idle in enumerate(TURNS)}
FEEDS = {"battery": F(200), "ignition": F(200)}
repeatable = settings(deadline=None, derandomize=True, database=None)


@st.composite
def rows(draw: st.DrawFn) -> dict[str, A]:
    """Two to five circuits in one row: hot ones and cool ones, by day, by night or always, some pinned."""
    ways = draw(st.permutations(range(1, WAYS + 1)))
    pinned = draw(st.integers(0, 3)) == 0
    return {
        f"c{number}": A(
            draw(st.sampled_from((2, 12, 14))),
            feeds=(draw(st.sampled_from(list(FEEDS))),),
            cases=draw(st.sampled_from(((), (), CASES[:1], CASES[1:]))),
            pin=f"panel/1/A/{ways[number]}" if pinned and draw(st.booleans()) else "panel/1/A",
        )
        for number in range(draw(st.integers(2, WAYS)))
    }


def fewest_pieces(circuits: Sequence[A], bus: str, *, one_each: bool) -> int | None:
    """Try every order of the circuits over the ways; None where none keeps pins, limit and hot ways apart."""
    best: int | None = None
    for order in permutations([*circuits, *[None] * (WAYS - len(circuits))]):
        right = all(a is None or a.pin in ("panel/1/A", f"panel/1/A/{way}") for way, a in enumerate(order, 1))
        if not right or any(_both_hot(one, other) for one, other in pairwise(order)):
            continue
        pieces = len(circuits) if bus == "single" else _pieces(order, one_each=one_each)
        if pieces is not None and (best is None or pieces < best):
            best = pieces
    return best


def _runs_in(a: A, case: str) -> bool:
    return case in (a.cases or CASES)


def _both_hot(one: A | None, other: A | None) -> bool:
    if one is None or other is None:
        return False
    return min(one.load_a, other.load_a) >= 10 and any(_runs_in(one, case) and _runs_in(other, case) for case in CASES)


def _pieces(order: Sequence[A | None], *, one_each: bool) -> int | None:
    """Cut a row from its first way on: a new piece wherever the last one ends or can carry no more."""
    feeds: list[str] = []
    loads = dict.fromkeys(CASES, 0.0)
    before: A | None = None
    for a in order:
        if a is not None:
            own = {case: a.load_a * _runs_in(a, case) for case in CASES}
            goes_on = before is not None and before.feeds == a.feeds
            if goes_on and all(loads[case] + own[case] <= LIMIT_A for case in CASES):
                loads = {case: loads[case] + own[case] for case in CASES}
            else:
                loads = own
                feeds.append(a.feeds[0])
        before = a
    return None if one_each and len(set(feeds)) < len(feeds) else len(feeds)


@settings(repeatable, max_examples=60)
@given(rows(), st.sampled_from(("strip", "strip", "single")), st.booleans())
def test_no_order_has_fewer_pieces(circuits: dict[str, A], bus: str, one_each: bool) -> None:
    sized = build_sized(
        circuits=circuits,
        modules={"block": M((f"{WAYS}F {bus}",))},
        feeds=FEEDS,
        cases=CASES,
        panels={"panel": P(1)},
        strip_limit_a=LIMIT_A,
        goals=("strip-pieces",),
        one_piece_per_feed_and_row=one_each,
        **HOT,
    )
    values = planned(sized)
    expected = fewest_pieces(list(circuits.values()), bus, one_each=one_each)
    assert (None if values is None else values["strip-pieces"]) == expected


def order_of(plan: Plan) -> list[str]:
    return [f"{way.at.rpartition('/')[2]} {way.need}" for way in plan.ways]


def test_hot_ways_lie_apart_and_the_rest_as_listed() -> None:
    """The second hot one waits for the first cool one; what is left follows in the user's order."""
    names = ("fan", "heater", "lamp", "radio", "tail")
    circuits = {name: A(12 if name in ("fan", "heater", "radio") else 2) for name in names}
    plan = plan_of(**panel(circuits=circuits, rows=("5F",), goals=("strip-pieces",), **HOT))
    assert order_of(plan) == ["1 fan", "2 lamp", "3 heater", "4 tail", "5 radio"]
    free = plan_of(**panel(circuits=circuits, rows=("5F",), goals=("strip-pieces",)))
    assert [way.need for way in free.ways] == list(names)


def test_an_empty_way_may_lie_between_hot_ones_of_two_pieces() -> None:
    plan = plan_of(**panel(circuits=alike(2, 12), rows=("3F",), goals=("bays", "strip-pieces"), **HOT))
    assert order_of(plan) == ["1 c0", "3 c1"]
    assert [piece.at for piece in plan.pieces] == ["panel/1/A/1-1", "panel/1/A/3-3"]


@pytest.mark.parametrize("bus", ["single", "stud"])
def test_singles_and_studs_leave_ways_empty_anywhere(bus: str) -> None:
    plan = plan_of(**panel(circuits=alike(3, 12), rows=(f"5F {bus}",), goals=("bays",), **HOT))
    assert order_of(plan) == ["1 c0", "3 c1", "5 c2"]


def test_a_branch_is_hot_by_what_flows_through_it() -> None:
    """Its own fuse lies beside a hot way as long as little flows behind it."""
    feeds = {"battery": F(200), "branch": F(100, source="battery", fuse="F")}

    def fewest(behind_a: float) -> object:
        circuits = {"fan": A(12, feeds=("battery",)), "lamp": A(behind_a, feeds=("branch",), formats=("C",))}
        values = planned(
            build_sized(**panel(circuits=circuits, feeds=feeds, modules={"m": M(("2F", "1C"))}, goals=("bays",), **HOT))
        )
        return None if values is None else values["bays"]

    assert (fewest(9), fewest(11)) == (1, 2)


def test_the_share_of_the_fuse_and_the_least_load_both_count() -> None:
    """Fuses are of 26 A here: 12 A are 46 % of them."""
    hot = panel(circuits=alike(2, 12), rows=("2F",), goals=("bays",), hot_from="10 A")
    assert [plan_of(**hot | {"hot_share": share}).goals[0].value for share in ("46 %", "47 %")] == [2, 1]
    assert plan_of(**hot | {"hot_share": "46 %", "hot_from": "12.001 A"}).goals[0].value == 1
    assert plan_of(**hot).goals[0].value == 1


def test_the_model_learns_which_rows_are_crowded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of three every two are hot together in some case: each case asks for three ways, and the row for five."""
    learnt: list[Learnt] = []

    def listen(x: Places, fact: Learnt) -> None:
        learnt.append(fact)
        learn(x, fact)

    monkeypatch.setattr("allocator.solving.attempt.learn", listen)
    fewest = {
        row: plan_of(**panel(circuits=BY_TURNS, rows=(row,), cases=TURNS, goals=("bays",), **HOT)).goals[0].value
        for row in ("4F", "5F")
    }
    assert fewest == {"4F": 2, "5F": 1}
    assert CrowdedRow in {type(fact) for fact in learnt}
