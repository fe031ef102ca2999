"""What is said of needs at ways, word for word, and that an unreadable way hides no fault of another."""

from __future__ import annotations

import pytest

from tests.verifying.edits import again, change
from tests.verifying.hand_built import good, with_feed
from tests.verifying.mutations import Mutation
from tests.verifying.other_tables import told, with_circuit

SAID: dict[str, tuple[Mutation, str]] = {
    "every-need-placed": (
        lambda p: again(p, "ways", "radio", at="cabin/4/B/3"),
        'circuit "radio": has 2 ways (cabin/4/B/1, cabin/4/B/3); expected one',
    ),
    "format-matches": (
        lambda p: change(change(p, "ways", "hazard", at="//"), "ways", "winch", fuse="E-50"),
        'aft/3/B/2 (circuit winch): fuse "E-50" is of format E, the way of format C',
    ),
    "key-out": (
        lambda p: change(p, "ways", "pump-b", feed="ignition"),
        'aft/3/A/1 (circuit pump-b): must work with the key out; feed "ignition" is of kind ignition',
    ),
    "feed-reaches-panel": (
        lambda p: change(p, "ways", "pump-a", feed="ignition"),
        'aft/1/A/1: feed "ignition" does not reach panel "aft", only "cabin"',
    ),
}


@pytest.mark.parametrize("rule", SAID)
def test_what_is_said(rule: str) -> None:
    edit, said = SAID[rule]
    sized, plan = good()
    assert told(sized, edit(plan), rule) == [f"{said}  [{rule}]"]


AT = {"fan": "cabin/1/A/2", "horn": "cabin/3/A/1", "radio": "cabin/4/B/1", "dip-right": "cabin/3/A/2"}
LIVE, DEAD = "deck-switch", "light-switch"
"""Circuits on hold, which is permanent, and on ignition."""


@pytest.mark.parametrize(
    ("name", "switching", "control", "is_told"),
    [
        ("fan", "changeover", DEAD, True),
        ("fan", "changeover", LIVE, False),
        ("fan", "changeover", None, False),  # its own feed
        ("horn", "relay", DEAD, True),
        ("horn", "relay", LIVE, False),
        ("fan", "flasher", DEAD, False),  # it has no coil
        ("dip-right", "none", DEAD, False),  # nor has a circuit without a relay
        ("fan", "changeover", "lights", False),  # a feed of that name is no circuit
    ],
)
def test_a_coil_must_not_hang_on_the_key(name: str, switching: str, control: str | None, is_told: bool) -> None:
    sized, plan = good()
    asked = with_circuit(sized, name, key_out=True, switching=switching, control=control)
    said = (
        f"{AT[name]} (circuit {name}): must work with the key out; the coil of its relay hangs on "
        f'"{control}"; feed "ignition" is of kind ignition  [key-out]'
    )
    edited = change(plan, "ways", "lights", feed="ignition")
    assert told(asked, edited, "key-out") == [said] * is_told


def test_a_feed_that_goes_out_with_the_key_is_told_with_its_relay() -> None:
    """Deck passes a relay; battery above it is permanent."""
    sized, plan = good()
    found = told(sized, change(plan, "ways", "pump-b", feed="deck"), "key-out")
    who = "aft/3/A/1 (circuit pump-b): must work with the key out"
    assert found == [
        f'{who}; feed "deck" is of kind switched  [key-out]',
        f'{who}; feed "deck" passes a relay  [key-out]',
    ]


def test_what_only_has_the_name_of_a_circuit_may_go_out_with_the_key() -> None:
    sized, plan = good()
    named = again(plan, "ways", "hazard", at="cabin/4/A/4", kind="feed", feed="ignition")
    assert told(sized, named, "key-out") == []


def test_a_permanent_branch_of_a_feed_that_goes_out_goes_out_too() -> None:
    sized, plan = good()
    found = told(with_feed(sized, "hold", source="ignition"), plan, "key-out")
    assert found == [
        'aft/3/A/1 (circuit pump-b): must work with the key out; feed "ignition" is of kind ignition  [key-out]'
    ]
