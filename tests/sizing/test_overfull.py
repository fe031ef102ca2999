"""Feeds with more on them than they may carry: exact sums, never a word too many, against all choices counted out."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product
from typing import Any

from allocator.requirements.places import Origins, Spot
from allocator.sizing.overfull import overfull, overloads
from allocator.sizing.sized import Sized
from tests.builders import build_sized
from tests.specs import A, F, M

ROOM = {"rows": M(("8F",) * 4)}


def _messages(**panel: Any) -> list[str]:
    return [fault.message for fault in overfull(build_sized(modules=ROOM, **panel))]


def test_a_feed_is_refused_from_one_milliampere_over_what_it_may_carry() -> None:
    feeds = {"main": F(20), "other": F(20)}
    just = {"a": A(6, feeds=("main",)), "b": A(10, feeds=("main",)), "c": A(9, feeds=("main", "other"))}
    assert _messages(circuits=just, feeds=feeds, feed_loading=80) == []
    over = just | {"b": A(10.001, feeds=("main",))}
    assert _messages(circuits=over, feeds=feeds, feed_loading=80) == [
        'feed "main" cannot carry what must be on it: 16.001 A in load case "always", and 16 A are allowed'
    ]


def test_loads_that_never_run_together_are_not_added() -> None:
    circuits = {"a": A(9, feeds=("main",), cases=("day",)), "b": A(9, feeds=("main",), cases=("night",))}
    assert _messages(circuits=circuits, feeds={"main": F(10)}, cases=("day", "night")) == []
    assert _messages(
        circuits=circuits | {"c": A(2, feeds=("main",), cases=("night",))},
        feeds={"main": F(10)},
        cases=("day", "night"),
    ) == ['feed "main" cannot carry what must be on it: 11 A in load case "night", and 10 A are allowed']


def test_a_source_carries_what_is_on_its_branches_too() -> None:
    """Each of the two feeds alone could carry its own; the source carries both, and the coil of the branch's relay."""
    feeds = {"main": F(20), "key": F(15, source="main", relay="micro")}
    circuits = {"a": A(6, feeds=("main",)), "b": A(14, feeds=("key", "main"))}
    assert _messages(circuits=circuits, feeds=feeds) == []
    assert _messages(circuits=circuits, feeds=feeds, coil_ma={"micro": 100}) == [
        'feed "main" cannot carry what must be on it: 20.1 A in load case "always", and 20 A are allowed'
    ]
    (fault,) = overfull(build_sized(modules=ROOM, circuits=circuits, feeds=feeds, coil_ma={"micro": 100}))
    assert fault.known == (
        "b 14 A + a 6 A + feed key 0.1 A = 20.1 A > 20 A, 100 % of its 20 A; all of them accept only it or its branches"
    )


def test_both_faults_stand_where_the_user_wrote_the_field() -> None:
    circuits = {name: A(5, feeds=("main",)) for name in "ab"}
    sized = build_sized(modules=ROOM, circuits=circuits, feeds={"main": F(9)}, apart=[(("a", "b"), "feed")])
    spots = {
        ("feeds", "main"): Spot("scenario.toml", "[[feeds]] no. 1", "", (), {"rating": "9 A"}),
        ("circuits", "a"): Spot("circuits.csv", "row 2", "", (), {"feeds": "main"}),
    }
    overload, apart = overfull(replace(sized, requirements=sized.requirements.read_from(Origins(spots))))
    assert (overload.rule, overload.where) == (
        "feed-overloaded",
        'scenario.toml, [[feeds]] no. 1, field "rating" = "9 A"',
    )
    assert overload.hint == "raise its rating, or let some of them accept another feed"
    assert (apart.rule, apart.where) == ("too-few-feeds", 'circuits.csv, row 2, field "feeds" = "main"')
    assert apart.known == "2 circuits, each on a feed of its own, and 1 feed"
    assert apart.hint == "let one of them accept another feed, or give up the rule (separate_from, or [[rules.apart]])"


def test_of_some_needs_only_what_they_draw_counts() -> None:
    circuits = {"a": A(6, feeds=("main",)), "b": A(5, feeds=("main",))}
    sized = build_sized(modules=ROOM, circuits=circuits, feeds={"main": F(5)})
    (fault,) = overloads(sized, among={"a"})
    assert fault.known.startswith("a 6 A = 6 A > 5 A")
    assert [*overloads(sized, among={"b"})] == []


