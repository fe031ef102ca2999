"""How a feed enters a row, and how much may flow in there: by strip or stud, terminal, tail and its fuse, and heat."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.sizing.sized import Entry, InlineFuse, Tail
from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, fuse, panel, part, row, sized, terminal

MODULES, TERMINALS = catalogue_table()["modules"], catalogue_table()["terminals"]
HOT = [panel("hot", ambient="60 degC")]


def entry(module: str, root: Table | None = None, group: int = 0, **tables: Any) -> Entry | None:
    table = sized(circuit(feeds=["small"]), feeds=[root or feed(), feed("small", rating="30 A")], **tables)
    at = tables["panels"][0]["name"] if "panels" in tables else "cabin"
    return table.entries.get((at, module, group, "battery"))


def limit_ma(*given: Any, **tables: Any) -> int | None:
    found = entry(*given, **tables)
    return None if found is None else found.limit_ma


def strip(**fields: Any) -> dict[str, Any]:
    return {"holders": [], "strips": [part("strip", **{"ways": 20, "limit": "80 A", "inlet_tab": "9.5 mm"} | fields)]}


def without(*names: str) -> list[Table]:
    return [item for item in TERMINALS if item["id"] not in names]


def test_a_strip_limits_what_enters_as_its_table_allows():
    """Behind 60 A: 90 % of 66 A are 59.4 A, of 67 A 60.3 A; past the last column nothing enters."""
    steps = [{"ambient": "60 degC", "factor": "90 %"}]
    small = feed(rating="60 A")
    assert limit_ma("row-c", small, panels=HOT, catalogue=strip(limit="66 A", derating=steps)) is None
    assert limit_ma("row-c", small, panels=HOT, catalogue=strip(limit="67 A", derating=steps)) == 60_300
    assert limit_ma("row-c", small, panels=HOT, catalogue=strip(stated_ambient="59 degC")) is None


def test_a_stud_is_derated_with_its_module():
    """150 A, of which 80 % are left at 60 degC; the tail of 16 mm2 carries 92.4 A there, that of 35 mm2 more."""
    steps = [{"ambient": "60 degC", "factor": "80 %"}]
    bus = part("bus", rows=[row("E", 4, 9.5, "stud")], stud="M8", stud_limit="150 A", derating=steps)
    modules = {"modules": [*MODULES, bus], "holders": []}
    assert limit_ma("bus", feed(rating="120 A"), panels=HOT, catalogue=modules) == 120_000
    assert limit_ma("bus", feed(rating="130 A"), panels=HOT, catalogue=modules) is None
    assert limit_ma("bus-e", feed(rating="60 A"), panels=HOT) is None  # stated at 40 degC, without a table


def test_the_tail_limits_what_enters_where_it_is_the_weakest():
    """Behind 45 A a tail of 4 mm2, alone 45 A; behind a tail fuse of 20 A three quarters of it."""
    assert limit_ma("row-c", feed(rating="45 A")) == 45_000
    assert limit_ma("row-c", feed(rating="100 A", tail_fuse="20 A")) == 15_000
    assert limit_ma("row-c", feed(rating="100 A", tail_fuse="20 A"), rules={"loading_factor": "60 %"}) == 12_000


def test_a_tail_fuse_of_the_feed_carries_less_where_it_is_hot():
    """At 60 degC 73 % of 20 A of type F; type E would carry 85 %, of which the loading factor allows 75 %."""
    hot_strip = {"strips": [catalogue_table()["strips"][0]]}
    assert limit_ma("row-c", feed(rating="100 A", tail_fuse="20 A"), panels=HOT, catalogue=hot_strip) == 14_600
    maxi = hot_strip | {"holders": [part("maxi", fuse_format="E", limit="100 A")]}
    assert limit_ma("row-c", feed(rating="100 A", tail_fuse="20 A"), panels=HOT, catalogue=maxi) == 15_000


def test_the_terminal_that_lets_most_in_is_taken_then_the_cheapest_then_the_first_by_id():
    def taken(*more: Table) -> tuple[str, int]:
        tables = {"terminals": [*without("inlet-9.5-25"), *more]}
        found = entry("row-c", feed(rating="50 A"), catalogue=tables)
        assert found is not None and found.tail is None
        return found.terminal, found.limit_ma

    weak = terminal("inlet", 9.5, 1, 25, 55) | {"id": "weak", "price": "0.10"}
    strong = terminal("inlet", 9.5, 1, 25, 100) | {"id": "strong"}
    cheap = terminal("inlet", 9.5, 1, 25, 70) | {"id": "cheap", "price": "0.50"}
    assert taken(weak) == ("weak", 55_000)  # 6 mm2 carry 60 A
    assert taken(weak, strong) == ("strong", 60_000)
    assert taken(weak, strong, cheap) == ("cheap", 60_000)
    assert taken(weak, cheap | {"id": "z", "price": "1.00"}, strong) == ("strong", 60_000)


def test_an_inlet_whose_terminal_is_weaker_than_the_protection_gets_a_tail_fuse():
    tables = {"terminals": [*without("inlet-9.5-25"), terminal("inlet", 9.5, 1, 25, 49)]}
    found = entry("row-c", feed(rating="50 A"), catalogue=tables)
    assert found is not None and found.tail is not None and found.tail.protection_a == 30
    assert entry("row-c", feed(rating="50 A"), catalogue=tables | {"holders": []}) is None
    assert found.tail.inline == InlineFuse("F30", "holder")
    assert [replace(found.tail, **{part: None}).inline for part in ("fuse", "holder")] == [None, None]


def test_a_way_fed_singly_needs_a_terminal_for_its_largest_fuse_or_for_less_where_the_feed_lets_less_pass():
    """Type C up to 40 A behind 60 A; behind 30 A a terminal of 30 A does."""
    weak = {"terminals": [*without("tab-6.3-6"), terminal("tab", 6.3, 1.5, 6, 30)], "holders": []}
    assert entry("single-c", feed(rating="60 A"), catalogue=weak) is None
    assert limit_ma("single-c", feed(rating="30 A"), catalogue=weak) == 30_000
    small = {"fuses": [item for item in catalogue_table()["fuses"] if item["fuse_format"] != "C"] + [fuse("C", 30)]}
    assert limit_ma("single-c", feed(rating="60 A"), catalogue=weak | small) == 30_000


def test_a_way_for_which_no_fuse_suits_lets_all_pass():
    """Nothing stands there; its terminal must bear what the feed lets pass all the same."""
    lone = part("lone", rows=[row("A", 4, bus="single")])
    tables = {"modules": [*MODULES, lone], "holders": []}
    assert limit_ma("lone", feed(rating="40 A"), catalogue=tables) == 40_000
    assert entry("lone", feed(rating="45 A"), catalogue=tables) is None


def test_every_strip_row_is_a_group_of_its_own_and_the_rows_of_a_stud_are_one():
    mixed = part(
        "mixed",
        rows=[row("C"), row("E", 2, 9.5, "stud"), row("C", bus="single"), row("E", 2, 9.5, "stud")],
        stud="M8",
        stud_limit="150 A",
    )
    table = sized(feeds=[feed(rating="40 A")], catalogue={"modules": [*MODULES, mixed]})
    kinds = {
        group: entry.terminal.split("-")[0] for (_, name, group, _), entry in table.entries.items() if name == "mixed"
    }
    assert kinds == {0: "inlet", 1: "ring", 2: "tab"}


@pytest.mark.parametrize(
    ("limits", "source", "takes"),
    [((20, 60), "battery", "w4"), ((60, 60), "battery", "w2.5"), ((20, 60), "house", "w2.5")],
)
def test_a_tail_is_thick_enough_for_the_sockets_that_it_feeds(limits: tuple[int, int], source: str, takes: str) -> None:
    """At 30 A 2.5 mm2 would do; the terminal of a relay's 30 that takes it must carry what the feed lets pass."""
    late = feed("late", source=source, rating="20 A", relay_class="heavy", control="lamp")
    small, large = limits
    tabs = [
        *without("tab-9.5-6", "tab-9.5-25"),
        terminal("tab", 9.5, 1, 2.5, small),
        terminal("tab", 9.5, 4, 25, large),
    ]
    table = sized(
        circuit(fuse_format="C"),
        feeds=[feed(rating="30 A"), feed("house", rating="30 A"), late],
        catalogue={"terminals": tabs},
    )
    assert table.feeds["battery"].tail_wire == takes


