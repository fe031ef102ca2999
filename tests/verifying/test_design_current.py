"""The checker's sums of what each need draws, coils included, against figures worked by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from allocator.sizing.sized import Sized
from allocator.verifying.design_current import (
    circuit_load_ma,
    coil_ma,
    need_load_ma,
    num_terms,
    switched_ma,
    unplaced_coils_ma,
)
from allocator.verifying.protection import fuse_carries_load
from allocator.verifying.view import View
from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, relay, sized, terminal
from tests.verifying.hand_built import good
from tests.verifying.other_tables import with_need

CASES = [
    {"name": "driving", "engine_running": True, "hours": "1 h"},
    {"name": "parked", "engine_running": False, "hours": "1 h"},
]
HEAVY = Fraction(14_000, 60)  # 14 V across the heavy relay's 60 ohm, mA
STANDARD = Fraction(14_000, 80)


def view_of(table: Sized) -> View:
    """Look at a sizing table; the plan beside it plays no part in these sums."""
    return View(table, good()[1].model_copy(update={"requirements": table.requirements}))


@pytest.fixture(scope="module")
def table() -> Sized:
    """
    A pump with its own heavy relay; a lamp that supplies the coils of a fan's and a feed's; a branch with its own coil.

    The fan runs when parked only, pump and lamp when driving only.
    """
    return sized(
        circuit("pump", load="6 A", switching="relay", relay_class="heavy", load_cases=["driving"]),
        circuit("lamp", load="21 W", load_type="led", load_cases=["driving"]),
        circuit("fan", load="3 A", switching="relay", relay_class="standard", control="lamp", load_cases=["parked"]),
        circuit("bulb", load="P21W", load_type="filament-lamp", feeds=["key"]),
        feeds=(
            feed(rating="100 A"),
            feed("key", source="battery", rating="40 A", fuse_format="E", relay_class="heavy", control="lamp"),
            feed("own", source="battery", rating="40 A", fuse_format="E", relay_class="heavy"),
            feed("plain", source="battery", rating="30 A", fuse_format="E"),
        ),
        cases=CASES,
        rules={
            "spares": [{"fuse_format": "C", "count": 1, "reserve": "1.5 A"}],
            "figures": {"lamp_watts": {"12 V": {"P21W": "24 W"}}},
        },
    )


def test_a_circuit_with_its_own_coil(table: Sized) -> None:
    """Its fuse carries load and coil while it runs; its contact the load alone."""
    view = view_of(table)
    assert coil_ma(view, ("circuit", "pump")) == HEAVY
    assert circuit_load_ma(view, "pump") == (6000 + HEAVY, 0)
    assert switched_ma(view, "pump") == (6000, 0)
    assert num_terms(view, ("circuit", "pump")) == 2


def test_a_circuit_that_supplies_other_coils(table: Sized) -> None:
    """The fan's coil is live when the fan runs, the feed's in every load case; 21 W at 11 V."""
    view = view_of(table)
    assert circuit_load_ma(view, "lamp") == (Fraction(21_000, 11) + HEAVY, STANDARD + HEAVY)
    assert switched_ma(view, "lamp") == circuit_load_ma(view, "lamp")
    assert num_terms(view, ("circuit", "lamp")) == 3


def test_a_circuit_whose_coil_another_supplies(table: Sized) -> None:
    view = view_of(table)
    assert circuit_load_ma(view, "fan") == switched_ma(view, "fan") == (0, 3000)
    assert num_terms(view, ("circuit", "fan")) == 1


def test_a_lamp_by_the_vehicle_s_own_watts(table: Sized) -> None:
    """24 W at 12 V is 2 A there; at 14 V by a constant resistance 14/12 of that."""
    assert need_load_ma(view_of(table), ("circuit", "bulb")) == (Fraction(7000, 3), Fraction(7000, 3))


def test_branches_and_spare_ways(table: Sized) -> None:
    """A branch draws its coil itself only where no circuit supplies that; a spare way what is kept free for it."""
    view = view_of(table)
    draws = {name: need_load_ma(view, ("feed", name)) for name in ("key", "own", "plain")}
    assert draws == {"key": (0, 0), "own": (HEAVY, HEAVY), "plain": (0, 0)}
    (spare,) = view.spares
    assert need_load_ma(view, ("spare", spare)) == (1500, 1500)
    assert [num_terms(view, need) for need in (("feed", "own"), ("spare", spare), ("feed", "lamp"))] == [1, 1, 1]


@pytest.mark.parametrize(
    ("name", "case", "least", "most"),
    [("fan", 1, 2999, 3001), ("pump", 0, 6232, 6235), ("lamp", 0, 2140, 2145)],
)
def test_the_sizing_table_may_be_off_by_the_rounding_of_each_current_and_no_more(
    name: str, case: int, least: int, most: int, table: Sized
) -> None:
    """3000; 6233 1/3 of two currents; 2142.4 mA of three: each may be off by 1 mA."""
    for stated, is_found in ((least, False), (most, False), (least - 1, True), (most + 1, True)):
        loads = [round(load) for load in circuit_load_ma(view_of(table), name)]
        loads[case] = stated
        need = replace(table.need_by_id[name], load_ma_by_case=tuple(loads))
        needs = tuple(need if other.id == name else other for other in table.needs)
        found = list(fuse_carries_load(view_of(replace(table, needs=needs))))
        assert [finding.where for finding in found if name in finding.where] == [f'circuit "{name}"'] * is_found


def without_heavy_jumper(**fields: Any) -> dict[str, Any]:
    """Return a catalogue whose tabs of 9.5 mm take no wire that a way of type F takes: a heavy relay has no place."""
    thick = terminal("tab", 9.5, 4, 25, 110)
    others = [item for item in catalogue_table()["terminals"] if item.get("tab") != thick["tab"]]
    return {"terminals": [*others, thick]} | fields


def test_the_coil_of_a_class_that_finds_no_place_may_count_and_no_more() -> None:
    """
    Way F takes up to 2.5 mm2, tab 30 of the heavy relay 4 mm2 and more: no jumper, so that class is in no option.

    Its contacts would do, so its coil counts: 14 V / 60 ohm beside 14 V / 80 ohm of the largest class in an option.
    """
    table = sized(circuit(switching="relay", fuse_format="F"), catalogue=without_heavy_jumper())
    need = table.need_by_id["lamp"]
    assert {option.relay_class for option in need.options} == {"micro", "standard"}
    assert need.load_ma_by_case == (5234,)
    for load_ma, faults in ((5236, 1), (5235, 0), (5234, 0), (5175, 0), (5172, 1)):
        found = fuse_carries_load(view_of(with_need(table, "lamp", load_ma_by_case=(load_ma,))))
        assert len([finding for finding in found if finding.where == 'circuit "lamp"']) == faults, load_ma


@pytest.mark.parametrize(
    ("more", "asked", "coil_ohm"),
    [
        (relay("more", "heavy", coil="240 ohm"), {}, 60),
        (relay("more", "heavy", coil="50 ohm"), {}, 50),
        (relay("more", "heavy", "changeover", coil="50 ohm"), {}, 60),
        (relay("more", "heavy", coil="50 ohm", voltage="24 V"), {}, 60),
        (relay("more", "standard", coil="50 ohm", price="9.00"), {}, 60),  # that class has a place, with the cheapest
        (relay("more", "heavy", coil="50 ohm"), {"relay_class": "standard"}, 80),  # no other class is asked for
        (relay("more", "heavy", coil="50 ohm"), {"switching": "none"}, None),
    ],
)
def test_which_coils_without_a_place_may_count(more: Table, asked: Table, coil_ohm: int | None) -> None:
    """14 V across the coil that draws most, less what the 80 ohm of the standard relay draw, which has a place."""
    relays = [*catalogue_table()["relays"], more]
    switched = circuit(**{"switching": "relay", "fuse_format": "F"} | asked)
    horn = circuit("horn", switching="relay", relay_class="standard", control="lamp", fuse_format="F")
    for circuits in ((switched,), (switched, horn)):  # its coil hangs on the lamp as well, and has its place
        table = sized(*circuits, catalogue=without_heavy_jumper(relays=relays))
        found = unplaced_coils_ma(view_of(table), ("circuit", "lamp"))
        assert found == (0 if coil_ohm is None else Fraction(14_000, coil_ohm) - STANDARD)
        assert unplaced_coils_ma(view_of(table), ("feed", "battery")) == 0


def test_a_coil_without_a_place_counts_on_what_controls_it() -> None:
    horns = [circuit(name, switching="relay", control="lamp", fuse_format="F") for name in ("horn", "pump")]
    table = sized(circuit("lamp", fuse_format="F"), *horns, catalogue=without_heavy_jumper())
    view = view_of(table)
    assert unplaced_coils_ma(view, ("circuit", "lamp")) == 2 * (HEAVY - STANDARD)
    assert unplaced_coils_ma(view, ("circuit", "horn")) == 0
    lost = view_of(replace(table, needs=tuple(need for need in table.needs if need.id != "pump")))
    assert unplaced_coils_ma(lost, ("circuit", "lamp")) == HEAVY - STANDARD + HEAVY  # the table gives the pump no place