def test_the_sum_is_told_term_by_term() -> None:
    circuits = {f"c{number}": A(number, feeds=("main",)) for number in range(1, 9)}
    (fault,) = overfull(build_sized(circuits=circuits, modules=ROOM, feeds={"main": F(40)}, feed_loading=80))
    assert fault.known == (
        "c8 8 A + c7 7 A + c6 6 A + c5 5 A + c4 4 A + c3 3 A + 2 more 3 A = 36 A > 32 A, 80 % of its 40 A; "
        "all of them accept only it"
    )


def test_circuits_apart_need_as_many_feeds_as_they_are() -> None:
    feeds = {"one": F(40), "two": F(40), "three": F(40)}
    on_one = {"a": A(1, feeds=("one",)), "b": A(1, feeds=("one",))}
    assert _messages(circuits=on_one, feeds=feeds, apart=[(("a", "b"), "feed")]) == [
        'circuits "a" and "b" must be on different feeds, and accept only "one"'
    ]
    assert _messages(circuits=on_one, feeds=feeds, apart=[(("a", "b"), "row")]) == []
    three = {name: A(1, feeds=("one", "two")) for name in "abc"}
    (fault,) = overfull(build_sized(circuits=three, modules=ROOM, feeds=feeds, apart=[(("a", "b", "c"), "feed")]))
    assert fault.message == 'circuits "a", "b" and "c" must be on different feeds, and accept only "one" and "two"'
    assert fault.known == "3 circuits, each on a feed of its own, and 2 feeds"
    twice = _messages(circuits=on_one, feeds=feeds, apart=[(("a", "b"), "feed"), (("b", "a"), "feed")])
    assert twice == ['circuits "a" and "b" must be on different feeds, and accept only "one"']
    others = on_one | {name: A(1, feeds=("two",)) for name in "cd"}
    bonds = [(("a", "b"), "row"), (("a", "b"), "feed"), (("c", "d"), "feed")]
    assert [text[-4:-1] for text in _messages(circuits=others, feeds=feeds, apart=bonds)] == ["one", "two"]
    mixed = {"x": A(1, feeds=("one", "two")), "y": A(1, feeds=("three",)), **on_one}
    (fault,) = overfull(build_sized(circuits=mixed, modules=ROOM, feeds=feeds, apart=[(tuple("xyab"), "feed")]))
    assert fault.message == 'circuits "a" and "b" must be on different feeds, and accept only "one"'
    three["c"] = A(1, feeds=("two", "three"))
    assert _messages(circuits=three, feeds=feeds, apart=[(("a", "b", "c"), "feed")]) == []


def test_what_is_refused_has_no_choice_of_feeds_in_random_panels() -> None:
    """Every choice of a feed for every circuit is counted through: where a fault is told, none of them is allowed."""
    chance = random.Random(8)
    refused = kept = 0
    for _ in range(150):
        names = ("one", "two", "key")
        feeds = {"one": F(chance.randint(5, 30)), "two": F(chance.randint(5, 30))}
        feeds["key"] = F(chance.randint(5, 30), source="one", fuse="F")
        circuits = {
            name: A(chance.randint(1, 8), feeds=tuple(sorted(chance.sample(names, chance.randint(1, 2)))))
            for name in "abcde"
        }
        pair = tuple(chance.sample("abcde", 2))
        sized = build_sized(circuits=circuits, modules=ROOM, feeds=feeds, feed_loading=80, apart=[(pair, "feed")])
        possible = any(
            _allowed(sized, dict(zip("abcde", chosen, strict=True)), feeds, pair)
            for chosen in product(*(circuits[name].feeds for name in "abcde"))
        )
        told = overfull(sized)
        assert not (told and possible)
        refused += bool(told)
        kept += possible
    assert refused > 30
    assert kept > 30


def _allowed(sized: Sized, feed_of: dict[str, str], feeds: dict[str, F], pair: tuple[str, ...]) -> bool:
    carried = dict.fromkeys(feeds, 0)
    for circuit, feed in feed_of.items():
        at: str | None = feed
        while at is not None:
            carried[at] += sized.need_by_id[circuit].load_ma_by_case[0]
            at = feeds[at].source
    apart = feed_of[pair[0]] != feed_of[pair[1]]
    return apart and all(carried[name] <= feed.rating_a * 800 for name, feed in feeds.items())
