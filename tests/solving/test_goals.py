"""Goals in the user's order: what comes first is bought with what comes later, and every value is exact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from allocator.requirements import load_scenario
from allocator.requirements.catalogue import Catalogue
from allocator.requirements.scenario import Goal
from allocator.sizing import size
from allocator.sizing.sized import Sized
from allocator.solving import allocate
from tests.benchmarks.vehicles import vehicle
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import checked_plan, plan_of
from tests.model.rule_cases import alike, panel
from tests.scenario_files import write_scenario

# One dear module, or two cheap ones of two types; the cheap ones need one bay and one piece more.
DEAR_OR_CHEAP = panel(
    circuits=alike(3) | {"blade": A(5, formats=("C",))},
    modules={
        "dear": M(("3F", "1C"), price=1000),
        "cheap": M(("3F",), price=300),
        "blades": M(("1C",), price=200),
    },
)


def values(goals: Sequence[Goal], **arguments: Any) -> list[Fraction]:
    """Return the proven values of the goals, in the order asked for."""
    plan = plan_of(**arguments | {"goals": tuple(goals)})
    assert [result.goal for result in plan.goals] == list(goals)
    return [result.value for result in plan.goals]


def test_price_first_buys_bays() -> None:
    assert values(("bays", "price"), **DEAR_OR_CHEAP) == [1, 1000]
    assert values(("price", "bays"), **DEAR_OR_CHEAP) == [500, 2]


def test_module_types_first_buys_price() -> None:
    assert values(("module-types", "price", "bays"), **DEAR_OR_CHEAP) == [1, 1000, 1]


@pytest.mark.parametrize("goals", list(permutations(("bays", "price", "strip-pieces"))), ids=" ".join)
def test_each_order_is_lexicographic(goals: tuple[Goal, ...]) -> None:
    """Of the two plans there are, the first in the order of the goals."""
    plans: list[Mapping[Goal, int]] = [
        {"bays": 1, "price": 1000, "strip-pieces": 2},
        {"bays": 2, "price": 500, "strip-pieces": 2},
    ]
    assert values(goals, **DEAR_OR_CHEAP) == min([plan[goal] for goal in goals] for plan in plans)


CARRIERS = {"single": 1, "triple": 3}


def test_fewest_carriers_or_smallest_footprint() -> None:
    """Two modules: one frame of three bays, or two of one; three bays are 130 x 100 mm, one bay 50 x 100 mm."""
    frames = panel(5, carriers=CARRIERS)
    assert values(("bays", "carriers", "footprint"), **frames) == [2, 2, 10_000]
    assert values(("carriers", "footprint", "bays"), **frames) == [1, 13_000, 3]
    assert values(("footprint", "carriers"), **frames) == [10_000, 2]


# Two circuits; every bay brings four ways or, of a dear module, six.
ROOMY = panel(2, modules={"four": M(("4F",), price=100), "six": M(("2F", "4C"), price=700)}, panels={"panel": P(3)})


def test_most_spare_ways_within_the_fewest_bays() -> None:
    """The module with more ways is taken, dear as it is, although nobody wants its blade fuses."""
    assert values(("bays", "spare-ways", "price"), **ROOMY) == [1, 4, 700]
    assert values(("bays", "price", "spare-ways"), **ROOMY) == [1, 100, 2]


def test_spare_ways_before_bays_fill_every_bay() -> None:
    """Nothing but the panel's bays ends that order: said so in the definitions."""
    assert values(("spare-ways",), **ROOMY) == [16]
    assert values(("spare-ways", "bays", "module-types"), **ROOMY) == [16, 3, 1]


def test_a_module_limit_and_the_shelf_bound_spare_ways() -> None:
    limited = ROOMY | {"most": {"six": 1}}
    assert values(("spare-ways", "bays"), **limited) == [12, 3]


def test_ways_asked_for_are_spare_ways_too() -> None:
    """They count the same wherever they are, so that asking for them takes none away."""
    assert values(("bays", "spare-ways"), **ROOMY | {"spares": [{"fuse_format": "C", "count": 2}]}) == [1, 4]


def test_fewest_panels_or_shortest_wire() -> None:
    """Both circuits fit the front, but the one that accepts the rear alone makes a second panel."""
    ends = panel(2, ("2F",), panels={"front": P(1), "rear": P(1)})
    assert values(("panels", "bays"), **ends) == [1, 1]
    both = ends | {"circuits": {"c0": A(5), "c1": A(5, panels=("rear",))}}
    assert values(("panels", "strip-pieces"), **both) == [1, 1]


def test_shortest_wire_keeps_a_relay_beside_its_fuse() -> None:
    """1 m of cable, jumper and coil lead of 0.1 m in one module or 0.5 m between two; ``both`` costs more."""
    modules = {
        "both": M(("2F",), {"micro": 1}, price=900),
        "ways": M(("2F",), price=100),
        "sockets": M((), {"micro": 1}, price=100),
    }
    relayed = panel(circuits=alike(1, relays=("micro",)), modules=modules)
    assert values(("wire-length", "price"), **relayed) == [1200, 900]
    assert values(("price", "wire-length", "long-jumpers"), **relayed) == [200, 2000, 1]


