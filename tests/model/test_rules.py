"""Every rule that the model keeps: a smallest panel that it admits, and one change that it refuses."""

from __future__ import annotations

import pytest

from allocator.rulebook import RULES
from tests.model.checked import planned
from tests.model.rule_cases import CASES, RuleCase

CLAIMS = {"goal-value"}
"""Rules on what a plan says of itself: the model has nothing to keep."""


def test_every_rule_has_a_case() -> None:
    assert {case.rule for case in CASES} == set(RULES) - CLAIMS


@pytest.mark.parametrize("case", CASES, ids=[case.id for case in CASES])
def test_admitted_and_refused(case: RuleCase) -> None:
    """The change alone makes the panel impossible, or its goal as much worse as it must be."""
    admitted = planned(case.build(case.admitted))
    refused = planned(case.build({**case.admitted, **case.change}))
    assert admitted is not None
    assert admitted[case.goal] == case.value
    assert (None if refused is None else refused[case.goal]) == case.refused
