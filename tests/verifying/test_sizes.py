"""What is said of parts that are not those of the sizing table, word for word."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from allocator.plan.plan import Plan
from tests.verifying.edits import change
from tests.verifying.hand_built import good
from tests.verifying.other_tables import told

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