def test_of_studs_that_do_the_cheapest_is_taken_then_the_first_by_id():
    def taken(*studs: Table) -> str | None:
        return sized(catalogue={"studs": list(studs)}).feeds["battery"].stud

    def stud(name: str, **fields: Any) -> Table:
        return part(name, **{"size": "M8", "limit": "200 A", "stack": 4} | fields)

    assert taken(stud("dear", price="2.00"), stud("fair")) == "fair"
    assert taken(stud("b"), stud("a")) == "a"
    assert taken(stud("no-rings", size="M6", price="0.10"), stud("fair")) == "fair"
    assert taken(stud("weak", limit="59 A", price="0.10"), stud("exact", limit="60 A")) == "exact"


def test_the_cable_of_a_branch_outlives_the_fuse_that_opens_before_it():
    """Type E of 20 A lets 14,400 A2s by, for which 1 mm2 is too thin, though it carries 20 A; type C of 20 A 8,000."""
    branch = {"source": "battery", "rating": "20 A", "fuse_format": "E"}
    own = sized(circuit(fuse_format="C"), feeds=[feed(), feed("key", **branch)]).feeds["key"]
    assert own.cable_wire == "w1.5"
    weak = {"fault_current": "119 A"}  # of which nothing is known
    assert (
        sized(circuit(fuse_format="C"), feeds=[feed(), feed("key", **branch)], supply=weak).feeds["key"].cable_wire
        == "w1"
    )


