"""Fuses in feed tails and before coils: of which rating, in which holder, and how many."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from allocator.plan.plan import Plan
from allocator.requirements.own_figures import OwnFigures
from allocator.sizing.sized import Sized
from tests.verifying.edits import change
from tests.verifying.hand_built import good, with_feed
from tests.verifying.other_tables import told, with_circuit, with_options, with_part, with_rules, with_sized_feed

RULE = "inline-fuse"
DECK = 'aft/3/B/1-2 (feed "deck")'
STUD = 'cabin/5/stud (feed "battery")'


def _told(sized: Sized, plan: Plan, where: str = "") -> list[str]:
    texts = [text.removesuffix(f"  [{RULE}]") for text in told(sized, plan, RULE) if text.startswith(where)]
    return [text.removeprefix(f"{where}: ") for text in texts]


@pytest.mark.parametrize(
    ("fuse", "says"),
    [
        (None, ["has no fuse in its tail; the feed wants one of 60 A"]),
        ("no-such", ["has no fuse in its tail; the feed wants one of 60 A"]),
        ("SF30-80", ["has a fuse of 80 A in its tail; at most 60 A protect it"]),
        (
            "E-50",
            [
                'in-line holder "holder-sf30" does not take fuse "E-50"',
                "has a fuse of 50 A in its tail; the feed wants one of 60 A",
            ],
        ),
    ],
)
def test_a_feed_that_wants_a_fuse_in_each_tail(fuse: str | None, says: list[str]) -> None:
    sized, plan = good()
    assert _told(sized, change(plan, "pieces", "cabin/5/stud", tail_fuse=fuse), STUD) == says


@pytest.mark.parametrize(
    ("fuse", "says"),
    [
        (None, []),  # told by inlet-protected and as-sized: the feed itself wants none
        ("E-20", []),
        ("SF30-60", ['in-line holder "holder-e" does not take fuse "SF30-60"']),  # just what stands before its cable
        (
            "SF30-80",
            [
                'in-line holder "holder-e" does not take fuse "SF30-80"',
                "has a fuse of 80 A in its tail; at most 60 A protect it",
            ],
        ),
    ],
)
def test_an_entry_with_a_fuse_of_its_own(fuse: str | None, says: list[str]) -> None:
    """The deck hangs on the tail fuse of 60 A of its source, and its strip carries 56 A."""
    sized, plan = good()
    assert _told(sized, change(plan, "pieces", "aft/3/B/1-2", tail_fuse=fuse), DECK) == says


def test_an_entry_with_a_fuse_of_its_own_may_have_less_than_its_feed_wants() -> None:
    sized, plan = good()
    asked = with_feed(sized, "deck", tail_fuse=55.0)
    assert _told(asked, plan, DECK) == []
    assert _told(with_feed(sized, "deck", tail_fuse=49.0), plan, DECK) == [
        "has a fuse of 50 A in its tail; at most 49 A protect it"
    ]


@pytest.mark.parametrize(
    ("fields", "holder"),
    [
        ({"tail_holder": None}, "none"),
        ({"tail_holder": "no-such"}, "no-such"),
        ({"tail_holder": "holder-e"}, "holder-e"),
    ],
)
def test_a_tail_fuse_in_no_holder_for_it(fields: dict[str, Any], holder: str) -> None:
    """Once at each of the battery's five entries."""
    sized, plan = good()
    texts = _told(with_sized_feed(sized, "battery", **fields), plan)
    assert [text.partition(": ")[2] for text in texts] == [
        f'in-line holder "{holder}" does not take fuse "SF30-60"'
    ] * 5


def test_a_holder_is_used_up_to_its_limit() -> None:
    sized, plan = good()
    assert _told(with_part(sized, "holders", "holder-sf30", limit=60.0), plan) == []
    assert len(_told(with_part(sized, "holders", "holder-sf30", limit=59.0), plan)) == 5


def _horn(**parts: int) -> Sized:
    """Return the sizing table with more parts in the option of the horn, whose own fuse is C-15."""
    sized, _ = good()
    listed = dict(sized.need_by_id["horn"].options[0].parts)
    more = {name.replace("_", "-"): count for name, count in parts.items()}
    return with_options(sized, "horn", parts={name: listed.get(name, 0) + more.get(name, 0) for name in listed | more})


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ({"E_20": 1, "holder_e": 1}, []),
        ({"E_20": 1}, ["has 1 fuses in 0 holders before its coil; expected one in one, or none"]),
        ({"holder_e": 1}, ["has 0 fuses in 1 holders before its coil; expected one in one, or none"]),
        ({"E_20": 2, "holder_e": 1}, ["has 2 fuses in 1 holders before its coil; expected one in one, or none"]),
        ({"C_15": 1}, ["has 1 fuses in 0 holders before its coil; expected one in one, or none"]),
        ({"C_2": 1, "holder_e": 1}, ['in-line holder "holder-e" does not take fuse "C-2"']),
        ({"E_20": 1, "holder_sf30": 1}, ['in-line holder "holder-sf30" does not take fuse "E-20"']),
    ],
)
def test_a_fuse_before_a_coil(parts: dict[str, int], says: list[str]) -> None:
    """One in a holder that takes it; one more of the horn's own kind is one before its coil."""
    assert _told(_horn(**parts), good()[1], 'cabin/1/S3 (circuit "horn")') == says


