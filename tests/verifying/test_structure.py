"""What is said of carriers and modules, word for word, and where the rules let more of them pass."""

from __future__ import annotations

import pytest

from tests.verifying.edits import again, change
from tests.verifying.hand_built import good
from tests.verifying.mutations import Mutation
from tests.verifying.other_tables import told, with_rules

SAID: dict[str, tuple[Mutation, str]] = {
    "carrier-allowed": (
        lambda p: change(p, "carriers", 5, panel="roof"),
        'roof: the scenario has no panel "roof", only "cabin", "aft"',
    ),
    "module-in-carrier": (
        lambda p: change(p, "modules", "cabin/1", at="cabin/4"),
        'cabin/4: no one carrier of panel "cabin" holds bays 4 to 5 of module "wide"',
    ),
    "module-stock": (
        lambda p: again(p, "modules", "cabin/1", at="aft/1"),
        'module "wide": 2 in the plan; 1 on the shelf',
    ),
}


@pytest.mark.parametrize("rule", SAID)
def test_what_is_said(rule: str) -> None:
    edit, said = SAID[rule]
    sized, plan = good()
    assert told(sized, edit(plan), rule) == [f"{said}  [{rule}]"]


def test_what_is_not_on_the_shelf_may_be_ordered() -> None:
    sized, plan = good()
    edited = SAID["module-stock"][0](plan)
    assert told(with_rules(sized, use_stock=False), edited, "module-stock") == []
