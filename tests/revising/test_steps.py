"""The steps of a revision, done one after the other on the panel as built: nothing is in the way, and it ends right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from allocator.outputs.changes.marks import marks_of
from allocator.plan.built import built_from
from allocator.plan.change_list import ChangeList, change_list
from allocator.plan.change_needs import change_needs
from allocator.plan.change_step import Step, in_building_order
from allocator.plan.index import PlanIndex
from allocator.plan.renames import Renames
from allocator.plan.wiring import runs_of
from allocator.requirements import load_scenario
from allocator.requirements.scenario import Circuit, Requirements
from allocator.revising import Keep, names_of, revise
from allocator.sizing import size
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from tests.cli.running import SCENARIOS
from tests.outputs.packer import Packer
from tests.outputs.samples import SMALL, requirements_of
from tests.outputs.test_changes import turned_sheet
from tests.outputs.workshop.test_inline_fuses import made
from tests.revising.changed import sized_with_wires
from tests.revising.test_revise import BASE, built
from tests.specs import A, F, M, P

WIRES = ("feed cable", "stud link", "feed tail", "load wire", "return wire", "coil lead", "jumper", "terminal")
LIT = "circuit-01"
GROWN = BASE["circuits"] | {"fan": A(9, feeds=("key",)), "pump": A(6, feeds=("key",))}
SHRUNK = {"lamp": A(10, feeds=("battery", "key")), **{f"more-{n}": A(2, feeds=("battery",)) for n in range(4)}}
OTHER = {"block": M(("6F",), {"micro": 1}, price=500), "power": M(("1E",), {"heavy": 1}, price=300)}


def _to(now: Mapping[str, Any], keep: Keep) -> ChangeList:
    _, sized = built()
    return _changes(sized, sized_with_wires(BASE | dict(now)), keep)


def _changes(sized: Sized, wanted: Sized, keep: Keep) -> ChangeList:
    plan = allocate(sized)
    revision = revise(plan, sized, wanted, keep=keep, with_fresh=False)
    return change_list(revision.built, PlanIndex(sized, plan), PlanIndex(wanted, revision.plan))


CASES = {
    "grown": lambda: _to({"circuits": GROWN}, Keep("modules")),
    "shrunk": lambda: _to({"circuits": SHRUNK}, Keep("modules")),
    "other modules": lambda: _to({"circuits": GROWN, "modules": OTHER}, Keep("chosen")),
    "ways exchanged": lambda: turned_sheet("small").changes,
    "ways exchanged, two panels": lambda: turned_sheet("creek-workboat").changes,
}


class Bench:
    """The panel while it is worked on; every step is tried for what it needs out of the way."""

    def __init__(self, changes: ChangeList) -> None:
        self.old, self.new = changes.old, changes.new
        self.fuses = {str(item.way): item.need.id for item in self.old.needs if item.way and item.option.fuse}
        self.relays = {str(item.socket): item.need.id for item in self.old.needs if item.socket and item.option.relay}
        self.modules = {f"{item.panel}/{item.bay}" for item in self.old.modules}

    def do(self, step: Step) -> None:
        """Do one step."""
        comes, goes = step.doing in ("add", "move", "change", "refit"), step.doing in ("pull", "remove")
        plugs = {"fuse": self.fuses, "relay": self.relays}.get(step.kind)
        if plugs is not None and goes:
            assert plugs.pop(step.old) == step.need
        if plugs is not None and comes:
            assert step.new not in plugs and self._has_module(step.new)
            plugs[step.new] = step.need
        if step.kind in WIRES:
            assert step.need not in self.fuses.values(), f"fuse in while its wire is worked on: {step}"
        if step.kind == "module":
            assert not [at for at in (*self.fuses, *self.relays) if at.startswith(f"{step.old or step.new}/")]
            (self.modules.discard if goes else self.modules.add)(step.old or step.new)
        if step.kind == "strip piece":
            row, _, span = (step.old or step.new).rpartition("/")
            first, last = span.split("-")
            assert not {f"{row}/{way}" for way in range(int(first), int(last) + 1)} & self.fuses.keys()

    def _has_module(self, at: str) -> bool:
        return "/".join(at.split("/")[:2]) in self.modules


@pytest.mark.parametrize("case", CASES)
def test_steps_one_after_the_other_make_the_new_panel(case: str) -> None:
    """No fuse is in while its wire is worked on, nothing comes where something is, and all that is wanted is in."""
    changes = CASES[case]()
    bench = Bench(changes)
    assert [step for step in changes.steps if step.kind in WIRES]
    for step in changes.steps:
        bench.do(step)
    wanted = {str(item.way): item.need.id for item in changes.new.needs if item.way and item.option.fuse}
    assert bench.fuses == wanted
    assert bench.modules == {f"{item.panel}/{item.bay}" for item in changes.new.modules}


def test_a_larger_fuse_comes_after_its_thicker_wire_and_after_all_parts() -> None:
    """Fuses and relays are the last of all; every carrier, module and strip piece is there before a wire."""
    changes = CASES["grown"]()
    kinds = [step.kind for step in changes.steps if step.doing in ("add", "change", "move", "refit")]
    last_wire = max(number for number, kind in enumerate(kinds) if kind in WIRES)
    first_plug = min(number for number, kind in enumerate(kinds) if kind.endswith("fuse") or kind == "relay")
    frame = [number for number, kind in enumerate(kinds) if kind in ("carrier", "module", "strip piece")]
    first_wire = min(number for number, kind in enumerate(kinds) if kind in WIRES)
    assert last_wire < first_plug and all(number < first_wire for number in frame)


def test_a_fuse_that_stays_is_out_while_its_wire_is_replaced() -> None:
    """A longer wire of the same fuse: pulled and put back in the same way, and counted as no change of the fuse."""
    longer = BASE["circuits"] | {"lamp": A(3, feeds=("battery",), relays=("micro",))}
    changes = _to({"circuits": longer}, Keep("all"))
    fuse = [step for step in changes.steps if step.kind == "fuse" and step.need == "lamp"]
    assert [step.doing for step in fuse] == ["pull", "refit"]
    assert fuse[0].old == fuse[1].new and fuse[0].part == fuse[1].part
    assert not [key for key in changes.counts if key[1] == "fuse"]


def test_the_fuse_of_a_control_is_out_while_a_coil_lead_is_hung_on_its_contact() -> None:
    """circuit-01 feeds the coil of circuit-05 from now on."""
    old, new = made("small").index, made("coils").index
    steps = change_list(built_from(old), old, new).steps
    doing = {step.doing for step in steps if step.kind == "fuse" and step.need == "circuit-01"}
    assert "pull" in doing and doing & {"move", "change", "refit"}


def test_a_terminal_that_the_larger_fuse_asks_for_is_crimped_onto_the_wire_that_stays() -> None:
    """1.5 mm2 bears 15 and 20 A; the terminal of the smaller fuse carries 18 A, so it goes while both fuses are out."""
    old, new = (_with_fuse(rating) for rating in ("15 A", "20 A"))
    changes = change_list(built_from(old), old, new)
    wire = next(item for item in changes.wires if item.new and item.new.start.place == str(new.need_by_id[LIT].way))
    steps = [step for step in changes.steps if step.need == LIT and step.kind in ("fuse", "terminal")]
    assert wire.fate == "stays"
    assert [(step.doing, step.kind) for step in steps] == [("pull", "fuse"), ("change", "terminal"), ("change", "fuse")]
    assert (steps[1].was, steps[1].part) == ("tab-6.3-1.5", "tab-6.3-4")


def test_a_wire_that_moves_gets_its_new_terminal_before_it_goes_into_its_new_place() -> None:
    """A relay comes: the load wire leaves its way, and the tab of the socket is wider. No wire goes in twice."""
    requirements = load_scenario(SCENARIOS / "starter-camper")
    steps = _changes(*(size(_with_relay(requirements, names)) for names in ((), ("fan",))), Keep("all")).steps
    of_wire = [step for step in steps if step.need == "fan" and step.kind in ("load wire", "terminal")]
    assert [(step.doing, step.kind) for step in of_wire] == [
        ("pull", "load wire"), ("change", "terminal"), ("move", "load wire"),
    ]  # fmt: skip
    assert of_wire[1].was.startswith("tab-2.8") and of_wire[1].part.startswith("tab-6.3")


def test_a_way_whose_load_wire_leaves_for_a_relay_is_marked() -> None:
    """Its circuit and fuse stay; without the mark the drawing shows less work than the steps."""
    requirements = load_scenario(SCENARIOS / "starter-camper")
    changes = _changes(*(size(_with_relay(requirements, names)) for names in ((), ("water",))), Keep("all"))
    water = changes.new.need_by_id["water"]
    assert not [step for step in changes.steps if step.kind == "fuse" and step.doing == "change"]
    assert marks_of(changes) == {("way", str(water.way)): "C", ("socket", str(water.socket)): "N"}


def _with_relay(requirements: Requirements, names: tuple[str, ...]) -> Requirements:
    circuits = tuple(
        item.model_copy(update={"switching": "relay"} if item.id in names else {}) for item in requirements.circuits
    )
    return requirements.model_copy(update={"circuits": circuits})


def _with_fuse(rating: str) -> PlanIndex:
    requirements = requirements_of(SMALL)
    plain = {"load": "8 A", "load_type": "resistive", "wire": "1.5 mm2", "bundle": 1, "length": {"": "1 m"}}
    circuits = tuple(
        Circuit.model_validate(
            {
                "id": LIT,
                "label": item.label,
                "order": item.order,
                "feeds": item.feeds,
                "fuse_format": "C",
                "fuse_rating": rating,
            }
            | plain
        )
        if item.id == LIT
        else item
        for item in requirements.circuits
    )
    sized = size(requirements.model_copy(update={"circuits": circuits}))
    return PlanIndex(sized, Packer(sized, SMALL).plan())


def test_a_terminal_that_gets_a_second_wire_or_loses_one_is_crimped_anew() -> None:
    """Two cables leave one relay: when the second comes or goes, the first is kept and its terminal is not."""
    both, one = _fed(("cabin", "rear")), _fed(("cabin",))
    for old, new in ((one, both), (both, one)):
        changes = change_list(built_from(old), old, new)
        steps = [step for step in changes.steps if step.kind == "terminal"]
        assert [(step.feed, step.old, step.new) for step in steps] == [("key", steps[0].new, steps[0].new)]
        assert steps[0].new.endswith(" 87")
        assert marks_of(changes)["socket", steps[0].new.removesuffix(" 87")] == "C"
        assert "pull" in {step.doing for step in changes.steps if step.kind in ("fuse", "main fuse")}


def _fed(panels: tuple[str, ...]) -> PlanIndex:
    """Return a plan with a lamp at each of some panels, all on a branch whose relay, in the cabin, takes two cables."""
    circuits = {f"lamp in {panel}": A(3, feeds=("key",), panels=(panel,)) for panel in panels}
    sized = sized_with_wires(BASE | {"circuits": circuits})
    catalogue = sized.requirements.catalogue
    twice = tuple(part.model_copy(update={"largest_wire": 2 * part.largest_wire}) for part in catalogue.terminals)
    of_more = sized.requirements.model_copy(update={"catalogue": catalogue.model_copy(update={"terminals": twice})})
    sized = replace(sized, requirements=of_more)
    return PlanIndex(sized, allocate(sized))


def test_a_feed_that_is_only_renamed_takes_no_work() -> None:
    """Its cable, studs, links and tails are where they were; so are the coil leads on a control. Labels are new."""
    names = {"battery": "house of the van", "top of mast": "mast light"}
    feeds = {"battery": F(60)}
    circuits = {
        "top of mast": A(3, feeds=("battery",)),
        "horn": A(4, feeds=("battery",), relays=("micro",), control="top of mast"),
        **{f"more-{n}": A(4, feeds=("battery",)) for n in range(5)},
    }
    modules, panels = {"block": M(("2F",), {"micro": 1})}, {"cabin": P(4)}
    arguments = BASE | {"feeds": feeds, "circuits": circuits, "modules": modules, "panels": panels}
    renamed = arguments | {
        "feeds": {names["battery"]: F(60)},
        "circuits": {
            names.get(name, name): replace(a, feeds=(names["battery"],), control=names.get(a.control or "", a.control))
            for name, a in circuits.items()
        },
    }
    sized, wanted = sized_with_wires(arguments), sized_with_wires(renamed)
    plan = allocate(sized)
    pairs = [f"{old}={new}" for old, new in names.items()]
    revision = revise(plan, sized, wanted, keep=Keep("all"), renamed=pairs, with_fresh=False)
    changes = change_list(
        revision.built, PlanIndex(sized, plan), PlanIndex(wanted, revision.plan), Renames(names, names)
    )
    assert {run.role for run in runs_of(changes.old)} >= {"cable", "link", "tail", "jumper"}
    assert {change.value for change in revision.plan.changes} == {0}
    assert {(step.doing, step.old, step.new) for step in changes.steps} == {
        ("relabel", *pair) for pair in names.items()
    }
    assert change_needs(changes).tried == ()


@pytest.mark.parametrize(
    ("circuit", "feed"), [("mast", "house"), ("house", "battery"), ("mast", "battery"), ("battery", "battery")]
)
def test_a_circuit_and_a_root_feed_of_one_name_are_renamed_each_for_itself(circuit: str, feed: str) -> None:
    """What has another name now is labelled anew, and the other of the two is what it was."""

    def sized_as(circuit: str, feed: str) -> Sized:
        circuits = {name: A(4, feeds=(feed,)) for name in (circuit, "horn")}
        modules, panels = {"block": M(("4F",))}, {"cabin": P(2)}
        return sized_with_wires(
            BASE | {"feeds": {feed: F(60)}, "circuits": circuits, "modules": modules, "panels": panels}
        )

    sized, wanted = sized_as("house", "house"), sized_as(circuit, feed)
    plan, pairs = allocate(sized), [f"house={name}" for name in dict.fromkeys((circuit, feed)) if name != "house"]
    revision = revise(plan, sized, wanted, keep=Keep("all"), renamed=pairs, with_fresh=False)
    names = names_of(pairs, sized, wanted)
    changes = change_list(revision.built, PlanIndex(sized, plan), PlanIndex(wanted, revision.plan), names)
    assert {change.value for change in revision.plan.changes} == {0}
    labels = sorted((step.doing, step.need) for step in changes.steps)
    assert labels == sorted(("relabel", name) for name in (circuit, feed) if name != "house")


def test_the_main_fuse_is_out_while_its_cable_is_moved() -> None:
    """A second entry brings a stud in, onto which the cable goes."""
    feeds = {"battery": F(60)}
    modules = {"block": M(("2F",))}
    few = {
        "circuits": {"horn": A(4, feeds=("battery",))},
        "feeds": feeds,
        "modules": modules,
        "panels": {"cabin": P(3)},
    }
    many = few | {"circuits": {f"horn{n or ''}": A(4, feeds=("battery",)) for n in range(4)}}
    changes = _changes(sized_with_wires(BASE | few), sized_with_wires(BASE | many), Keep("modules"))
    main = [step for step in changes.steps if step.kind == "main fuse"]
    assert [(step.doing, step.feed) for step in main] == [("pull", "battery"), ("refit", "battery")]


def test_what_is_on_a_stud_stays_there_when_a_second_one_comes_or_goes() -> None:
    """Cable, link and two tails fill the first of two; of three tails on the only one the last goes to the second."""
    few, many = (
        sized_with_wires(
            BASE
            | {
                "feeds": {"battery": F(60)},
                "circuits": {f"horn{n}": A(4, feeds=("battery",)) for n in range(number)},
                "modules": {"block": M(("2F",))},
                "panels": {"cabin": P(6)},
            }
        )
        for number in (6, 8)
    )
    fewer, more = (PlanIndex(sized, allocate(sized)) for sized in (few, many))
    for old, new in ((fewer, more), (more, fewer)):
        changes = change_list(built_from(old), old, new)
        fates = [(item.run.number, item.fate) for item in changes.wires if item.run.role in ("cable", "tail")]
        gone_or_come = ("T4", "new" if new is more else "out")
        assert fates == [("C1", "stays"), ("T1", "stays"), ("T2", "stays"), ("T3", "moved"), gone_or_come]
        relabelled = {run.number for run in change_needs(changes).labelled if run.role in ("cable", "tail")}
        assert relabelled == {"C1", "T1", "T2", "T3", *(["T4"] if new is more else [])}


@pytest.mark.parametrize("other", ["main holder", "distribution stud", "tail fuse", "none in the tails"])
def test_the_main_fuse_is_out_while_parts_before_the_panel_are_exchanged(other: str) -> None:
    """All wires stay; the holder of a main fuse came out with the fuse in it, and the others behind one that was in."""
    circuits = {f"horn{n}": A(4, feeds=("battery",)) for n in range(4)}
    feeds, modules = {"battery": F(60, tail_fuse=True)}, {"block": M(("2F",))}
    sized = sized_with_wires(BASE | {"circuits": circuits, "feeds": feeds, "modules": modules})
    feed, plan = sized.feeds["battery"], allocate(sized)
    assert feed.main is not None
    now = {
        "main holder": replace(feed, main=replace(feed.main, holder="another")),
        "distribution stud": replace(feed, stud="another"),
        "tail fuse": replace(feed, tail_fuse="another"),
        "none in the tails": replace(feed, tail_fuse=None, tail_holder=None),
    }[other]
    old, new = (PlanIndex(replace(sized, feeds={"battery": item}), plan) for item in (feed, now))
    changes = change_list(built_from(old), old, new)
    assert {change.fate for change in changes.wires} == {"stays"}
    kinds = [step.kind for step in changes.steps]
    assert [step.doing for step in changes.steps if step.kind == "main fuse"] == ["pull", "refit"]
    exchanged = [n for n, kind in enumerate(kinds) if kind in ("main holder", "distribution stud", "tail holder")]
    out, back = (number for number, kind in enumerate(kinds) if kind == "main fuse")
    assert exchanged and out < min(exchanged) and max(exchanged) < back


def test_every_kind_of_step_has_its_place_in_the_order() -> None:
    """A kind that is missing in the order would raise."""
    assert in_building_order(Step("add", "label", "", "", "", "")) > in_building_order(
        Step("add", "fuse", "", "", "", "")
    )
    with pytest.raises(ValueError, match="not in tuple"):
        in_building_order(Step("add", "nothing of ours", "", "", "", ""))