def test_a_holder_before_a_coil_is_used_up_to_its_limit() -> None:
    _, plan = good()
    fused = _horn(E_20=1, holder_e=1)
    assert _told(with_part(fused, "holders", "holder-e", limit=50.0), plan) == []  # as much as the deck's
    assert _told(with_part(fused, "holders", "holder-e", limit=19.0), plan, "cabin/1/S3") != []


@pytest.mark.parametrize(("ohm", "says"), [(14 / 15, True), (0.934, False)])
def test_a_fuse_before_a_coil_carries_it(ohm: float, says: bool) -> None:
    """14 V across 0.933 ohm draw 15.005 A, across 0.934 ohm 14.99 A; of 20 A type E 75 % are 15 A."""
    _, plan = good()
    fused = with_part(_horn(E_20=1, holder_e=1), "relays", "make-micro", coil=round(ohm, 3))
    assert (
        _told(fused, plan, 'cabin/1/S3 (circuit "horn")')
        == ['its coil draws 15.005 A; in-line fuse "E-20" may carry 15 A there'] * says
    )


def test_the_coil_of_a_flasher_hangs_on_the_fuse_of_its_load() -> None:
    """Its timer is supplied by its contact, so that a fuse in a lead of its own protects nothing."""
    _, plan = good()
    fused = _horn(E_20=1, holder_e=1)
    assert _told(with_circuit(fused, "horn", switching="flasher"), plan, "cabin/1/S3") == [
        'cabin/1/S3 (circuit "horn"): has fuse "E-20" before the coil of a flasher, which hangs on its own fuse'
    ]


def test_the_coil_of_a_feed_has_a_fuse_of_its_own_too() -> None:
    """The relay alone of the deck, which has no fuse of its own."""
    sized, plan = good()
    parts = dict(sized.need_by_id["deck"].options[0].parts) | {"E-20": 1, "holder-e": 1}
    assert _told(with_options(sized, "deck", parts=parts), plan) == []
    assert _told(with_options(sized, "deck", parts=parts | {"E-20": 3}), plan) == [
        'aft/1/S1 (feed "deck"): has 3 fuses in 1 holders before its coil; expected one in one, or none'
    ]


def test_what_is_not_there_is_told_by_other_rules() -> None:
    sized, plan = good()
    assert _told(sized, change(plan, "pieces", "cabin/5/stud", feed="shore")) == []
    assert _told(sized, change(plan, "pieces", "cabin/5/stud", at="attic/5/stud", tail_fuse=None)) == []
    assert _told(sized, change(plan, "pieces", "cabin/5/stud", at="cabin/9/stud", tail_fuse=None)) == []
    gone = replace(sized, needs=tuple(need for need in sized.needs if need.id != "horn"))
    assert _told(gone, plan) == []


def test_a_fuse_before_a_coil_is_loaded_up_to_the_factor_of_the_rules() -> None:
    """14 V across 1 ohm draw 14 A, which are just 70 % of 20 A."""
    _, plan = good()
    fused = with_part(_horn(E_20=1, holder_e=1), "relays", "make-micro", coil=1.0)
    where = 'cabin/1/S3 (circuit "horn")'
    assert _told(with_rules(fused, loading_factor=70.0), plan, where) == []
    assert _told(with_rules(fused, loading_factor=69.0), plan, where) == [
        'its coil draws 14 A; in-line fuse "E-20" may carry 13.8 A there'
    ]


def test_a_fuse_before_a_coil_by_the_vehicle_s_own_figures() -> None:
    """Of a type E fuse just half may be used here."""
    _, plan = good()
    own = OwnFigures.model_validate({"fuse_share": {"E": {"40 degC": "50 %", "65 degC": "50 %"}}})
    fused = with_rules(with_part(_horn(E_20=1, holder_e=1), "relays", "make-micro", coil=1.0), figures=own)
    assert _told(fused, plan, 'cabin/1/S3 (circuit "horn")') == [
        'its coil draws 14 A; in-line fuse "E-20" may carry 10 A there'
    ]


def test_a_fuse_before_a_coil_is_as_hot_as_the_hotter_of_its_panel_and_that_of_its_control() -> None:
    """12 V over 1 ohm; at 50 degC, where the switch of the lead is, the vehicle's own curve leaves 10 A of 20 A."""
    _, plan = good()
    own = OwnFigures.model_validate({"fuse_share": {"E": {"40 degC": "75 %", "60 degC": "50 %"}}})
    fused = with_rules(with_part(_horn(E_20=1, holder_e=1), "relays", "make-micro", coil=1.0), figures=own)
    assert _told(fused, plan, 'cabin/1/S3 (circuit "horn")') == []
    assert _told(with_circuit(fused, "horn", control="deck-switch"), plan, 'cabin/1/S3 (circuit "horn")') == [
        'its coil draws 14 A; in-line fuse "E-20" may carry 10 A there'
    ]
