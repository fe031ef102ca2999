"""A plan warns of what only the plan shows."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest

from allocator.outputs.workshop.expectations import expectations_csv
from allocator.plan.cautions import cautions_about, cautions_in
from allocator.plan.index import PlanIndex
from allocator.requirements.vehicle_notes import VehicleNote
from allocator.sizing import size
from allocator.sizing.sized import Caution
from allocator.solving import allocate
from tests.builders import A, F, M, build_sized
from tests.outputs.conftest import content_of
from tests.sizing.vehicles import Table, catalogue_table, circuit, feed, fuse, panel, requirements

ONLY_OF_A_PLAN = {
    "drop-over-limit", "tail-not-selective", "jumpers-together", "cables-together", "labels-outdated",
}  # fmt: skip
"""What no table of choices can tell."""


def _cautions(*feeds: str) -> tuple[str, ...]:
    sized = build_sized(
        circuits={"lamp": A(5, feeds=feeds)},
        feeds={"main": F(100), "branch": F(20, source="main", fuse="F")},
        modules={"row-4": M(("4F strip",))},
    )
    return cautions_about(sized, allocate(sized))


def test_a_branch_with_nothing_on_it_is_named() -> None:
    assert _cautions("main") == (
        "feed branch supplies nothing in this plan; without it, its own fuse and relay would not be needed",
    )


def test_a_branch_in_use_is_not() -> None:
    assert _cautions("branch") == ()


def test_a_plan_warns_of_what_it_has_chosen_and_of_nothing_that_it_left() -> None:
    """A motor behind 20 A of type E may stall for ever; the plan has put it behind a smaller fuse of another type."""
    content = content_of("starter-camper")
    options = {item.need.id: item.option for item in content.index.needs}
    warned = {item.about for item in content.cautions if item.rule == "fuse-slow-at-stall"}
    might = {item.about for item in content.sized.cautions if item.rule == "fuse-slow-at-stall"}
    assert {options[name].fuse_format for name in might} == {"C"}  # opens within 5 s at twice its rating
    assert might and not warned


@pytest.mark.parametrize("name", ["creek-workboat", "library-bus"])
def test_the_cautions_of_a_plan_are_among_those_of_its_table(name: str) -> None:
    """By kind and by what they are about; a line for many circuits names those of the plan alone."""
    content = content_of(name)
    feeds = {item.need.id: item.feed for item in content.index.needs}
    for caution in content.cautions:
        if caution.rule in ONLY_OF_A_PLAN:
            continue
        same = [set(item.about.split(", ")) for item in content.sized.cautions if item.rule == caution.rule]
        if caution.rule == "drop-with-feed":  # names only the worst, which may be another one in the plan
            assert same and caution.about in feeds
        else:
            assert any(set(caution.about.split(", ")) <= about for about in same), caution
    kinds = {caution.rule for caution in content.cautions} - ONLY_OF_A_PLAN
    assert kinds <= {caution.rule for caution in content.sized.cautions}
    of_choices = [item for item in content.cautions if item.rule not in ONLY_OF_A_PLAN]
    assert len(of_choices) < len(content.sized.cautions)
    critical = {circuit.id for circuit in content.plan.requirements.circuits if circuit.critical}
    for caution in content.cautions:
        if caution.rule == "critical-share-feed":
            assert sum(feeds[circuit] == caution.about for circuit in critical) > 1


@pytest.mark.parametrize(("what", "value"), [("added", "x/1/A/1; 1 A; led; 1 m; 1 mm2; 2 A"), ("removed", "")])
def test_wires_numbered_otherwise_than_on_their_labels_are_told_of(what: str, value: str) -> None:
    """A circuit that comes or goes at the vehicle gives wires after it another number; another fuse does not."""
    index = content_of("starter-camper").index
    day = {"day": "2026-03-02", "by": "JR", "remark": ""}
    other = VehicleNote(**day, circuit="lamps", what="fuse", value="7.5 A")
    note = VehicleNote(**day, circuit="fan", what=what, value=value)

    def told(*notes: VehicleNote) -> list[str]:
        noted = PlanIndex(index.sized, index.plan.model_copy(update={"notes": notes}))
        return [item.about for item in cautions_in(noted) if item.rule == "labels-outdated"]

    assert (told(), told(other), told(other, note)) == ([], [], ["fan"])


def _of_kind(rule: str, *circuits: Table, **tables: Any) -> list[Caution]:
    sized = size(requirements(*circuits, **tables))
    plan = allocate(sized)
    found = [item for item in cautions_in(PlanIndex(sized, plan)) if item.rule == rule]
    assert all(item.text in plan.cautions for item in found)
    return found


def test_a_circuit_that_loses_more_than_it_may_in_the_plan_is_told_with_the_volts() -> None:
    """
    3 % of 12 V are 0.36 V. 40 m of 6 mm2 at 3.30 mohm/m (IEC 60228, class 2: 3.08) lose 0.66 V at 5 A before the run.

    A metre of it leaves the lamp within its limit, though with the feed fully loaded it would not be.
    """
    lamp = circuit("lamp", critical=True, length="1 m")
    near = {"panels": [panel(supply_distance="1 m")]}
    assert _of_kind("drop-over-limit", lamp, **near) == []
    assert [item.about for item in _of_kind("drop-with-feed", lamp, **near)] == ["lamp"]
    (far,) = _of_kind("drop-over-limit", lamp, panels=[panel(supply_distance="40 m")])
    assert far.about == "lamp" and " V of 0.36 V in always" in far.text
    lost_v = float(far.text.partition(": lamp ")[2].split()[0])
    assert 40 * 0.00308 * 5 < lost_v < 41 * 0.00330 * 5 * 1.1 + 0.15


def test_the_volts_are_those_of_the_test_sheets() -> None:
    content = content_of("library-bus")
    (caution,) = [item for item in content.cautions if item.rule == "drop-over-limit"]
    rows = [row for row in csv.DictReader(io.StringIO(expectations_csv(content))) if row["total_drop_v"]]
    over = [row for row in rows if float(row["total_drop_v"]) > float(row["drop_limit_v"])]
    assert len(over) == len(caution.about.split(", ")) > 0
    assert all(f" {row['total_drop_v']} V of " in caution.text for row in over)


@pytest.mark.parametrize(("rating", "told"), [("15 A", False), ("20 A", True), ("40 A", True)])
def test_a_fuse_in_a_tail_too_near_to_that_of_a_circuit_is_told(rating: str, told: bool) -> None:
    """100 A enter a strip of 80 A behind a tail fuse of 30 A, which is 1.6 times 18.75 A."""
    pump = circuit("pump", fuse_format="C", fuse_rating=rating)
    found = _of_kind("tail-not-selective", pump, circuit("lamp", load="2 A"), feeds=[feed(rating="100 A")])
    assert [item.about for item in found] == ["pump"] * told
    assert all(f"pump ({rating} behind 30 A); 1.6 x" in item.text for item in found)


def _long_jumper(name: str, rating: int, **fields: Any) -> Table:
    """Return a circuit with a long jumper of 1 mm2: all sockets of that catalogue are in modules of their own."""
    return circuit(name, load="8 A", switching="relay", fuse_format="C", fuse_rating=f"{rating} A") | fields


def _jumpers(*circuits: Table, **tables: Any) -> list[Caution]:
    fuses = [*catalogue_table()["fuses"], fuse("C", 14)]
    return _of_kind("jumpers-together", *circuits, catalogue={"fuses": fuses}, **tables)


def test_long_jumpers_that_together_would_carry_less_than_their_fuse_are_told() -> None:
    """1 mm2 of 105 degC carries 20 A alone and 14 A at 70 %: enough behind 14 A, too little behind 15 A."""
    (found,) = _jumpers(_long_jumper("pump", 15), _long_jumper("fan", 15), _long_jumper("lamp", 14))
    assert (found.about, found.text) == (
        "fan, pump",
        "3 long jumpers run from module to module at panel cabin; each is sized as lying alone, and tied together, at "
        "70%, these would carry less than the fuse before them: fan (w1 14 A behind 15 A), pump (w1 14 A behind 15 A). "
        "Lay them apart from each other, or ask for fewer with the goal long-jumpers",
    )
    assert _jumpers(_long_jumper("pump", 14), _long_jumper("fan", 14)) == []


def test_a_long_jumper_is_told_only_together_with_another_of_its_panel() -> None:
    assert _jumpers(_long_jumper("pump", 15), circuit("fan")) == []
    two = {"panels": [panel(), panel("rear")]}
    pump, fan = _long_jumper("pump", 15, panels=["cabin"]), _long_jumper("fan", 15)
    assert _jumpers(pump, fan | {"panels": ["rear"]}, **two) == []
    assert [item.about for item in _jumpers(pump, fan | {"panels": ["cabin"]}, **two)] == ["fan, pump"]
    assert _jumpers(pump, fan | {"panels": ["cabin"]}, rules={"bundle_factor": "75 %"}, **two) == []


def test_a_cable_that_in_a_bundle_would_carry_less_than_its_fuse_is_told() -> None:
    """At 30 degC 6 mm2 carry 60 A and 4 mm2 45 A by 33 CFR 183.425 Table 5, in a bundle 70 % of that."""
    (found,) = _of_kind("cables-together", circuit())
    assert found.about == "battery"
    assert "battery to cabin (w6 42 A behind 60 A). Lay each" in found.text
    ninety = {"rules": {"bundle_factor": "90 %"}}  # 54 A and 40.5 A
    assert [item.about for item in _of_kind("cables-together", circuit(), **ninety)] == ["battery"]
    assert _of_kind("cables-together", circuit(), feeds=[feed(rating="40 A")], **ninety) == []


@pytest.mark.parametrize(("home", "told"), [("cabin", "battery to cabin"), ("rear", "key to cabin")])
def test_the_cable_of_a_branch_is_told_where_it_leaves_its_home(home: str, told: str) -> None:
    key = feed("key", source="battery", fuse_format="E", rating="60 A", home=home)
    lamp = circuit("lamp", feeds=["key"], panels=["cabin"])
    (found,) = _of_kind("cables-together", lamp, panels=[panel(), panel("rear")], feeds=[feed(), key])
    assert told in found.text
    assert ("key to" in found.text) == (home == "rear")
