"""Bonds of circuits where one of them has no place that can be read: other rules tell that, and these say nothing."""

from __future__ import annotations

import pytest

from allocator.verifying import verify
from tests.verifying.edits import change, remove
from tests.verifying.hand_built import RULES, good

BONDED = sorted({name for bond in (*RULES["apart"], *RULES["together"]) for name in bond["circuits"]})


@pytest.mark.parametrize("name", BONDED)
def test_a_circuit_that_is_nowhere_breaks_no_bond(name: str) -> None:
    sized, plan = good()
    for edited in (change(plan, "ways", name, at="//"), remove(plan, "ways", name)):
        rules = {finding.rule for finding in verify(sized, edited)}
        assert rules & {"way-exists", "every-need-placed"}
        assert not [rule for rule in rules if rule.startswith(("apart-", "together-"))]
