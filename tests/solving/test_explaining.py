"""A panel that cannot be built says which single easing would leave a plan, and nothing that is not so."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.errors import CannotBeMet
from allocator.solving import allocate
from tests.builders import A, F, M, P, build_sized

TWO = {"left": A(10), "right": A(10)}
PLAIN: dict[str, Any] = {"circuits": TWO, "modules": {"row-4": M(("4F strip",))}, "feeds": {"main": F(100)}}

CASES: dict[str, tuple[dict[str, Any], str]] = {
    "room": (
        {"modules": {"row-1": M(("1F strip",))}, "panels": {"cab": P(max_bays=1)}},
        "it could be met with more room: 2 bays at panel cab instead of at most 1",
    ),
    "feeds": (
        {"feeds": {"main": F(15)}},
        "it could be met with stronger feeds, or fewer loads at once: "
        "feed main would carry 20.0 A, and is allowed 15.0 A",
    ),
    "limits": (
        {"strip_limit_a": 8},
        "it could be met if strips, rows and modules carried more at their ambient temperature",
    ),
    "bonds": (
        {"apart": [(("left", "right"), "feed")]},
        "it could be met without the wishes that keep circuits apart or together",
    ),
    "pins": (
        {"circuits": {"left": A(10, pin="panel/1/A/1"), "right": A(10, pin="panel/1/A/1")}},
        "it could be met without the pins",
    ),
    "spares": (
        {"panels": {"panel": P(max_bays=1)}, "spares": [{"fuse_format": "F", "count": 3}]},
        "it could be met without the spare ways",
    ),
    "modules": (
        {"modules": {"row-1": M(("1F strip",))}, "most": {"row-1": 1}},
        "it could be met with more modules of some type than the rules or the shelf allow",
    ),
    "hot ways": (
        {"modules": {"row-2": M(("2F strip",))}, "panels": {"panel": P(max_bays=1)}, "hot_share": "1 %"},
        "it could be met if ways that are hot together might lie side by side",
    ),
    "relays": (
        {
            "circuits": {"left": A(10, relays=("micro",))},
            "modules": {"row-1": M(("1F strip",)), "socket": M((), {"micro": 1})},
            "relay_beside_fuse_from": "10 A",
        },
        "it could be met if relays might be in other modules than their fuses",
    ),
    "pieces": (
        {"strip_limit_a": 15, "panels": {"panel": P(max_bays=1)}, "one_piece_per_feed_and_row": True},
        "it could be met if a feed might have several strip pieces in one row",
    ),
}


def reasons_of(changes: dict[str, Any]) -> tuple[str, ...]:
    with pytest.raises(CannotBeMet) as caught:
        allocate(build_sized(**{**PLAIN, **changes}))
    return caught.value.reasons


@pytest.mark.parametrize("name", CASES)
def test_the_easing_is_named(name: str) -> None:
    changes, sentence = CASES[name]
    assert sentence in reasons_of(changes)


def test_the_plain_panel_can_be_built() -> None:
    assert len(allocate(build_sized(**PLAIN)).ways) == 2


def test_only_what_helps_is_named() -> None:
    """Feeds are what binds: neither room nor spares nor limits are mentioned."""
    assert len(reasons_of({"feeds": {"main": F(15)}})) == 2


def test_a_format_that_no_module_has() -> None:
    assert "left needs a way of format E; no module on offer has one" in reasons_of(
        {"circuits": {"left": A(10, formats=("E",))}}
    )
