"""Every terminal of the bill is crimped once, and each crimp says which wires are in it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from allocator.plan.crimps import crimp_counts, crimps_of
from allocator.plan.index import PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.plan.wiring import JOINS, Run, WireEnd, is_spliced, runs_of
from allocator.solving import allocate
from tests.builders import A, F, M
from tests.outputs.conftest import BUNDLED, content_of
from tests.revising.changed import sized_with_wires
from tests.verifying.hand_built import good


def run(number: str, start: WireEnd, end: WireEnd, wire: str = "w1") -> Run:
    return Run(number, "wire", start, end, wire, 1000, "", "battery")


@pytest.mark.parametrize("name", ["small", "large", "wide", "many", *BUNDLED, "hand"])
def test_the_crimps_are_the_terminals_of_the_bill(name: str) -> None:
    index = PlanIndex(*good()) if name == "hand" else content_of(name).index
    terminals = {part.id for part in index.sized.requirements.catalogue.terminals}
    billed = {part: number for part, number in bill_of_index(index).parts.items() if part in terminals}
    crimps = crimps_of(runs_of(index))
    assert Counter(crimp.terminal for crimp in crimps) == billed
    assert sum(crimp_counts(crimps).values()) == len(crimps)


def test_the_output_of_a_branch_that_enters_nowhere_has_a_terminal_and_no_crimp() -> None:
    """The lamp is on the source of the branch: nothing leaves the way of the branch's fuse."""
    sized = sized_with_wires(
        {
            "circuits": {"lamp": A(5, feeds=("main",))},
            "feeds": {"main": F(100), "branch": F(20, source="main", fuse="F")},
            "modules": {"row-4": M(("4F strip",))},
        }
    )
    index = PlanIndex(sized, allocate(sized))
    terminals = {part.id for part in index.sized.requirements.catalogue.terminals}
    billed = Counter({part: number for part, number in bill_of_index(index).parts.items() if part in terminals})
    crimped = Counter(crimp.terminal for crimp in crimps_of(runs_of(index)))
    assert billed - crimped == {index.need_by_id["branch"].option.terminal_by_designation["way"]: 1}
    assert not crimped - billed


def test_two_wires_in_one_cavity_share_its_terminal() -> None:
    out = WireEnd("helm/4/S1", "87", "tab")
    crimps = crimps_of([run("C1", out, WireEnd("load")), run("C2", out, WireEnd("load"), "w2")])
    assert [(crimp.terminal, crimp.wires, crimp.runs) for crimp in crimps] == [("tab", ("w1", "w2"), ("C1", "C2"))]


def test_each_wire_at_a_stud_has_a_ring_of_its_own() -> None:
    stud = WireEnd("helm, distribution stud of battery", "stud", "ring")
    crimps = crimps_of(
        [run("C1", WireEnd("supply", "", "ring"), stud), run("T1", stud, WireEnd("x", "inlet", "blade"))]
    )
    assert crimp_counts(crimps) == {("blade", ("w1",)): 1, ("ring", ("w1",)): 3}


def test_a_splice_is_no_crimp_of_a_terminal() -> None:
    assert crimps_of([run("W1", WireEnd("helm/1/A/1", "output"), WireEnd("load"))]) == ()


@pytest.mark.parametrize("name", ["large", "many", "creek-workboat"])
def test_wires_in_one_terminal_are_together_no_more_than_it_takes(name: str) -> None:
    """The cables of a branch to several panels leave one contact: whatever its terminal does not take is spliced."""
    index = content_of(name).index
    cables = [item for item in runs_of(index) if item.role == "cable" and item.need]
    assert len({item.start.place for item in cables}) < len(cables)
    catalogue = index.sized.requirements.catalogue
    takes = {part.id: part.largest_wire for part in catalogue.terminals}
    areas = {part.id: part.area for part in catalogue.wires}
    for crimp in crimps_of(runs_of(index)):
        assert sum(areas[wire] for wire in crimp.wires) <= takes[crimp.terminal], crimp
    assert [item for item in cables if is_spliced(item.start)] == [item for item in cables if item.note == JOINS] != []


def test_cables_that_a_terminal_takes_together_share_it() -> None:
    """With a terminal for twice their area both cables of the workboat's branch are in it, and neither is spliced."""
    index = content_of("creek-workboat").index
    requirements = index.sized.requirements
    broad = [part.model_copy(update={"largest_wire": 20.0}) for part in requirements.catalogue.terminals]
    catalogue = requirements.catalogue.model_copy(update={"terminals": tuple(broad)})
    sized = replace(index.sized, requirements=requirements.model_copy(update={"catalogue": catalogue}))
    crimps = crimps_of(runs_of(PlanIndex(sized, index.plan)))
    assert [crimp.wires for crimp in crimps if len(crimp.wires) > 1] == [("wire-10", "wire-10")]
