"""Every rule that the model keeps: a smallest panel that it admits, and one change that it refuses."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest

from allocator.errors import InputError
from allocator.requirements.scenario import Goal
from allocator.rulebook import CLAIMS, RULES
from tests.model.checked import planned
from tests.model.rule_cases import CASES, Arguments, RuleCase


def test_every_rule_has_a_case() -> None:
    """But for claims of a plan about itself, and what only a revision has to keep (``tests/revising``)."""
    assert {case.rule for case in CASES} == set(RULES) - {*CLAIMS, "built-stays"}


def outcome(case: RuleCase, arguments: Arguments) -> Mapping[Goal, Fraction] | None:
    """Return the value of every goal; None where there is no plan, or where sizing refuses already."""
    try:
        return planned(case.build(arguments))
    except InputError:
        return None


@pytest.mark.parametrize("case", CASES, ids=[case.id for case in CASES])
def test_admitted_and_refused(case: RuleCase) -> None:
    """The change alone makes the panel impossible, or its goal as much worse as it must be."""
    admitted = outcome(case, case.admitted)
    refused = outcome(case, {**case.admitted, **case.change})
    assert admitted is not None
    assert admitted[case.goal] == case.value
    assert (None if refused is None else refused[case.goal]) == case.refused
