"""Rows with pinned ways: the fewest pieces over all orders, as trying every order finds them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.model.learnt import Learnt, RefusedRow, TooMuchForPieces, learn
from allocator.model.variables import Places
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import plan_of, planned
from tests.model.rule_cases import alike, panel

WAYS = 4
LIMIT_A = 10
repeatable = settings(deadline=None, derandomize=True, database=None)
FEEDS = {"battery": F(100), "ignition": F(100)}


@st.composite
def pinned_rows(draw: st.DrawFn) -> dict[str, A]:
    """Two to four circuits in one row, each on a feed of its own choice, some pinned to a way."""
    ways = draw(st.permutations(range(1, WAYS + 1)))
    circuits = {}
    for number in range(draw(st.integers(2, WAYS))):
        place = f"panel/1/A/{ways[number]}" if draw(st.booleans()) else "panel/1/A"
        circuits[f"c{number}"] = A(draw(st.integers(2, 7)), feeds=(draw(st.sampled_from(list(FEEDS))),), pin=place)
    return circuits


def fewest_pieces(circuits: Mapping[str, A], *, one_each: bool) -> int | None:
    """Try every order of the circuits over the ways; None where no order keeps the pins and the limit."""
    best: int | None = None
    for order in permutations([*circuits.values(), *[None] * (WAYS - len(circuits))]):
        right = all(a is None or a.pin in ("panel/1/A", f"panel/1/A/{way}") for way, a in enumerate(order, 1))
        pieces = _pieces(order)
        if right and (not one_each or len({feed for feed, _ in pieces}) == len(pieces)):
            best = len(pieces) if best is None else min(best, len(pieces))
    return best


def _pieces(order: Sequence[A | None]) -> list[tuple[str, float]]:
    """Cut a row from its first way on: a new piece wherever the last one ends or can carry no more."""
    pieces: list[tuple[str, float]] = []
    before: A | None = None
    for a in order:
        if a is not None:
            goes_on = before is not None and before.feeds == a.feeds and pieces[-1][1] + a.load_a <= LIMIT_A
            if goes_on:
                pieces[-1] = (pieces[-1][0], pieces[-1][1] + a.load_a)
            else:
                pieces.append((a.feeds[0], a.load_a))
        before = a
    return pieces


@settings(repeatable, max_examples=60)
@given(pinned_rows(), st.booleans())
def test_no_order_has_fewer_pieces(circuits: dict[str, A], one_each: bool) -> None:
    sized = build_sized(
        circuits=circuits,
        modules={"block": M((f"{WAYS}F",))},
        feeds=FEEDS,
        panels={"panel": P(1)},
        strip_limit_a=LIMIT_A,
        goals=("strip-pieces",),
        one_piece_per_feed_and_row=one_each,
    )
    values = planned(sized)
    assert (None if values is None else values["strip-pieces"]) == fewest_pieces(circuits, one_each=one_each)


def test_what_is_not_pinned_lies_in_the_users_order_around_the_pins() -> None:
    plan = plan_of(**panel(circuits=alike(4) | {"c0": A(5, pin="panel/1/A/3")}))
    assert [way.need for way in plan.ways] == ["c1", "c2", "c0", "c3"]
    assert [piece.at for piece in plan.pieces] == ["panel/1/A/1-4"]


@pytest.mark.parametrize(
    ("circuits", "kind"),
    [
        pytest.param(alike(7, 2.6), TooMuchForPieces, id="no split, in any order"),
        pytest.param(
            {f"c{n}": A(load, pin=f"panel/1/A/{n + 1}") for n, load in enumerate((7, 7, 3, 3))},
            RefusedRow,
            id="no split in the pinned order",
        ),
    ],
)
def test_the_model_learns_why_a_row_cannot_be_arranged(
    circuits: Mapping[str, A], kind: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The model sees a row's load in sum: it first asks for two pieces, and is told why there must be three."""
    learnt: list[Learnt] = []

    def listen(x: Places, fact: Learnt) -> None:
        learnt.append(fact)
        learn(x, fact)

    monkeypatch.setattr("allocator.solving.attempt.learn", listen)
    row = {"block": M(("7F",))}
    plan = plan_of(**panel(circuits=circuits, modules=row, strip_limit_a=LIMIT_A, goals=("strip-pieces",)))
    assert plan.goals[0].value == 3
    assert {type(fact) for fact in learnt} == {kind}


def test_ways_of_branches_of_which_no_two_share_a_piece_are_learnt_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """
    Three branches draw 3.2, 7 and 7 A of entries for 10 A: 17.2 A in sum are two entries, but any two are too much.

    Two small loads may be on any of them, so that a branch can draw a little more or less; it is one fact all the same.
    """
    learnt: list[Learnt] = []

    def listen(x: Places, fact: Learnt) -> None:
        learnt.append(fact)
        learn(x, fact)

    monkeypatch.setattr("allocator.solving.attempt.learn", listen)
    branches = {f"b{n}": F(20, source="battery", fuse="F") for n in (1, 2, 3)}
    circuits = {f"c{n}": A(load, feeds=(f"b{n}",), formats=("C",)) for n, load in ((1, 3.2), (2, 7), (3, 7))}
    circuits |= {f"small{n}": A(0.01, feeds=tuple(branches), formats=("C",)) for n in (1, 2)}
    plan = plan_of(
        **panel(
            circuits=circuits,
            feeds={"battery": F(100)} | branches,
            modules={"block": M(("4F", "6C"))},
            strip_limit_a=LIMIT_A,
            goals=("strip-pieces",),
        )
    )
    assert plan.goals[0].value == 3 + 3
    assert [type(fact) for fact in learnt] == [TooMuchForPieces]
