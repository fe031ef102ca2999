"""Every terminal of the bill is crimped once, and each crimp says which wires are in it."""

from __future__ import annotations

from collections import Counter

import pytest

from allocator.plan.crimps import crimp_counts, crimps_of
from allocator.plan.index import PlanIndex
from allocator.plan.parts import bill_of_index
from allocator.plan.wiring import Run, WireEnd, runs_of
from tests.outputs.conftest import BUNDLED, content_of
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
