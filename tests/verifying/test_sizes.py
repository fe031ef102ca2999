"""What is said of parts that are not those of the sizing table, word for word."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from allocator.plan.plan import Plan
from allocator.sizing.sized import InlineFuse
from tests.verifying.edits import change
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told, with_options

CASES: list[tuple[Callable[[Plan], Plan], str]] = [
    (
        lambda p: change(p, "pieces", "aft/3/B/1-2", tail_fuse=None),
        'aft/3/B/1-2 (feed "deck"): has tail fuse "none"; the sizing table says "E-50"',
    ),
    (
        lambda p: change(p, "pieces", "aft/3/B/1-2", tail_fuse="E-40"),
        'aft/3/B/1-2 (feed "deck"): has tail fuse "E-40"; the sizing table says "E-50"',
    ),
    (
        lambda p: change(p, "pieces", "cabin/3/B/1-1", tail_fuse="E-40"),
        'cabin/3/B/1-1 (feed "lights"): has tail fuse "E-40"; the sizing table says "none"',
    ),
    (
        lambda p: change(p, "ways", "heater", fuse=None),
        'circuit "heater": has fuse "none"; the sizing table says "E-30"',
    ),
    (
        lambda p: change(p, "ways", "winch", wire=None),
        'circuit "winch": has wire "none"; the sizing table says "w6"',
    ),
    (
        lambda p: change(p, "ways", "spare-1-1", wire="w1"),
        'spare "spare-1-1": has wire "w1"; the sizing table says "none"',
    ),
    (
        lambda p: change(p, "sockets", "deck", relay="make-micro"),
        'feed "deck": has relay "make-micro"; the sizing table says "make-heavy"',
    ),
    (
        lambda p: change(p, "sockets", "deck", at="aft/1"),
        'feed "deck": the sizing table has no row for this panel, fuse format and relay class',
    ),
]


@pytest.mark.parametrize(("edit", "said"), CASES)
def test_what_is_said(edit: Callable[[Plan], Plan], said: str) -> None:
    sized, plan = good()
    assert told(sized, edit(plan), "as-sized") == [f"{said}  [as-sized]"]


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ({"C-15": 0}, ['the sizing table states 1 of "C-15" and orders 0']),
        ({"make-micro": 2}, ['the sizing table states 1 of "make-micro" and orders 2']),
        (
            {"E-20": 1, "holder-e": 1},
            [f'the sizing table states 0 of "{part}" and orders 1' for part in ("E-20", "holder-e")],
        ),
    ],
)
def test_what_is_ordered_is_what_is_stated(parts: dict[str, int], says: list[str]) -> None:
    """An in-line fuse that only the parts know of would be bought, and fitted nowhere."""
    sized, plan = good()
    listed = {part: n for part, n in (dict(sized.need_by_id["horn"].options[0].parts) | parts).items() if n}
    found = told(with_options(sized, "horn", parts=listed), plan, "as-sized")
    assert found == [f'circuit "horn": {text}  [as-sized]' for text in says]


def test_an_in_line_fuse_that_is_stated_is_ordered_with_its_holder() -> None:
    sized, plan = good()
    stated = with_options(sized, "horn", coil_fuse=InlineFuse("E-20", "holder-e"))
    says = [f'the sizing table states 1 of "{part}" and orders 0' for part in ("E-20", "holder-e")]
    assert told(stated, plan, "as-sized") == [f'circuit "horn": {text}  [as-sized]' for text in says]
    parts = dict(sized.need_by_id["horn"].options[0].parts) | {"E-20": 1, "holder-e": 1}
    assert told(with_options(stated, "horn", parts=parts), plan, "as-sized") == []


def test_a_rating_is_that_of_its_fuse() -> None:
    sized, plan = good()
    assert told(with_options(sized, "horn", fuse_rating_a=10.0), plan, "as-sized") == [
        'circuit "horn": fuse "C-15" is of 15 A; the sizing table says 10 A  [as-sized]'
    ]
