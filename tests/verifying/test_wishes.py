"""What is said of spare ways and pins, word for word."""

from __future__ import annotations

import pytest

from tests.verifying.edits import change, remove
from tests.verifying.hand_built import good
from tests.verifying.mutations import Mutation
from tests.verifying.other_tables import told, with_circuit

ONE, TWO = "cabin/4/B/2 (spare spare-1-1)", "aft/2/A/2 (spare spare-2-1)"
CASES: list[tuple[Mutation, list[str]]] = [
    (
        lambda p: remove(remove(p, "ways", "spare-1-1"), "ways", "spare-2-1"),
        [
            'spare way "spare-1-1": is missing; wanted is a free way of format C',
            'spare way "spare-2-1": is missing; wanted is a free way of format E',
        ],
    ),
    (
        lambda p: change(p, "ways", "spare-2-1", at="aft/3/A/3"),
        ["aft/3/A/3 (spare spare-2-1): wants format E; the way is of format C"],
    ),
    (
        lambda p: change(p, "ways", "spare-1-1", at="cabin/5/A/3"),
        ["cabin/5/A/3 (spare spare-1-1): wants format C; the way is of format E"],
    ),
    (lambda p: change(p, "ways", "spare-1-1", feed="battery"), [f'{ONE}: is on feed "battery"; wanted is "ignition"']),
    (lambda p: change(p, "ways", "spare-2-1", feed="hold"), []),
    (
        lambda p: change(p, "ways", "spare-2-1", feed="shore"),
        [f'{TWO}: is on feed "shore"; wanted is "battery", "ignition", "lights", "deck", "hold"'],
    ),
    (
        lambda p: change(p, "ways", "spare-1-1", at="aft/3/A/3"),
        ['aft/3/A/3 (spare spare-1-1): is wanted at panel "cabin"'],
    ),
    (lambda p: change(p, "ways", "spare-1-1", at="//"), []),  # told by the rule on addresses
    (lambda p: change(p, "ways", "spare-1-1", wire="w1"), [f"{ONE}: is not free: it holds a fuse or a wire"]),
    (lambda p: change(p, "ways", "spare-2-1", fuse="E-20"), [f"{TWO}: is not free: it holds a fuse or a wire"]),
]


@pytest.mark.parametrize(("edit", "said"), CASES)
def test_what_is_said_of_spare_ways(edit: Mutation, said: list[str]) -> None:
    sized, plan = good()
    assert told(sized, edit(plan), "spare-ways") == [f"{text}  [spare-ways]" for text in said]


def test_a_spare_way_is_of_use_only_on_a_feed_that_some_circuit_accepts() -> None:
    """No circuit accepts the lights here."""
    sized, plan = good()
    for name in ("dip-left", "dip-right"):
        sized = with_circuit(sized, name, feeds=("battery",))
    said = f'{TWO}: is on feed "lights"; wanted is "battery", "ignition", "deck", "hold"  [spare-ways]'
    assert told(sized, change(plan, "ways", "spare-2-1", feed="lights"), "spare-ways") == [said]


@pytest.mark.parametrize("edit", [lambda p: remove(p, "ways", "radio"), lambda p: change(p, "ways", "radio", at="//")])
def test_a_pin_that_cannot_be_looked_at_hides_no_other(edit: Mutation) -> None:
    sized, plan = good()
    pinned = with_circuit(sized, "pump-b", pin="aft/3/B")
    said = 'aft/3/A/1 (circuit pump-b): is pinned to "aft/3/B"  [pin]'
    assert told(pinned, edit(plan), "pin") == [said]
