"""Feeds and vehicles that cannot be sized, compared whole: what is said, what is known, and how to mend it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.sizing.vehicles import (
    AREAS,
    Table,
    catalogue_table,
    circuit,
    faults,
    feed,
    fuse,
    part,
    row,
    wire,
)

KEY = {"source": "battery", "rating": "30 A", "fuse_format": "E"}
BLADE_AND_RELAY = {"rating": "40 A", "fuse_format": "C", "relay_class": "heavy"}
KEYED = circuit(feeds=["key"])
THICK = {"wires": [wire(area) for area in AREAS if area >= 10]}
NARROW_30 = [
    entry | ({"tabs": entry["tabs"] | {"30": "6.3 mm"}} if entry["relay_class"] == "heavy" else {})
    for entry in catalogue_table()["relay_tabs"]
]
NET_48 = {"nominal_voltage": "48 V", "operating_voltage": "54 V", "minimum_voltage": "40 V"}
LATE = feed("late", source="battery", rating="20 A", relay_class="standard", control="lamp")
BLADE = circuit(fuse_format="C")
MODULES = catalogue_table()["modules"]
NO_STUD = {"modules": [item for item in MODULES if item["id"] != "bus-e"], "holders": []}


def case(*circuits: Table, **tables: Any) -> tuple[tuple[Table, ...], dict[str, Any]]:
    return circuits, tables


LOWER = "or lower the protection with an own fuse or a tail fuse on its source"
FEEDS = {
    "format-not-offered": (
        case(feeds=[feed(), feed("key", **KEY | {"fuse_format": "SF51"})]),
        "wants a fuse of format SF51, which no module on offer takes",
        "formats on offer: C, E, F",
        "choose one of these",
    ),
    "feed-fuse-not-offered": (
        case(feeds=[feed(), feed("key", **KEY | {"rating": "35 A"})]),
        "wants its own fuse of 35 A in format E, which is not on offer",
        "ratings on offer: 20, 30, 40, 50, 60, 70, 80, 100 A",
        "choose one of these as the rating of the feed",
    ),
    "no-terminal": (
        case(
            KEYED,
            circuit("switch"),
            feeds=[feed(), feed("key", source="battery", rating="60 A", relay_class="heavy", control="switch")],
            catalogue={"relay_tabs": NARROW_30},
        ),
        "finds no terminal of 6.3 mm on offer that takes w6 at 30 and carries its protection of 60 A",
        "what stands before this point is a fuse of 60 A",
        "accept a larger relay class, give the feed its own fuse, or offer such a terminal",
    ),
    "no-jumper": (
        case(
            KEYED,
            feeds=[feed(rating="150 A"), feed("key", **KEY | BLADE_AND_RELAY)],
            catalogue=THICK,
        ),
        "finds no wire on offer for the jumper behind its fuse of 40 A",
        "it must fit tabs of 6.3 and 9.5 mm",
        "accept a larger relay class, or offer terminals for such a wire",
    ),
    "tail-fuse-not-offered": (
        case(feeds=[feed("key", tail_fuse="60 A")]),
        "wants a tail fuse of 60 A, and no in-line holder on offer takes one for this net",
        "ratings that a holder takes: 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30 A",
        "choose one of these, or offer a holder and fuse",
    ),
    "tail-fuse-not-offered at all": (
        case(feeds=[feed("key", tail_fuse="60 A")], catalogue={"holders": []}),
        "wants a tail fuse of 60 A, and no in-line holder on offer takes one for this net",
        "ratings that a holder takes: none",
        "choose one of these, or offer a holder and fuse",
    ),
    "no-feed-cable of any wire": (
        case(feeds=[feed("key", rating="500 A", tail_fuse="20 A")]),
        "gets no cable: no wire on offer bears its protection of 500 A at 30 °C",
        "500 A is the rating of the fuse that stands before its cable, 20 A before its tails",
        f"offer thicker wire, {LOWER}",
    ),
    "no-feed-cable for its ends": (
        case(circuit(feeds=["key"]), feeds=[feed(rating="80 A"), LATE | {"name": "key", "control": "lamp-2"}]),
        "gets no cable: no terminal at its main fuse, own fuse or relay takes w10 and bears its protection of 80 A",
        "80 A is the rating of the fuse that stands before its cable, 80 A before its tails",
        f"take a larger holder, fuse format or relay class, {LOWER}",
    ),
    "no-feed-cable for a stud": (
        case(feeds=[feed("key", rating="100 A", tail_fuse="20 A")],
             catalogue={"studs": [part("stud", size="M8", limit="99 A", stack=4)]}),
        "gets no cable: no stud on offer for 100 A has rings that take w16 and its tails",
        "100 A is the rating of the fuse that stands before its cable, 20 A before its tails",
        f"offer a larger stud or rings, {LOWER}",
    ),
    "no-entry": (
        case(*(BLADE | {"id": name, "feeds": ["key"]} for name in ("b", "a")),
             circuit(feeds=["key", "battery"]), feeds=[feed(), feed("key", rating="200 A")], catalogue=NO_STUD),
        "cannot enter any module on offer: no inlet, tab or stud takes a tail that is protected for it",
        "a, b would be fed by it",
        "offer an in-line holder and fuse that protect an inlet, or a module with a larger inlet or a stud",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FEEDS)
def test_a_feed_that_cannot_be_sized(name: str) -> None:
    (circuits, tables), message, known, hint = FEEDS[name]
    given = circuits or (circuit(feeds=[tables["feeds"][-1]["name"]]),)
    if name == "no-feed-cable for its ends":
        given = (*given, circuit("lamp-2"))
    (fault,) = faults(*given, **tables)
    assert (fault.rule, fault.where) == (name.partition(" ")[0], 'scenario.toml, feed "key"')
    assert (fault.message, fault.known, fault.hint) == (f'feed "key": {message}', known, hint)


OTHERS = {
    "name-taken": (
        case(feeds=[feed(), feed("lamp", **KEY)]),
        '"lamp" names a circuit and a feed',
        "",
        "needs are told apart by name",
        "rename one of them",
    ),
    "tabs-differ": (
        case(catalogue={"modules": [*MODULES, *(part(f"tab-{tab}", rows=[row("C", tab=tab)]) for tab in (9.5, 2.8))]}),
        "rows of format C have output tabs of 2.8 and 6.3 and 9.5 mm",
        'catalogue, modules, rows, field "tab"',
        "the terminals of a circuit are chosen before its module is",
        "offer one tab width for each fuse format",
    ),
    "no-ways": (
        case(catalogue={"modules": [part("sockets", sockets=[{"relay_class": "micro", "count": 2}])]}),
        "no module on offer has a fuse way",
        "catalogue, modules",
        "",
        "add a module with rows",
    ),
    "no-fuse-for-net breaking": (
        case(supply={"fault_current": "1001 A"}),
        "no fuse on offer that a module takes is rated for 16 V and breaks 1001 A",
        "scenario.toml, [supply]",
        "type C for 32 V and 1000 A; type F for 32 V and 1000 A; type E for 32 V and 1000 A",
        "offer fuses for such a net, or state what a short circuit draws at the panel, behind its cable",
    ),
    "no-fuse-for-net rated": (
        case(vehicle=NET_48),
        "no fuse on offer that a module takes is rated for 58 V and breaks 1000 A",
        "scenario.toml, [vehicle]",
        "type C for 32 V and 1000 A; type F for 32 V and 1000 A; type E for 32 V and 1000 A",
        "offer fuses for such a net",
    ),
    "no-fuse-for-net at all": (
        case(catalogue={"fuses": [fuse("SF51", 60, 1000, 100_000)]}),
        "no fuse on offer that a module takes is rated for 16 V and breaks 1000 A",
        "scenario.toml, [supply]",
        "no fuse of a format that a module takes is on offer",
        "offer fuses for such a net, or state what a short circuit draws at the panel, behind its cable",
    ),
    "control-loop": (
        case(
            *(circuit(name, switching="relay", control=control)
              for name, control in (("c", "a"), ("b", "c"), ("a", "b"), ("on-it", "a")))
        ),
        "the coils of a, b, c are supplied in a circle: none of them can ever close",
        'circuits table, circuit "a"',
        "a control is a circuit that is live before the relay closes",
        "take one of them off its control, or name another circuit",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", OTHERS)
def test_a_vehicle_that_cannot_be_sized(name: str) -> None:
    (circuits, tables), message, where, known, hint = OTHERS[name]
    (fault,) = faults(*circuits, **tables)
    assert (fault.rule, fault.where) == (name.partition(" ")[0], where)
    assert (fault.message, fault.known, fault.hint) == (message, known, hint)


def test_every_circle_of_controls_is_told_once():
    controls = {"a": "b", "b": "a", "x": "y", "y": "x", "self": "self", "on-it": "x"}
    found = faults(*(circuit(name, switching="relay", control=control) for name, control in controls.items()))
    assert [fault.message.partition(" are ")[0] for fault in found] == [
        "the coils of a, b", "the coils of self", "the coils of x, y",
    ]  # fmt: skip


def test_every_feed_of_a_circle_is_told():
    circle = {"one": "two", "two": "one"}
    found = faults(feeds=[feed(), *(feed(name, **KEY | {"source": source}) for name, source in circle.items())])
    assert [fault.message for fault in found] == [
        'feed "one": branches from itself: one from two from one',
        'feed "two": branches from itself: two from one from two',
    ]


def test_a_control_without_a_relay_closes_no_circle():
    """It switches nothing, whatever control it names."""
    one = circuit("one", switching="relay", control="two", fuse_format="C")
    assert faults(one, circuit("two", control="one", fuse_format="C")) == ()


def test_a_branch_of_a_feed_that_cannot_be_sized_is_no_fault_of_its_own():
    """Neither of a root without a main fuse, nor of a branch whose own fuse is not on offer."""
    behind = LATE | {"relay_class": "heavy", "source": "key"}
    (fault,) = faults(feeds=[feed(), feed("key", rating="61 A"), behind])
    assert (fault.rule, fault.where) == ("no-main-fuse", 'scenario.toml, feed "key"')
    (fault,) = faults(feeds=[feed(), feed("key", **KEY | {"rating": "35 A"}), behind])
    assert (fault.rule, fault.where) == ("feed-fuse-not-offered", 'scenario.toml, feed "key"')
