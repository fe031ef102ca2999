"""Revisions by example: what stays, what moves, what is said when it cannot stay, and what the checker counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from allocator.errors import CannotBeMet, InputError
from allocator.plan.change_list import change_list
from allocator.plan.change_step import Step
from allocator.plan.index import PlanIndex
from allocator.plan.plan import Plan
from allocator.plan.renames import Renames
from allocator.revising import Keep, Revision, revise
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from allocator.verifying import verify
from allocator.verifying.changes import AsBuilt, changes_made
from allocator.verifying.stays import carriers_gone
from tests.oracles.as_built import as_built
from tests.oracles.revisions import best_revision
from tests.revising.changed import sized_with_wires
from tests.specs import A, F, M, P

BASE: dict[str, Any] = {
    "circuits": {
        "horn": A(4, feeds=("battery",), relays=("micro",)),
        "lamp": A(3, feeds=("battery",)),
        "fan": A(5, feeds=("key",)),
    },
    "feeds": {"battery": F(60), "key": F(20, source="battery", fuse="E", relay="heavy", home="cabin")},
    "modules": {"block": M(("4F",), {"micro": 1}, price=500), "power": M(("1E",), {"heavy": 1}, price=300)},
    "panels": {"cabin": P(3), "rear": P(1)},
    "carriers": {"carrier-1": 1, "carrier-2": 2},
    "goals": ("bays", "strip-pieces", "price"),
    "prices": {"carrier-1": 100, "carrier-2": 150, "inlet": 10, "wire": 50},
}
Values = dict[str, Fraction]


def built(**more: Any) -> tuple[Plan, Sized]:
    """Return the panel that is built in every test: relay, feed tree, two panels."""
    sized = sized_with_wires(BASE | more)
    return allocate(sized), sized


def revised(now: Mapping[str, Any], keep: Keep | None = None, **built_with: Any) -> tuple[Revision, Values]:
    """Revise it for other arguments; the values of its changes are those of trying everything."""
    plan, sized = built(**built_with)
    wanted = sized_with_wires(BASE | built_with | dict(now))
    revision = revise(plan, sized, wanted, keep=keep, with_fresh=False)
    values: Values = {item.change: item.value for item in revision.plan.changes}
    expected = best_revision(as_built(sized, plan), wanted, (keep or Keep()).word)
    assert expected is not None
    assert values == {name: expected[name] for name in values}
    return revision, values


def test_nothing_changes_where_nothing_is_asked() -> None:
    plan, sized = built()
    revision = revise(plan, sized, sized, with_fresh=False)
    assert [item.value for item in revision.plan.changes] == [0, 0, 0]
    assert (revision.plan.ways, revision.plan.sockets, revision.plan.pieces) == (plan.ways, plan.sockets, plan.pieces)
    index = PlanIndex(sized, plan)
    assert change_list(revision.built, index, PlanIndex(sized, revision.plan)).steps == ()


def test_a_new_circuit_takes_a_free_way_and_moves_nothing() -> None:
    circuits = BASE["circuits"] | {"radio": A(2, feeds=("battery",))}
    _, values = revised({"circuits": circuits})
    assert (values["moved-wires"], values["new-parts"]) == (0, 1)


def test_a_load_that_grows_changes_fuse_and_wire_where_it_is() -> None:
    """The wire of the fan is too short for 9 A here: it and its return are pulled; nothing else is touched."""
    circuits = BASE["circuits"] | {"fan": A(9, feeds=("key",))}
    revision, values = revised({"circuits": circuits})
    assert values["moved-wires"] == 2
    assert (values["new-parts"], values["recut-strips"]) == (0, 0)
    ways = {way.need: way.at for way in revision.plan.ways}
    assert ways["fan"] == {way.need: way.at for way in built()[0].ways}["fan"]


def test_a_circuit_that_gets_a_relay_has_all_its_wires_pulled_but_its_return() -> None:
    """Its load wire goes from the way to 87; nothing of it stays."""
    circuits = BASE["circuits"] | {"lamp": A(3, feeds=("battery",), relays=("micro",))}
    _, values = revised({"circuits": circuits})
    assert values["moved-wires"] == 2  # the load wire, and the return, which a circuit with a relay has none of here


def test_what_is_renamed_is_moved_only_where_it_is_not_told() -> None:
    circuits = dict(BASE["circuits"])
    circuits["signal"] = circuits.pop("horn")
    plan, sized = built()
    wanted = sized_with_wires(BASE | {"circuits": circuits})
    told = revise(plan, sized, wanted, renamed=["horn=signal"], with_fresh=False)
    assert [item.value for item in told.plan.changes] == [0, 0, 0]
    steps = change_list(
        told.built, PlanIndex(sized, plan), PlanIndex(wanted, told.plan), Renames({"horn": "signal"})
    ).steps
    assert [(step.doing, step.kind, step.need, step.was) for step in steps] == [("relabel", "label", "signal", "horn")]
    untold = revise(plan, sized, wanted, with_fresh=False)
    doings = {(step.doing, step.need) for step in _steps(plan, sized, wanted, untold)}
    assert ("remove", "horn") in doings and ("add", "signal") in doings


def _steps(plan: Plan, sized: Sized, wanted: Sized, revision: Revision) -> tuple[Step, ...]:
    return change_list(revision.built, PlanIndex(sized, plan), PlanIndex(wanted, revision.plan)).steps


@pytest.mark.parametrize("word", ["all", "modules"])
def test_the_list_of_steps_and_the_count_agree(word: Any) -> None:
    """Every wire that is counted is a step, and every step with a built wire of what stays is counted."""
    circuits = BASE["circuits"] | {"lamp": A(10, feeds=("battery", "key")), "pump": A(6, feeds=("key",))}
    plan, sized = built()
    wanted = sized_with_wires(BASE | {"circuits": circuits})
    revision = revise(plan, sized, wanted, keep=Keep(word), with_fresh=False)
    kinds = ("load wire", "return wire", "coil lead", "jumper")
    pulled = [
        step
        for step in _steps(plan, sized, wanted, revision)
        if step.kind in kinds and step.doing in ("remove", "move", "change") and step.need in wanted.need_by_id
    ]
    assert len(pulled) == revision.plan.changes[0].value > 0


def test_more_than_the_free_ways_needs_a_module_and_still_moves_nothing() -> None:
    circuits = BASE["circuits"] | {f"more-{n}": A(2, feeds=("battery",)) for n in range(3)}
    revision, values = revised({"circuits": circuits})
    assert values["moved-wires"] == 0
    assert len(revision.plan.modules) == len(built()[0].modules) + 1


FULL = {"panels": {"cabin": P(2)}, "carriers": {"carrier-1": 1, "carrier-2": 2}}


def test_what_cannot_stay_is_named() -> None:
    """Apart in rows of one module that has only one: the wires of one of the two cannot stay."""
    plan, sized = built(**FULL)
    wanted = sized_with_wires(BASE | FULL | {"apart": [(("horn", "lamp"), "row")], "panels": {"cabin": P(3)}})
    with pytest.raises(CannotBeMet) as refused:
        revise(plan, sized, wanted, keep=Keep("all"), with_fresh=False)
    first, second = refused.value.reasons
    assert first == "no plan keeps what must stay as it is built"
    assert second.startswith("with the modules kept there is one; it has these out of their place: ")
    assert "horn (built at cabin/" in second or "lamp (built at cabin/" in second


def test_chosen_parts_stay() -> None:
    plan, sized = built(**FULL)
    wanted = sized_with_wires(BASE | FULL | {"apart": [(("horn", "lamp"), "row")], "panels": {"cabin": P(3)}})
    for name, other in (("horn", "lamp"), ("lamp", "horn")):
        revision = revise(plan, sized, wanted, keep=Keep("modules", (name,)), with_fresh=False)
        before, after = ({way.need: way.at for way in p.ways} for p in (plan, revision.plan))
        assert before[name] == after[name] and before[other] != after[other]


@pytest.mark.parametrize(
    ("keep", "renamed", "rules"),
    [
        pytest.param(Keep("chosen", ("cabin/9",)), (), {"keep-part"}, id="no such module"),
        pytest.param(Keep("chosen", ("hrn", "cabin/Q")), (), {"keep-part"}, id="no such circuit or place"),
        pytest.param(Keep(), ("horn",), {"renamed"}, id="no new name"),
        pytest.param(Keep(), ("hron=lamp", "horn=nothing"), {"renamed"}, id="names that are not there"),
        pytest.param(Keep(), ("horn=lamp",), {"renamed"}, id="a name that is built as well"),
        pytest.param(Keep(), ("horn=battery",), {"renamed"}, id="a feed that was a circuit"),
    ],
)
def test_wishes_that_name_what_is_not_there(keep: Keep, renamed: tuple[str, ...], rules: set[str]) -> None:
    plan, sized = built()
    with pytest.raises(InputError) as refused:
        revise(plan, sized, sized, keep=keep, renamed=renamed, with_fresh=False)
    assert {fault.rule for fault in refused.value.faults} == rules


def test_a_panel_that_the_scenario_does_not_know_any_more() -> None:
    """Every fault at once: the panel that is gone, and bays that are too many now."""
    at_cabin = {name: replace(circuit, panels=("cabin",)) for name, circuit in BASE["circuits"].items()}
    plan, sized = built(circuits=at_cabin | {"tail": A(2, feeds=("battery",), panels=("rear",))})
    feeds = {"battery": F(60), "key": F(20, source="battery", fuse="E", relay="heavy")}
    wanted = sized_with_wires(BASE | {"panels": {"cabin": P(1)}, "feeds": feeds})
    with pytest.raises(InputError) as refused:
        revise(plan, sized, wanted, with_fresh=False)
    assert sorted(fault.rule for fault in refused.value.faults) == ["built-bays", "built-panel"]


def test_a_fresh_panel_is_planned_beside_it() -> None:
    """Without the branch the module of its fuse stays empty; a fresh panel has a bay less."""
    now = BASE | {"feeds": {"battery": F(60)}, "circuits": {"horn": BASE["circuits"]["horn"]}}
    plan, sized = built()
    revision = revise(plan, sized, sized_with_wires(now))
    assert revision.fresh is not None
    bays = {goal.goal: goal.value for goal in revision.fresh.goals}["bays"]
    assert bays < {goal.goal: goal.value for goal in revision.plan.goals}["bays"]


@pytest.mark.parametrize(
    ("keep", "edited", "found"),
    [
        (Keep("chosen"), "carriers", {"built-stays"}),
        (Keep("modules"), "modules", {"built-stays"}),
        (Keep("chosen"), "modules", set()),
        (Keep("all"), "ways", {"built-stays"}),
        (Keep("modules"), "ways", set()),
        (Keep("modules", ("horn",)), "ways", {"built-stays"}),
    ],
)
def test_the_checker_notices_what_was_kept_and_is_other(keep: Keep, edited: str, found: set[str]) -> None:
    """Of the revised plan alone, carriers always; what was not to be kept is no matter."""
    plan, sized = built()
    revision = revise(plan, sized, sized, keep=keep, with_fresh=False).plan
    assert revision.stays is not None and revision.stays.carriers == plan.carriers
    assert verify(sized, revision) == ()
    changed = {
        "carriers": lambda: [line.model_copy(update={"carrier": "carrier-9"}) for line in revision.carriers],
        "modules": lambda: [line.model_copy(update={"module": "power"}) for line in revision.modules],
        "ways": lambda: [line.model_copy(update={"at": f"{line.at}9"}) for line in revision.ways],
    }[edited]()
    findings = verify(sized, revision.model_copy(update={edited: tuple(changed)}))
    assert {finding.rule for finding in findings} & {"built-stays"} == found


def test_carriers_that_a_plan_keeps_silent_about_are_missed_all_the_same() -> None:
    plan, _ = built()
    assert list(carriers_gone(plan.carriers, plan)) == []
    (finding,) = carriers_gone(plan.carriers[:1], plan.model_copy(update={"carriers": plan.carriers[1:]}))
    assert finding.rule == "built-stays" and finding.detail.endswith("the plan has nothing")


def test_the_checker_counts_a_swap_that_the_plan_does_not_state() -> None:
    """Two circuits exchanged by hand: three wires, counted from the two plans alone."""
    plan, sized = built(**FULL)
    ways = {way.need: way.at for way in plan.ways}
    names = [way.need for way in plan.ways if way.feed == "battery" and way.kind == "circuit"]
    other = dict(zip(names, reversed(names), strict=True))
    swapped = tuple(way.model_copy(update={"at": ways[other.get(way.need, way.need)]}) for way in plan.ways)
    counted = changes_made(AsBuilt(sized, plan), sized, plan.model_copy(update={"ways": swapped}))
    assert counted["moved-wires"] == 3  # lamp: load wire; horn: jumper and the lead to its own way


def test_the_checker_counts_every_wire_of_a_circuit_that_a_plan_forgets() -> None:
    """Another finding tells that it has no place; here its built wires count as pulled."""
    plan, sized = built(**FULL)
    without = tuple(way for way in plan.ways if way.need != "lamp")
    counted = changes_made(AsBuilt(sized, plan), sized, plan.model_copy(update={"ways": without}))
    assert counted["moved-wires"] == len(sized.need_by_id["lamp"].options[0].wires) > 0
