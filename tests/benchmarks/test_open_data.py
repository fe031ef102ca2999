"""Published instances, said as panels, reach their known optimum through `allocate()` and prove it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from allocator.errors import CannotBeMet
from allocator.solving import allocate
from allocator.verifying import verify
from tests.benchmarks.translated import FAMILIES, Case, instances, vector_one_less

FEW = {
    "bin packing": ("n1c1w2_a", "pm_u020_01"),
    "variable-sized bin packing": ("vs_q3_x1_n25_v0", "vs_q3_x1_n50_v0", "vs_q5_x2_n50_v0"),
    "class-constrained bin packing": ("cc_n14_q5_c2_v0", "cc_n24_q10_c3_40_v"),
    "strip pieces": ("pc_f8_w6_s0_v", "pc_f4_w4_s0_v"),
    "feed balance": ("bl_n14_k3_0_v",),
    "racks": ("prob031-2",),
    "vector bin packing": ("kvh-6-18-6-20-1",),
}


@pytest.mark.parametrize(("family", "name"), [(family, name) for family, names in FEW.items() for name in names])
def test_known_optimum(family: str, name: str) -> None:
    instance = next(instance for instance in instances(FAMILIES[family].file) if instance["id"] == name)
    reaches_the_optimum(FAMILIES[family].translations[0](instance))


def test_one_module_less_is_ruled_out() -> None:
    """The bins of a vector packing differ by nothing: fillers that nothing tells apart lie in them in order."""
    instance = next(i for i in instances("vector_feasibility.json") if i["id"] == "kvh-6-18-6-5-1")
    case = vector_one_less(instance)
    assert case.best is None
    reaches_the_optimum(case)


@pytest.mark.long
@pytest.mark.parametrize("family", [name for name in FAMILIES if name not in ("bin packing", "vector bin packing")])
def test_every_one_of_the_small_families(family: str) -> None:
    for instance in instances(FAMILIES[family].file):
        reaches_the_optimum(FAMILIES[family].translations[0](instance))


def reaches_the_optimum(case: Case) -> None:
    if case.best is None:
        with pytest.raises(CannotBeMet):
            allocate(case.sized)
        return
    plan = allocate(case.sized, workers=2)
    assert {result.goal: Fraction(result.value) for result in plan.goals} == case.best
    assert {result.outcome for result in plan.goals} == {"best possible"}
    assert verify(case.sized, plan) == ()
