"""Which of two refusals is told: one that a wish brings about, then one late in the sums, whichever was tried first."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest

from allocator.errors import SizingError
from allocator.requirements.scenario import Circuit
from allocator.sizing.nearest import Refusal, nearest_refusal
from tests.sizing.vehicles import circuit, requirements

READ = requirements(circuit(wire="1 mm2", fuse_rating="5 A", drop="3 %"))
(WISHING,) = READ.circuits


def told(refusals: Sequence[Refusal]) -> str:
    """Return the rule that is told, in whichever order they were tried."""
    (rule,) = {nearest_refusal(READ, WISHING, tried).rule for tried in (refusals, refusals[::-1])}
    return rule


def refusal(rule: str, without: dict[str, float | None] | None = None) -> Refusal:
    """A place that would serve the circuit without these wishes, and only so; or never."""

    def serves(asked: Circuit) -> bool:
        return without is not None and asked == WISHING.model_copy(update=without)

    return Refusal("somewhere", SizingError("is refused", rule=rule), serves)


@pytest.mark.parametrize(
    ("rule", "without"),
    [
        ("no-wire-for-drop", {"drop": 100.0}),
        ("wanted-fuse-not-offered", {"fuse_rating": None}),
        ("wanted-fuse-too-small", {"fuse_rating": None}),
        ("wanted-wire-drops", {"wire": None}),
        ("wanted-wire-melts", {"wire": None}),
        ("wanted-wire-not-offered", {"wire": None}),
        ("wanted-wire-too-thin", {"wire": None}),
    ],
)
def test_a_wish_is_told_first_where_all_else_would_do(rule: str, without: dict[str, float | None]) -> None:
    last = refusal("no-terminal")
    assert told([last, refusal(rule, without)]) == rule
    assert told([last, refusal(rule)]) == "no-terminal"


def test_what_no_wish_brings_about_is_not_asked_about() -> None:
    assert told([refusal("no-terminal"), refusal("no-wire-for-fuse", {})]) == "no-terminal"


FIRST = ["no-wire-for-jumper", "no-rating-large-enough"]
LAST = ["no-terminal", "no-jumper", "coil-unprotected"]


@pytest.mark.parametrize(
    "rules",
    [
        [*LAST, "no-wire-for-fault", "no-wire-for-drop", "no-wire-for-fuse", *FIRST],
        [*LAST, "wanted-wire-melts", "wanted-wire-drops", "wanted-wire-too-thin", "no-rating-large-enough"],
        ["wanted-wire-drops", "no-wire-for-jumper", "wanted-wire-too-thin"],
    ],
    ids=["any wire", "a wanted wire", "a wanted wire behind a relay"],
)
def test_otherwise_the_one_that_is_later_in_the_sums_is_told(rules: list[str]) -> None:
    for late, early in pairwise(rules):
        assert told([refusal(late), refusal(early)]) == late