def test_a_relay_behind_a_relay_hangs_on_the_same_fuse():
    branch = {"source": "battery", "rating": "20 A", "fuse_format": "E"}
    late = {"rating": "10 A", "relay_class": "heavy", "control": "lamp"}
    feeds = [feed(), feed("key", **branch), feed("one", source="key", **late), feed("two", source="one", **late)]
    table = sized(circuit(fuse_format="C"), feeds=feeds)
    assert [table.feeds[name].cable_wire for name in ("key", "one", "two")] == ["w1.5"] * 3
    assert [table.feeds[name].tail_protection_a for name in ("key", "one", "two")] == [20] * 3


def test_a_stud_takes_the_ring_of_the_cable_as_well_as_that_of_the_tail():
    """Rings of M6 up to 4 mm2: the tail is of 1.5 mm2, the cable of 16 mm2."""
    studs = [part("small", size="M6", limit="200 A", stack=4, price="0.10"), *catalogue_table()["studs"]]
    rings = {"terminals": [*TERMINALS, terminal("ring", "M6", 0.5, 4, 250)], "studs": studs}
    found = sized(feeds=[feed(rating="100 A", tail_fuse="20 A")], catalogue=rings).feeds["battery"]
    assert (found.stud, found.tail_wire, found.cable_wire) == ("stud", "w1.5", "w16")
    assert sized(feeds=[feed(rating="30 A")], catalogue=rings).feeds["battery"].stud == "small"


def test_holder_and_fuse_of_the_tails_are_cheapest_together():
    """Holder 3 + fuse 1 against holder 2 + fuse 5."""
    fuses = [item | ({"price": "5.00"} if item["id"] == "E30" else {}) for item in catalogue_table()["fuses"]]
    two = [part(name, fuse_format=letter, limit="30 A", price=price)
           for name, letter, price in (("mini", "F", "3.00"), ("maxi", "E", "2.00"))]  # fmt: skip
    found = sized(feeds=[feed(rating="100 A", tail_fuse="30 A")], catalogue={"fuses": fuses, "holders": two})
    assert (found.feeds["battery"].tail_holder, found.feeds["battery"].tail_fuse) == ("mini", "F30")


def test_a_tail_fuse_carries_what_the_vehicle_s_own_curve_allows():
    own = {"figures": {"fuse_share": {"F": {"40 degC": "50 %"}}}}
    assert limit_ma("row-c", feed(rating="100 A", tail_fuse="20 A"), rules=own) == 10_000


def test_the_tail_of_an_entry_is_its_own_where_it_has_one_else_the_feed_s():
    """At a relay's socket there is no entry."""
    table = sized(feeds=[feed(rating="100 A")])
    plain, own = table.feeds["battery"].tail, table.entries["cabin", "row-c", 0, "battery"].tail
    assert own is not None and own != plain and plain.protection_a == 100
    assert table.tail_of("cabin", "row-c", 0, "battery") == own
    assert table.tail_of("cabin", "bus-e", 0, "battery") == table.tail_of("cabin", "sockets", None, "battery") == plain


def test_the_tail_of_a_feed_has_the_fuse_and_holder_that_it_wants():
    found = sized(feeds=[feed(rating="100 A", tail_fuse="20 A")]).feeds["battery"].tail
    assert found == Tail("w1.5", "ring-M8-50", "F20", "holder", 20)


def test_what_flows_in_at_a_relay_socket_goes_through_a_tail_of_the_source() -> None:
    """75 % of a tail fuse of 30 A type F; without one the wire's own: 6 mm2, read as 10 AWG at 105 degC, 60 A."""
    branch = feed("deck", source="battery", relay_class="heavy", control="switch")
    switch = circuit("switch", load="0.5 A")
    found = [sized(switch, feeds=[battery, branch]).socket_limit_ma for battery in (feed(tail_fuse="30 A"), feed())]
    assert found == [{"deck": 22_500}, {"deck": 60_000}]


def test_only_what_its_source_enters_at_a_socket_is_limited_there() -> None:
    """A branch with a fuse of its own stands in a way, which the entry of its source's row or stud limits."""
    fused = feed("hold", source="battery", rating="20 A", fuse_format="E")
    relayed = feed("deck", source="battery", relay_class="heavy", control="switch")
    both = sized(
        circuit("switch", load="0.5 A"),
        feeds=[feed(), fused | {"relay_class": "heavy"}, fused | {"name": "bow"}, relayed],
    )
    assert set(both.socket_limit_ma) == {"deck"}


def test_what_may_flow_in_is_the_least_of_entry_row_and_module():
    """Two rows of a stud are entered as one, so that the limit of neither is that of the entry."""
    rows = [row("C", limit="30 A"), row("E", 2, 9.5, "stud", limit="10 A"), row("E", 2, 9.5, "stud", limit="10 A")]
    board = part("board", rows=rows, stud="M8", stud_limit="150 A", limit="50 A")
    table = sized(circuit(), feeds=[feed()], catalogue={"modules": [*MODULES, board]})
    limits = [table.entry_limit_ma("cabin", "board", group, "battery") for group in (0, 1)]
    assert limits == [30_000, 50_000]
    assert table.entry_limit_ma("cabin", "board", 0, "nowhere") is None