def test_a_distribution_stud_costs_its_parts_and_tails() -> None:
    """
    Three pieces of one feed: a cable of 1 m, three tails of 0.4 m and one stud, which takes four rings.

    Five pieces: two studs, joined by a link of 0.1 m.
    """
    lone = panel(modules={"block": M(("1F",) * 3)}, circuits=alike(3), prices={"stud": 400, "ring": 10, "wire": 100})
    # cable ring at the source, one at the stud, three at the tails; 2.2 m of wire
    assert values(("price", "wire-length"), **lone) == [400 + 5 * 10 + 220, 2200]
    five = lone | {"modules": {"block": M(("1F",) * 5)}, "circuits": alike(5)}
    # two rings more for two more tails, and two at the ends of the link; 1 + 2 + 0.1 m of wire
    assert values(("price", "wire-length"), **five) == [2 * 400 + 9 * 10 + 310, 3100]


def test_price_counts_fractions_of_a_cent() -> None:
    """Three of twenty ways of a strip of 1.01, and 1 m of wire of 0.33."""
    cut = panel(3, prices={"strip": 101, "wire": 33})
    assert values(("price",), **cut) == [Fraction(3 * 101, 20) + 33]


def test_accessories_are_counted_by_their_rules() -> None:
    """One module of four ways in a frame of three bays: each accessory for what it goes with."""
    parts = {"carrier": 1, "bay": 10, "empty-bay": 100, "module": 1000, "row": 10_000, "unused-cavity": 100_000}
    kit = [{"id": f"per-{per}", "per": per} for per in parts]
    prices = {f"per-{per}": cents for per, cents in parts.items()}
    boxed = panel(3, carriers={"triple": 3}, accessories=kit, prices=prices)
    # cavities: four ways with both sides, less three ways in use
    assert values(("price",), **boxed) == [1 + 3 * 10 + 2 * 100 + 1000 + 10_000 + 2 * 100_000]


def test_peaks_are_exact_fractions() -> None:
    """Two loads on feeds of 7 and 13 A at 90 %: the larger one goes to the larger feed."""
    loads = panel(circuits={"c0": A(5), "c1": A(6.5)}, feeds={"small": F(7), "large": F(13)}, feed_loading=90)
    assert values(("peak-utilisation",), **loads) == [Fraction(5000, 6300)]


def test_a_peak_is_exact_where_ratings_have_no_small_measure() -> None:
    """Eleven feeds of prime ratings: their common measure is beyond what the solver counts in."""
    primes = (101, 103, 107, 109, 113, 127, 131, 137, 139, 149, 151)
    feeds = {f"feed-{rating}": F(rating) for rating in primes}
    crowd = panel(circuits=alike(11, 50), modules={"block": M(("6F", "6F"))}, feeds=feeds)
    assert values(("peak-utilisation",), **crowd) == [Fraction(50, 101)]


def with_carriers_of(sized: Sized, sizes: Mapping[str, tuple[str, str]]) -> Sized:
    """Return the panel with other widths and heights of its carriers."""
    table = sized.requirements.catalogue.model_dump(mode="json")
    for carrier in table["carriers"]:
        carrier["width"], carrier["height"] = sizes[carrier["id"]]
    catalogue = Catalogue.model_validate(table)
    return replace(sized, requirements=sized.requirements.model_copy(update={"catalogue": catalogue}))


def test_footprints_differ_by_less_than_a_square_millimetre() -> None:
    """The smaller frame is dearer and is taken all the same: 49.99 x 10.03 mm against 50 x 10.03 mm."""
    frames = panel(1, carriers={"plain": 1, "neat": 1}, prices={"plain": 100, "neat": 200}, panels={"panel": P(1)})
    sized = with_carriers_of(
        build_sized(**frames | {"goals": ("footprint", "price")}),
        {"plain": ("50 mm", "10.03 mm"), "neat": ("49.99 mm", "10.03 mm")},
    )
    plan = checked_plan(sized)
    assert [result.value for result in plan.goals] == [Fraction(4999 * 1003, 10_000), 200]


@pytest.mark.parametrize("jumper", ["4.05 in", "0.1023 m"])
def test_cut_lengths_of_any_unit_are_billed_as_they_are_listed(jumper: str) -> None:
    """To whole millimetres: the cable of 1 m, and of 102.87 or 102.3 mm both a jumper and the lead of the coil."""
    sized = build_sized(
        **panel(
            circuits=alike(1, relays=("micro",)),
            modules={"block": M(("1F",), {"micro": 1})},
            goals=("wire-length",),
        )
    )
    table = sized.requirements.catalogue.model_dump(mode="json") | {"short_jumper": jumper}
    changed = sized.requirements.model_copy(update={"catalogue": Catalogue.model_validate(table)})
    short_mm = {"4.05 in": 103, "0.1023 m": 102}[jumper]
    (need,) = sized.needs
    (option,) = need.options
    lead = replace(option.wires[0], length_mm=short_mm)
    needs = (replace(need, options=(replace(option, wires=(lead,)),)),)
    plan = checked_plan(replace(sized, requirements=changed, needs=needs))
    assert plan.goals[0].value == 1000 + 2 * short_mm


@pytest.mark.long
def test_long_jumpers_that_counts_leave_open_are_proven(tmp_path: Path) -> None:
    """Counts alone end at 8 of 10; with the relays placed, and no time cut off, none fewer than 10 is proven."""
    write_scenario(tmp_path / "vehicle", vehicle(40, 35).requirements, "vehicle")
    plan = allocate(size(load_scenario(tmp_path / "vehicle")))
    assert [goal.outcome for goal in plan.goals] == ["best possible"] * len(plan.goals)
    assert {goal.goal: goal.value for goal in plan.goals}["long-jumpers"] == 10
