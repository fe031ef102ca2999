"""Goal values against a panel small enough to be added up on paper."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from allocator.plan.plan import Piece
from allocator.verifying import goal_values, verify
from allocator.verifying.bill import Bill
from allocator.verifying.view import View
from tests.verifying.edits import change, remove
from tests.verifying.hand_built import good
from tests.verifying.other_tables import with_circuit, with_part, with_sized_feed
from tests.verifying.paper_panel import paper, paper_feed


def test_parts_and_wires_as_counted_on_paper() -> None:
    """Six entries: four tails of main on two studs, one cable straight into a socket, one straight into a strip."""
    bill = Bill(View(*paper()))
    assert +bill.parts == {
        "c3": 1, "c1": 1, "m": 2, "n": 1,
        "f": 5, "r": 2, "tf": 4, "holder": 4, "post": 2,
        "tab": 5 + 4 + 4 + 1,  # a with its relay; b to e; the relay of sub; the way fed singly
        "inlet": 3, "ring": 1 + 4,  # the stud of n; the tails of main
        "big-ring": (1 + 1 + 2) + (1 + 2),  # main: main fuse, stud, link; aux: main fuse, both ends of the lead
        "m100": 1, "m60": 1, "mh": 2,
        "carrier": 2 * 1, "bay": 4 * 2, "empty-bay": 1 * 3, "module": 3 * 4, "row": 4 * 5, "socket": 2 * 6,
        "relay": 2 * 7, "unused-cavity": (28 - 17) * 8, "feed-tail": 6 * 9,
    }  # fmt: skip
    assert bill.strip_ways == {"s": 3}
    assert bill.wire_mm == {"w": 5 * 1250 + 100 + 100 + 4 * 400 + 400, "cable": 2000 + 100 + 3000 + 200}


def test_values_as_counted_on_paper() -> None:
    """Counts by hand; aux carries 5 A of sub and its coil at night, main 34.1 A by day."""
    sized, plan = paper()
    parts = (
        3000
        + 1100
        + 2 * 1000
        + 2000
        + 5 * 100
        + 2 * 200
        + 4 * 50
        + 4 * 300
        + 2 * 500
        + 14 * 10
        + 3 * 20
        + 5 * 30
        + 7 * 40
        + 250
        + 200
        + 2 * 600
    )
    accessories = 2 * 1 + 8 * 2 + 3 * 3 + 12 * 4 + 20 * 5 + 12 * 6 + 14 * 7 + 88 * 8 + 54 * 9
    assert goal_values(sized, plan) == {
        "bays": 4,
        "module-types": 2,
        "strip-pieces": 6,
        "peak-utilisation": Fraction(34_100, 80_000),
        "long-jumpers": 0,
        "price": parts + accessories + Fraction(3 * 700, 20) + Fraction(8450 * 100 + 5300 * 400, 1000),
        "carriers": 2,
        "footprint": Fraction(201, 2) * 80 + 3200,
        "panels": 2,
        "wire-length": 8450 + 5300,
        "copper": 8450 * 6 + 5300 * 25,
        "spare-ways": 2 * 3 + 4 - 5,
    }  # fmt: skip


def test_the_paper_panel_keeps_every_rule() -> None:
    assert verify(*paper()) == ()


def test_a_relay_in_another_module_takes_a_long_jumper() -> None:
    """0.5 m in place of 0.1 m of jumper wire, and of the lead from 86 to its way; one to a control stays."""
    sized, plan = paper()
    before = goal_values(sized, plan)
    after = goal_values(sized, change(plan, "sockets", "a", at="two/1/S1"))
    assert after["long-jumpers"] == 1
    assert after["wire-length"] - before["wire-length"] == 800
    controlled = with_circuit(sized, "a", control="b")
    moved = goal_values(controlled, change(plan, "sockets", "a", at="two/1/S1"))
    assert moved["wire-length"] - before["wire-length"] == 400


@pytest.mark.parametrize(("entries", "studs"), [(1, 1), (2, 1), (3, 1), (4, 2), (5, 2), (6, 3)])
def test_studs_for_so_many_tails(entries: int, studs: int) -> None:
    """Each stud but the ends of the chain gives two of its four places to links."""
    sized, plan = paper()
    ways = [Piece(at=f"one/2/A/{way}", kind="single", feed="main") for way in range(1, entries + 1)]
    assert Bill(View(sized, plan.model_copy(update={"pieces": tuple(ways)}))).parts["post"] == studs


@pytest.mark.parametrize(("stack", "studs"), [(5, 1), (4, 2), (3, 3), (2, 3), (1, 3)])
def test_studs_of_so_many_places(stack: int, studs: int) -> None:
    """For four tails; a stack too small to chain is counted as one that takes one tail more with each stud."""
    sized, plan = paper()
    assert Bill(View(with_sized_feed(sized, "main", stud_stack=stack), plan)).parts["post"] == studs


def test_no_stud_for_two_tails_where_the_table_has_none() -> None:
    """A sizing table without a stud, or a stack too small to chain, still gives a value."""
    sized, plan = paper()
    bare = replace(sized, feeds=dict(sized.feeds) | {"main": paper_feed("main", 100, stud=None, stud_stack=2)})
    assert Bill(View(bare, plan)).parts["post"] == 0


def test_a_feed_without_rating_has_no_utilisation() -> None:
    """Nothing is divided by zero; the rule on feeds reports the load."""
    sized, plan = paper()
    rules = sized.requirements.scenario.rules.model_copy(update={"feed_loading": 0.0})
    scenario = sized.requirements.scenario.model_copy(update={"rules": rules})
    none = replace(sized, requirements=sized.requirements.model_copy(update={"scenario": scenario}))
    assert goal_values(none, plan)["peak-utilisation"] == 0
    assert [finding.where for finding in verify(none, plan) if finding.rule == "feed-current"] == [
        'feed "main"',
        'feed "aux"',
        'feed "sub"',
    ]


def test_values_of_the_hand_built_plan() -> None:
    """What can be seen at a glance: 9 bays of 4 carriers, 4 types, 11 entries; the relay of horn is far."""
    sized, plan = good()
    values = goal_values(sized, plan)
    expected = {"bays": 9, "module-types": 4, "strip-pieces": 11, "carriers": 4, "panels": 2, "long-jumpers": 1}
    assert {goal: value for goal, value in values.items() if goal in expected} == expected
    assert values["footprint"] == (220 + 120 + 120 + 70) * 120


def test_strips_are_counted_by_the_row_they_are_fitted_to() -> None:
    """Four pieces in first rows, over 9 ways, and three in second rows of module twin, over 5."""
    sized, plan = good()
    assert Bill(View(sized, plan)).strip_ways == {"bridge-c": 14}
    first, second = sized.module_by_id["twin"].rows
    other = with_part(sized, "modules", "twin", rows=(first, second.model_copy(update={"strip": "other"})))
    assert Bill(View(other, plan)).strip_ways == {"bridge-c": 9, "other": 5}


def test_a_cable_to_a_panel_that_the_table_has_not_costs_nothing() -> None:
    """Main has a cable of 2 m to panel one."""
    sized, plan = paper()
    without = with_sized_feed(sized, "main", cable_mm_by_panel={})
    assert goal_values(without, plan)["wire-length"] == goal_values(sized, plan)["wire-length"] - 2000


def test_a_feed_that_enters_nowhere_has_no_main_fuse_and_no_stud() -> None:
    """Where aux enters at no place that can be read, its fuse of 60 A is not ordered; and none where no feed does."""
    sized, plan = paper()
    pieces = tuple(p if p.feed == "main" else p.model_copy(update={"at": "somewhere/aft"}) for p in plan.pieces)
    before, after = (Bill(View(sized, p)).parts for p in (plan, plan.model_copy(update={"pieces": pieces})))
    assert [(parts["m100"], parts["m60"], parts["mh"]) for parts in (before, after)] == [(1, 1, 2), (1, 0, 1)]
    assert after["post"] == before["post"]
    lost = tuple(p.model_copy(update={"at": "somewhere/aft"}) for p in plan.pieces)
    none = Bill(View(sized, plan.model_copy(update={"pieces": lost}))).parts
    assert (none["m100"], none["m60"], none["mh"], none["post"]) == (0, 0, 0, 0)


def test_nothing_is_ordered_for_what_is_not_there() -> None:
    """The modules take 8 of 9 bays; with a carrier of one bay or two less no bay is empty."""
    sized, plan = good()
    edits = [plan, remove(plan, "carriers", 3), remove(plan, "carriers", 5), plan.model_copy(update={"modules": ()})]
    bills = [Bill(View(sized, edited)).parts for edited in edits]
    assert [parts["for-empty-bay"] for parts in bills] == [1, 0, 0, 9]
    assert [parts["for-unused-cavity"] > 0 for parts in bills] == [True, True, True, False]
    assert bills[-1]["for-unused-cavity"] == 0


def test_a_relay_class_without_tabs_has_no_cavities() -> None:
    """The paper panel has two sockets of five tabs; without them one cavity of 18 is left, and 8 plugs go to each."""
    sized, plan = paper()
    catalogue = sized.requirements.catalogue.model_copy(update={"relay_tabs": ()})
    bare = replace(sized, requirements=sized.requirements.model_copy(update={"catalogue": catalogue}))
    assert Bill(View(bare, plan)).parts["unused-cavity"] == (28 - 2 * 5 - 17) * 8
