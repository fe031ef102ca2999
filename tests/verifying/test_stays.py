"""What a revision keeps of the panel as built: what is said of each thing that moved, word for word."""

from __future__ import annotations

from tests.verifying.edits import change, remove
from tests.verifying.hand_built import good
from tests.verifying.mutations import all_kept
from tests.verifying.other_tables import told

RULE = "built-stays"


def test_a_plan_of_which_all_is_kept_has_nothing_gone() -> None:
    sized, plan = good()
    assert told(sized, all_kept(plan), RULE) == []


def test_a_way_and_a_socket_that_moved_are_each_called_what_they_are() -> None:
    """The relay of the fan moves and its fuse stays; of the radio, which has no relay, the fuse is gone."""
    sized, plan = good()
    built = all_kept(plan)
    assert told(sized, change(built, "sockets", "fan", at="cabin/5/S1"), RULE) == [
        "cabin/1/S2 (fan): its socket is built there and stays; in the plan it is at cabin/5/S1  [built-stays]"
    ]
    assert told(sized, remove(built, "ways", "radio"), RULE) == [
        "cabin/4/B/1 (radio): its way is built there and stays; in the plan it is nowhere  [built-stays]"
    ]


def test_what_stands_at_a_module_that_is_gone_is_named() -> None:
    """An address that is no bay has no module either."""
    sized, plan = good()
    built = all_kept(plan)
    assert built.stays is not None
    (module,) = (placed for placed in built.stays.modules if placed.at == "cabin/4")
    lost = built.stays.model_copy(update={"modules": (module.model_copy(update={"at": "cabin/fourth"}),)})
    assert told(sized, built.model_copy(update={"stays": lost}), RULE) == [
        'cabin/fourth: module "twin" is built there and stays; the plan has nothing  [built-stays]'
    ]
