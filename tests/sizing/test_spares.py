"""Spare ways as needs: who feeds them, where, with what kept for them; and those that cannot be."""

from __future__ import annotations

import pytest

from allocator.errors import Fault
from allocator.sizing.sized import Option, Reason
from tests.sizing.vehicles import circuit, faults, feed, panel, sized

TWO = [panel("front"), panel("rear")]
DAY, NIGHT = ({"name": name, "engine_running": True, "hours": "1 h"} for name in ("day", "night"))


def test_a_spare_way_is_fed_by_any_feed_that_a_circuit_accepts_wherever_those_reach():
    table = sized(
        circuit(feeds=["house", "roof"], panels=["front"]),
        feeds=[feed("roof", panels=["front"]), feed(), feed("house", panels=["front"])],
        panels=TWO,
        cases=[DAY, NIGHT],
        rules={"spares": [{"fuse_format": "E", "count": 2, "reserve": "2.5 A"}]},
    )
    first, second = table.needs[1:]
    assert (first.id, second.id) == ("spare-1-1", "spare-1-2") and first.options == second.options
    assert (first.kind, first.label, first.feeds) == ("spare", "Spare E", ("roof", "house"))
    assert first.load_ma_by_case == (2500, 2500)
    kept = (Reason("current", "free way, 2.5 A kept for it; no fuse is fitted"),)
    assert first.options == (Option("front", "E", None, None, 0.0, None, None, 0.0, None, 0, reasons=kept),)
    assert (first.takes_way, first.takes_socket, first.supplies) == (True, False, None)


def test_a_spare_way_of_a_feed_or_a_panel_is_there():
    spares = [
        {"fuse_format": "C", "count": 1},
        {"fuse_format": "E", "count": 1, "feed": "house"},
        {"fuse_format": "F", "count": 1, "feed": "house", "panel": "rear"},
    ]
    table = sized(feeds=[feed(), feed("house")], panels=TWO, rules={"spares": spares})
    found = [(item.id, item.feeds, [option.panel for option in item.options]) for item in table.needs[1:]]
    assert found == [
        ("spare-1-1", ("battery",), ["front", "rear"]),
        ("spare-2-1", ("house",), ["front", "rear"]),
        ("spare-3-1", ("house",), ["rear"]),
    ]


@pytest.mark.parametrize(
    ("spare", "rule", "says", "known"),
    [
        (
            {"fuse_format": "A"},
            "format-not-offered",
            "no module on offer takes format A",
            "formats on offer: C, E, F",
        ),
        ({"fuse_format": "C", "panel": "rear"}, "unreachable", "no feed of battery, house reaches panel rear", ""),
        (
            {"fuse_format": "C", "panel": "rear", "feed": "house"},
            "unreachable",
            "no feed of house reaches panel rear",
            "",
        ),
    ],
)
def test_spare_ways_that_cannot_be_are_one_fault_for_a_rule(spare, rule, says, known):
    on_both = circuit(feeds=["battery", "house"])
    fine = {"fuse_format": "C", "count": 1}
    rules = {"spares": [fine, spare | {"count": 3}, fine]}
    found = faults(on_both, feeds=[feed(panels=["front"]), feed("house", panels=["front"])], panels=TWO, rules=rules)
    where = "scenario.toml, [[rules.spares]] number 2"
    assert found == (Fault(rule, f"spare ways of rule 2: {says}", where, known, "change or leave out this rule"),)
