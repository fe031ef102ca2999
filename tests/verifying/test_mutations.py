"""Every rule of the rulebook, broken on purpose: the checker must name it, and only a good plan passes."""

from __future__ import annotations

import pytest

from allocator.rulebook import RULES
from allocator.verifying import verify
from allocator.verifying.registry import CHECKS
from tests.verifying.hand_built import good
from tests.verifying.mutations import MUTATIONS, Mutation, all_kept


def test_every_rule_has_a_check_and_no_check_is_left_over() -> None:
    assert list(CHECKS) == list(RULES)


def test_the_good_plan_keeps_every_rule() -> None:
    assert verify(*good()) == ()


def test_the_good_plan_keeps_all_of_itself() -> None:
    sized, plan = good()
    assert verify(sized, all_kept(plan)) == ()


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_a_mutation(rule: str) -> None:
    assert MUTATIONS.get(rule), "a rule that nobody tries to break"


def _cases() -> list[tuple[str, str, Mutation]]:
    return [(rule, says, edit) for rule in sorted(MUTATIONS) for says, edit in MUTATIONS[rule]]


@pytest.mark.parametrize(("rule", "says", "edit"), _cases())
def test_broken_plan_is_noticed(rule: str, says: str, edit: Mutation) -> None:
    """The finding carries the rule's id and words that the user knows."""
    sized, plan = good()
    findings = verify(sized, edit(plan))
    texts = [finding.text() for finding in findings if finding.rule == rule]
    assert any(says in text for text in texts), [finding.text() for finding in findings]
    assert all(finding.rule in RULES and finding.where and finding.detail for finding in findings)


def test_findings_come_in_the_order_of_the_rulebook_and_only_once() -> None:
    """Two faults in one plan, one of them said twice by the plan."""
    sized, plan = good()
    for rule in ("goal-value", "pin", "carrier-allowed"):
        plan = MUTATIONS[rule][0][1](plan)
    findings = verify(sized, plan)
    order = [list(RULES).index(finding.rule) for finding in findings]
    assert order == sorted(order)
    assert len(set(findings)) == len(findings)
    assert {"goal-value", "pin", "carrier-allowed"} <= {finding.rule for finding in findings}
