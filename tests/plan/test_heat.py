"""Heat of modules, added up by hand: fuses by load squared, coils while they are on."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from allocator.figures import PUBLISHED
from allocator.plan.heat import drop_mv, heat_of_modules
from allocator.plan.index import PlanIndex
from allocator.requirements.catalogue import Fuse
from tests.plan.plans import small


def fuse(**fields: Any) -> Fuse:
    table = {"id": "f", "label": "f", "price": "1.00", "voltage": "32 V", "breaking_capacity": "1000 A"}
    return Fuse.model_validate(table | {"fuse_format": "C", "rating": "10 A"} | fields)


def test_heat_of_a_small_plan() -> None:
    """Coils of 70 ohm at 14 V, each 2.8 W: that of the branch and that of the pump, which are always on."""
    index = PlanIndex(*small())
    fuses = {fuse.id: fuse.rating for fuse in index.sized.requirements.catalogue.fuses}
    assert fuses["fuse-F"] == fuses["fuse-E"] == 42
    per_a2, of_branch = Fraction(96, 42), Fraction(75, 42)
    twin, mixed = heat_of_modules(index)
    by_hand = {
        "twin, day": (4**2 + Fraction(62, 10) ** 2 + 3**2) * per_a2,
        "twin, night": (Fraction(62, 10) ** 2 + 5**2 + 3**2) * per_a2,
        "mixed, day": Fraction(32, 10) ** 2 * of_branch + 2 * 2800,
        "mixed, night": Fraction(82, 10) ** 2 * of_branch + 2 * 2800,
    }
    found = dict(zip(by_hand, (*twin.milliwatts_by_case, *mixed.milliwatts_by_case), strict=True))
    assert all(0 <= found[what] - exact < 1 for what, exact in by_hand.items())


@pytest.mark.parametrize(
    ("fields", "millivolts"),
    [
        ({"rating": "10 A"}, 109),
        ({"rating": "15 A"}, 109),
        ({"rating": "7.5 A"}, 136),
        ({"rating": "0.5 A"}, 176),
        ({"rating": "30 A", "fuse_format": "E"}, 98),  # of type C: type E is published from 40 A on
        ({"rating": "60 A", "fuse_format": "E"}, 75),
        ({"rating": "5 A", "fuse_format": "F"}, 136),
        ({"rating": "10 A", "drop": "0.1 V"}, 100),
    ],
)
def test_drops_at_the_rated_current(fields: dict[str, Any], millivolts: int) -> None:
    """Source of the figures: data sheets of blade fuses, as quoted in ``Figures.fuse_drop``."""
    assert drop_mv(fuse(**fields), PUBLISHED) == millivolts


def test_published_watts_of_fuses_at_their_rated_current() -> None:
    """Data sheets of blade fuses of type C: 1.09 W at 10 A, 1.96 W at 20 A, 3.84 W at 40 A."""
    watts = {rating: drop_mv(fuse(rating=f"{rating} A"), PUBLISHED) * rating / 1000 for rating in (10, 20, 40)}
    assert watts == {10: Fraction("1.09"), 20: Fraction("1.96"), 40: Fraction("3.84")}
