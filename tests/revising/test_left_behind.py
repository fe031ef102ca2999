"""A fuse that was changed at the vehicle: all behind it that nobody changed must bear it, not the load wire alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from allocator.errors import InputError
from allocator.plan.plan import Plan
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.places import Item, Spot
from allocator.requirements.scenario import Circuit
from allocator.requirements.vehicle_notes import VehicleNote
from allocator.revising.noting import as_noted
from allocator.sizing import size
from allocator.sizing.sized import Sized
from tests.outputs.packer import Packer
from tests.outputs.samples import SMALL, requirements_of

RELAY: dict[str, Any] = {"switching": "relay", "relay_class": "standard", "wire": "4 mm2"}
WIRED: dict[str, Any] = {"wire": "1.5 mm2", "bundle": 1}
FED = {"circuit-01": {"fuse_rating": "5 A", "wire": "4 mm2"}, "circuit-05": {"control": "circuit-01", **RELAY}}


def built(
    catalogue: Callable[[Catalogue], Catalogue] = lambda it: it, rules: dict[str, Any] | None = None, **fields: Any
) -> tuple[Sized, Plan]:
    """Return the small sample with some circuits of 3 A, type C and 1 m, and with other rules."""
    requirements = requirements_of(SMALL)
    scenario = requirements.scenario
    stated = scenario.model_copy(update={"rules": scenario.rules.model_copy(update=rules or {})})
    requirements = requirements.model_copy(update={"scenario": stated})
    requirements = requirements.model_copy(update={"catalogue": catalogue(requirements.catalogue)})
    plain = {"load": "3 A", "load_type": "resistive", "fuse_format": "C", "length": {"": "1 m"}}
    circuits = tuple(
        Circuit.model_validate(
            {"id": item.id, "label": item.label, "order": item.order, "feeds": item.feeds} | plain | fields[item.id]
        )
        if item.id in fields
        else item
        for item in requirements.circuits
    )
    sized = size(requirements.model_copy(update={"circuits": circuits}))
    return sized, Packer(sized, SMALL).plan()


def noted(panel: tuple[Sized, Plan], *notes: tuple[str, str, str]) -> list[str]:
    """Return what is wrong with notes of circuit, what and value."""
    cells = ({"day": "2026-03-02", "circuit": name, "what": what, "value": value} for name, what, value in notes)
    lines = [
        Item(Spot("notes.csv", f"row {number}", "the note", (number,), row), VehicleNote.model_validate(row))
        for number, row in enumerate(cells, 2)
    ]
    try:
        as_noted(panel[1], panel[0], lines)
    except InputError as error:
        assert {fault.rule for fault in error.faults} == {"vehicle-note"}
        assert all(fault.where.startswith("notes.csv, row ") for fault in error.faults)
        return [fault.message for fault in error.faults]
    return []


@pytest.mark.parametrize(("amperes", "wrong"), [("15 A", 0), ("20 A", 1)])
def test_a_terminal_that_carries_less_than_the_fuse_is_told(amperes: str, wrong: int) -> None:
    """1.5 mm2 bears 20 A; its terminal was the cheapest for 5 A, and carries 18 A."""
    panel = built(**{"circuit-02": WIRED})
    text = 'circuit "circuit-02": its terminal at way carries 18 A, less than its fuse of 20 A'
    assert noted(panel, ("circuit-02", "fuse", amperes)) == [text][:wrong]


def test_a_socket_that_holds_another_relay_is_told_however_it_is_written() -> None:
    panel = built(**FED)
    sockets = {socket.need: socket.at for socket in panel[1].sockets}
    other = next(at for need, at in sockets.items() if need != "circuit-05")
    for written in (other, other.replace("/S", "/s0")):
        assert noted(panel, ("circuit-05", "socket", written)) == ["the socket holds another relay"]


def test_a_new_load_wire_has_new_terminals() -> None:
    assert noted(built(**{"circuit-02": WIRED}), ("circuit-02", "wire", "4 mm2"), ("circuit-02", "fuse", "30 A")) == []


def test_a_jumper_and_the_leads_of_a_coil_that_do_not_bear_the_fuse_are_told() -> None:
    """The run of 4 mm2 bears 25 A; the jumper was made for 5 A, and so were the leads on the same way."""
    panel = built(**{"circuit-02": RELAY})
    assert noted(panel, ("circuit-02", "fuse", "7.5 A")) == []
    found = noted(panel, ("circuit-02", "fuse", "25 A"))
    starts = [text.removeprefix('circuit "circuit-02": ').partition(" of Wire")[0] for text in found]
    in_line = "the leads of its coil have no in-line fuse; behind the fuse before them they take one"
    assert starts[:2] == ["its jumper is", in_line]
    assert {text.partition("terminal at ")[2].partition(" ")[0] for text in found[2:]} == {"way", "30"}


def test_coil_leads_on_a_control_that_got_a_larger_fuse_are_told_of_their_own_circuit() -> None:
    panel = built(**FED)
    assert noted(panel, ("circuit-01", "fuse", "7.5 A")) == []
    found = noted(panel, ("circuit-01", "fuse", "25 A"))
    assert [text for text in found if text.startswith('circuit "circuit-05": the leads of its coil ')]


def test_leads_that_an_in_line_fuse_protects_are_told_where_paper_would_have_thicker_ones_without_it() -> None:
    """
    The control might have got 20 A of type E, more than 2.5 mm2 bears in a bundle of 60 %: the coil got a fuse in line.

    Behind 15 A thicker leads do without one. Whoever takes it out by that paper has 15 A before the thin ones.
    """
    fed = FED | {"circuit-01": {"fuse_format": None, "wire": "4 mm2"}}
    panel = built(rules={"bundle_factor": 60.0}, **fed)
    option = next(need for need in panel[0].needs if need.id == "circuit-05").options[0]
    assert option.coil_fuse is not None
    assert noted(panel, ("circuit-01", "fuse", "7.5 A")) == []
    (found,) = noted(panel, ("circuit-01", "fuse", "15 A"))
    assert found == (
        'circuit "circuit-05": the leads of its coil are of Wire 1 mm2 behind an in-line fuse, which the paper of now '
        "would leave out; behind the fuse before them they take Wire 14 AWG"
    )


def test_a_control_keeps_its_fuse_when_a_circuit_with_a_coil_on_it_is_taken_out() -> None:
    """With the coil it draws more than 75 % of 2 A; without it that smaller fuse would do, and nobody has fitted it."""
    fed = FED | {"circuit-01": {"load": "1.4 A", "length": {"": "1 m"}}}
    sized, plan = built(**fed)
    (was,) = [way for way in plan.ways if way.need == "circuit-01"]
    note = VehicleNote.model_validate({"day": "2026-03-02", "circuit": "circuit-05", "what": "removed"})
    changed, now = as_noted(plan, sized, [Item(Spot("notes.csv", "row 2", "the note", (2,), {}), note)])
    (left,) = [way for way in changed.ways if way.need == "circuit-01"]
    assert (left.fuse, left.wire) == (was.fuse, was.wire) == ("fuse-c-3", "wire-1")
    assert {option.fuse for option in now.need_by_id["circuit-01"].options} == {"fuse-c-3"}
    alone = sized.requirements.model_copy(
        update={"circuits": tuple(item for item in sized.requirements.circuits if item.id != "circuit-05")}
    )
    assert {option.fuse for option in size(alone).need_by_id["circuit-01"].options} == {"fuse-c-2"}


def _cooler(catalogue: Catalogue) -> Catalogue:
    """Offer every wire with insulation of 60 degC as well, at half the price."""
    cooler = [
        wire.model_copy(update={"id": f"{wire.id}-60", "label": f"{wire.label} 60", "insulation": 60.0, "price": 1})
        for wire in catalogue.wires
    ]
    return catalogue.model_copy(update={"wires": (*catalogue.wires, *cooler)})


def _sized_with(name: str, panel: tuple[Sized, Plan]) -> str:
    return next(str(way.wire) for way in panel[1].ways if way.need == name)


def test_a_load_wire_of_cooler_insulation_is_not_taken_for_a_hotter_one_of_its_size() -> None:
    """1.5 mm2 for 60 degC bears 5 A; for 105 degC it would bear 15 A as well, but that is not what was built."""
    panel = built(_cooler, **{"circuit-02": WIRED})
    assert _sized_with("circuit-02", panel).endswith("-60")
    assert noted(panel, ("circuit-02", "fuse", "7.5 A")) == []
    (found,) = noted(panel, ("circuit-02", "fuse", "15 A"))
    assert found.startswith('circuit "circuit-02": its load wire is of ') and "behind a fuse of 15 A" in found
    assert noted(built(**{"circuit-02": WIRED}), ("circuit-02", "fuse", "15 A")) == []


def test_jumper_and_leads_of_cooler_insulation_are_told() -> None:
    """Of one size, what sizing takes now is hotter than what was built."""
    panel = built(_cooler, **{"circuit-02": RELAY | {"bundle": 1}})
    found = noted(panel, ("circuit-02", "fuse", "15 A"))
    assert [text for text in found if "its jumper is of " in text and " 60; " in text]
    assert [text for text in found if "the leads of its coil are of " in text and " 60; " in text]


def test_terminals_of_coil_leads_carry_the_fuse_of_their_control() -> None:
    """The leads of 2.5 mm2 bear 15 A; their terminals were the cheapest for 5 A, and carry 9 A."""

    def weak(catalogue: Catalogue) -> Catalogue:
        wires = tuple(wire for wire in catalogue.wires if wire.area >= 2.5)
        poor = [
            part.model_copy(update={"id": f"{part.id}-weak", "limit": 9.0, "price": 1})
            for part in catalogue.terminals
            if part.kind == "tab"
        ]
        return catalogue.model_copy(update={"wires": wires, "terminals": (*catalogue.terminals, *poor)})

    fed = FED | {"circuit-01": {"fuse_rating": "5 A", "wire": "4 mm2", "bundle": 1}}
    panel = built(weak, **fed)
    assert noted(panel, ("circuit-01", "fuse", "7.5 A")) == []
    found = noted(panel, ("circuit-01", "fuse", "15 A"))
    assert [text for text in found if text.startswith('circuit "circuit-05"')] == [
        f'circuit "circuit-05": its terminal at {tab} carries 9 A, less than the fuse before its coil of 15 A'
        for tab in ("85", "86")
    ]
