"""The account of a plan adds up to what the checker counts, and its arguments hold of every plan."""

from __future__ import annotations

import csv
from collections import Counter
from fractions import Fraction
from math import ceil

import pytest
from hypothesis import given, settings

from allocator.errors import CannotBeMet
from allocator.explaining.accounts.account import Account
from allocator.explaining.accounts.counting import counting_of
from allocator.explaining.accounts.entries import floor_of_feed
from allocator.explaining.accounts.goals import ACCOUNTS, accounts_of
from allocator.model.frame import Frame
from allocator.outputs.accounts import goals_csv
from allocator.outputs.content import Content
from allocator.plan.index import PlanIndex
from allocator.requirements.scenario import Goal
from allocator.requirements.shown_goals import SHOWN
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from allocator.verifying import goal_values
from tests.builders import A, F, M, P, build_sized
from tests.outputs.conftest import BUNDLED, content_of
from tests.strategies import Arguments, tiny_panels

repeatable = settings(deadline=None, derandomize=True, database=None, max_examples=25)


def accounts(content: Content) -> dict[Goal, Account]:
    return {goal: account(content.index) for goal, account in ACCOUNTS.items()}


@pytest.mark.parametrize("name", [*BUNDLED, "small", "wide", "many"])
def test_shares_as_they_are_read_add_up(name: str) -> None:
    """What stands in goals.csv, added up with a pencil; each is next to its exact amount."""
    content = content_of(name)
    rows = list(csv.DictReader(goals_csv(content).splitlines()))
    for account in content.accounts:
        own = [row for row in rows if row["goal"] == account.goal]
        total = next(row["amount"] for row in own if row["kind"] == "goal")
        shares = [Fraction(row["amount"]) for row in own if row["kind"] == "share"]
        assert sum(shares) == Fraction(total)
        step = SHOWN[account.goal].step if "." in total else None
        unit = Fraction(1) if step is None else step * 10 ** len(total.partition(".")[2])
        for shown, share in zip(shares, account.shares, strict=True):
            assert abs(shown * unit - share.amount) < (step or Fraction(1, 2))


@pytest.mark.parametrize("name", [*BUNDLED, "small", "wide", "many"])
def test_every_account_has_the_number_of_the_checker(name: str) -> None:
    content = content_of(name)
    found = {goal: account.value for goal, account in accounts(content).items()}
    assert found == goal_values(content.sized, content.plan)


@repeatable
@given(tiny_panels(4))
def test_accounts_of_random_panels(arguments: Arguments) -> None:
    """All numbers are the checker's; no feed has fewer entries, and no panel fewer bays, than the arguments say."""
    sized = build_sized(**arguments)
    try:
        plan = allocate(sized)
    except CannotBeMet:
        return
    content = Content(sized, plan)
    found = accounts(content)
    values = goal_values(sized, plan)
    assert {goal: account.value for goal, account in found.items()} == values
    for feed in sized.feeds:
        assert floor_of_feed(sized, feed).entries <= sum(piece.feed == feed for piece in plan.pieces)
    counting = counting_of(Frame(sized), [site.name for site in sized.requirements.scenario.panels])
    assert counting is None or ceil(counting.total) <= values["bays"]


def _weights_of_modules(sized: Sized, shares: dict[str, Fraction]) -> dict[str, Fraction]:
    """Weigh the modules anew, from the catalogue."""
    return {
        module.id: sum(
            (
                *(row.ways * shares.get(f"type {row.fuse_format}", Fraction(0)) for row in module.rows),
                *(group.count * shares.get(group.relay_class, Fraction(0)) for group in module.sockets),
            ),
            Fraction(0),
        )
        for module in sized.requirements.catalogue.modules
    }


@pytest.mark.parametrize("name", BUNDLED)
def test_parts_of_a_bay_can_be_checked_with_a_pencil(name: str) -> None:
    """No module weighs more than its bays, and what is placed weighs at least what the argument says."""
    content = content_of(name)
    counting = counting_of(Frame(content.sized), [site.name for site in content.sized.requirements.scenario.panels])
    assert counting is not None
    shares = dict(counting.share_by_kind)
    for module, weight in _weights_of_modules(content.sized, shares).items():
        beyond = counting.beyond_by_module.get(module, (Fraction(0), 0))[0]
        assert weight <= content.sized.module_by_id[module].bays + beyond
    placed = Counter[str]()
    for item in content.index.needs:
        placed[f"type {item.option.fuse_format}"] += item.way is not None
        placed[str(item.option.relay_class)] += item.socket is not None
    weight = sum((number * shares.get(kind, Fraction(0)) for kind, number in placed.items()), Fraction(0))
    spent = sum((extra * most for extra, most in counting.beyond_by_module.values()), Fraction(0))
    assert weight - spent >= counting.total > ceil(counting.total) - 1


def test_a_limited_module_is_taken_off() -> None:
    """Six ways: one wide module of four in one bay, and no more of them; the rest in modules of one way."""
    sized = build_sized(
        circuits={f"c{number}": A(1) for number in range(6)},
        modules={"wide": M(("4F",)), "narrow": M(("1F",))},
        most={"wide": 1},
        feeds={"main": F(40)},
        panels={"cab": P(6)},
    )
    counting = counting_of(Frame(sized), ["cab"])
    assert counting is not None
    assert (counting.total, dict(counting.beyond_by_module)) == (3, {"wide": (3, 1)})


def test_each_share_names_what_causes_it() -> None:
    """A panel of two feeds, made by hand: which circuits are in which share, and what could be elsewhere."""
    sized = build_sized(
        circuits={"a": A(6, ("main",)), "b": A(3, ("main", "aux")), "c": A(2, ("aux",), relays=("micro",))},
        modules={"ways": M(("2F",)), "sockets": M((), {"micro": 1})},
        feeds={"main": F(10), "aux": F(10)},
        panels={"cab": P(3)},
        goals=("bays", "module-types", "strip-pieces", "peak-utilisation", "long-jumpers", "price"),
    )
    found = {account.goal: account for account in accounts_of(PlanIndex(sized, allocate(sized)))}
    assert sorted(share.needs for share in found["bays"].shares if "socket" in share.why) == [("c",)]
    types = {share.what: share.why for share in found["module-types"].shares}
    assert set(types.values()) == {
        "nothing else in the panel has ways of type F",
        "nothing else in the panel has micro sockets",
    }
    assert sorted(share.needs for share in found["strip-pieces"].shares) == [("a",), ("b", "c")]
    assert [(share.what, share.why) for share in found["peak-utilisation"].shares] == [
        ("a", "6.00 A; on no other feed")
    ]
    assert [share.what for share in found["long-jumpers"].shares] == ["c"]
    assert "no module on offer has a row of type F and a micro socket" in found["long-jumpers"].shares[0].why
    amounts = [share.amount for share in found["price"].shares]
    assert amounts == sorted(amounts, reverse=True)
