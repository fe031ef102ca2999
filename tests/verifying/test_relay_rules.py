"""Relays of the hand-built panel: where each limit lies, and what is said, word for word."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.requirements.catalogue import Relay
from allocator.requirements.own_figures import OwnFigures
from allocator.verifying.relays import contact_ma
from tests.verifying.edits import again, change
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_part, with_rules


@pytest.mark.parametrize(("inductive_a", "carries"), [(8.0, True), (7.999, False)])
def test_contacts_carry_up_to_their_rating(inductive_a: float, carries: bool) -> None:
    """The horn draws 8 A; its relay's contacts do not bear the relay's own coil."""
    sized, plan = good()
    rated = with_part(sized, "relays", "make-micro", inductive=inductive_a)
    found = told(rated, plan, "relay-carries-load")
    assert (found == []) is carries and all(text.startswith("cabin/1/S3: ") for text in found)


@pytest.mark.parametrize(("share", "carried_ma"), [(50.0, 10_000), (100.0, 20_000), (150.0, 20_000)])
def test_a_break_contact_never_carries_more_than_the_make_contact(share: float, carried_ma: int) -> None:
    """A share above 100 % is refused when it is read; the checker would not believe it either."""
    relay: Relay = next(r for r in good()[0].requirements.catalogue.relays if r.function == "changeover")
    stated = relay.model_copy(update={"inductive": 20.0, "break_share": share})
    assert contact_ma(stated, "inductive") == carried_ma


def test_a_relay_that_nobody_sells_hides_no_other() -> None:
    """The first socket holds it; the last one holds a relay that is too weak."""
    sized, plan = good()
    edited = change(change(plan, "sockets", "hazard", relay="lever"), "sockets", "deck", relay="weak-micro")
    assert [text.partition(":")[0] for text in told(sized, edited, "relay-carries-load")] == ["aft/1/S1"]


@pytest.mark.parametrize(("from_a", "far"), [(15.0, True), (15.1, False), (None, False)])
def test_a_relay_is_beside_its_fuse_from_a_rating_on(from_a: float | None, far: bool) -> None:
    """The horn's fuse of 15 A is in cabin/3, its relay in cabin/1."""
    sized, plan = good()
    found = told(with_rules(sized, relay_beside_fuse_from=from_a), plan, "relay-beside-fuse")
    said = (
        'cabin/1/S3: the relay of "horn" is not in the module of its fuse, cabin/3/A/1, '
        "with 15 A, and from 15 A on it must be  [relay-beside-fuse]"
    )
    assert found == ([said] if far else [])


TWICE: dict[str, dict[str, Any]] = {
    'circuit "fan": has 2 relays (cabin/1/S2, cabin/5/S1); expected one  [relay-present]': {"at": "cabin/5/S1"},
    'circuit "fan": has 2 relays (cabin/1/S2, cabin/1/S2); expected one  [relay-present]': {},
}


@pytest.mark.parametrize("said", TWICE)
def test_every_relay_of_a_need_is_named(said: str) -> None:
    sized, plan = good()
    assert told(sized, again(plan, "sockets", "fan", **TWICE[said]), "relay-present") == [said]


@pytest.mark.parametrize("need", ["hazard", "fan", "horn", "lights", "deck"])
@pytest.mark.parametrize("function", ["make", "changeover", "flasher"])
def test_a_relay_has_the_function_that_its_switching_asks_for(need: str, function: str) -> None:
    """Of the class of its socket and in the sizing table, and still no lamp would flash and no fan change over."""
    sized, plan = good()
    (used,) = (socket for socket in plan.sockets if socket.need == need)
    asked = {"hazard": "flasher", "fan": "changeover"}.get(need, "make")
    found = told(with_part(sized, "relays", used.relay, function=function), plan, "class-matches")
    said = f'the relay of {used.kind} "{need}" is of function {function}; asked for is {asked}  [class-matches]'
    assert [text for text in found if f'"{need}"' in text] == ([] if function == asked else [f"{used.at}: {said}"])


def test_the_function_of_a_relay_that_nobody_asked_for_is_not_judged() -> None:
    """That it is there at all is against another rule."""
    sized, plan = good()
    edited = change(plan, "sockets", "fan", need="radio")
    assert told(sized, edited, "class-matches") == []
    assert any('"radio", which needs no relay' in text for text in told(sized, edited, "relay-present"))


@pytest.mark.parametrize(
    ("own", "resistive_a", "needed"),
    [
        ({}, 16.0, None),  # FAA AC 43.13-1B Table 11-4: twice the load of 8 A, inductive, at 12 V
        ({}, 15.9, "16 A"),
        ({"contact_factors": {"inductive": {"12 V": 3}}}, 24.0, None),
        ({"contact_factors": {"inductive": {"12 V": 3}}}, 16.0, "24 A"),
    ],
)
def test_contacts_by_the_strict_rule(own: dict[str, Any], resistive_a: float, needed: str | None) -> None:
    """Exactly what is needed is enough."""
    sized, plan = good()
    strict = with_rules(sized, strict_contacts=True, figures=OwnFigures.model_validate(own))
    rated = with_part(strict, "relays", "make-micro", resistive=resistive_a)
    found = [text for text in told(rated, plan, "relay-carries-load") if "horn" in text]
    said = (
        f'cabin/1/S3: circuit "horn" needs a contact of {needed} by the strict rule; '
        f'relay "make-micro" has {resistive_a:g} A  [relay-carries-load]'
    )
    assert found == ([] if needed is None else [said])
