"""What there is to decide: for each freedom a small vehicle in which it makes the best plan another one."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import pytest

from allocator.plan.plan import Plan
from allocator.requirements.scenario import Goal
from tests.builders import A, F, M, P, build_sized
from tests.model.checked import checked_plan, plan_of
from tests.model.rule_cases import panel
from tests.sizing import vehicles


def panels_of(plan: Plan) -> Mapping[str, str]:
    """Return the panel of every way, by what it holds."""
    return {way.need: way.at.partition("/")[0] for way in plan.ways}


NEAR_AND_FAR = [vehicles.panel("near", supply_distance="1 m"), vehicles.panel("far", supply_distance="7 m")]


def lamps(near: str, far: str) -> list[dict[str, Any]]:
    return [
        vehicles.circuit(f"lamp-{n}", load="3 A", fuse_format="C", length={"near": near, "far": far}) for n in "abc"
    ]


@pytest.mark.parametrize(
    ("goal", "near", "far", "chosen"),
    [
        ("wire-length", "6 m", "3 m", "far"),  # 1 + 18 m against 7 + 9 m
        ("copper", "6 m", "3 m", "near"),  # the six metres more of cable are the thick ones
        ("copper", "60 m", "3 m", "far"),
        ("wire-length", "5 m", "4 m", "near"),  # 1 + 15 m against 7 + 12 m
    ],
)
def test_runs_and_cables_choose_the_panel(goal: Goal, near: str, far: str, chosen: str) -> None:
    """Short runs or a short cable: by length, or by the metal in them."""
    plan = checked_plan(vehicles.sized(*lamps(near, far), panels=NEAR_AND_FAR, rules={"objective": [goal]}))
    assert set(panels_of(plan).values()) == {chosen}


def test_copper_is_length_times_area_of_every_wire() -> None:
    """One circuit: 2 m of cable and 3 m of run, as the plan's sizing says."""
    sized = vehicles.sized(vehicles.circuit(fuse_format="C"), rules={"objective": ["copper"]})
    plan = checked_plan(sized)
    area = {wire.id: Fraction(str(wire.area)) for wire in sized.requirements.catalogue.wires}
    (lamp,) = plan.ways
    assert plan.goals[0].value == 2000 * area[sized.feeds["battery"].cable_wire] + 3000 * area[str(lamp.wire)]


def test_circuits_go_where_their_feeds_reach() -> None:
    """The lamp at the rear has a short run there, and its feed comes no further than the front."""
    panels = [vehicles.panel("front"), vehicles.panel("rear")]
    lamp = vehicles.circuit(length={"front": "9 m", "rear": "1 m"})
    feeds = [vehicles.feed(), vehicles.feed(panels=["front"])]
    at = [
        set(
            panels_of(
                checked_plan(vehicles.sized(lamp, panels=panels, feeds=[feed], rules={"objective": ["wire-length"]}))
            ).values()
        )
        for feed in feeds
    ]
    assert at == [{"rear"}, {"front"}]


def test_the_run_to_a_panel_chooses_the_wire() -> None:
    """Far away the drop asks for a thicker wire, and the price for the panel nearby, dear as its module is."""
    panels = [vehicles.panel("near", max_bays=4), vehicles.panel("far", max_bays=4)]
    lamp = vehicles.circuit(load="9 A", fuse_format="C", length={"near": "2 m", "far": "16 m"})
    sized = vehicles.sized(lamp, panels=panels, rules={"objective": ["price"]})
    areas = {option.panel: option.wire for option in sized.need_by_id["lamp"].options}
    assert areas["near"] != areas["far"]
    plan = checked_plan(sized)
    assert panels_of(plan) == {"lamp": "near"}
    assert plan.ways[0].wire == areas["near"]


def carriers_of(plan: Plan) -> list[str]:
    return sorted(carrier.carrier for carrier in plan.carriers)


def test_carriers_are_chosen_with_the_modules() -> None:
    """
    Ways for five: two modules of one bay or one of two.

    A frame of one bay holds no double module, so the cheap double one is bought only with the dear frame of two.
    """
    modules = {"single": M(("3F",), price=300), "double": M(("6F",), bays=2, price=400)}
    frames = panel(5, modules=modules, carriers={"one": 1, "two": 2}, goals=("price", "module-types"))
    cheap = plan_of(**frames | {"prices": {"one": 100, "two": 250}})
    assert carriers_of(cheap) == ["two"] and [module.module for module in cheap.modules] == ["double"]
    dear = plan_of(**frames | {"prices": {"one": 100, "two": 450}})
    assert carriers_of(dear) == ["one", "one"] and [module.module for module in dear.modules] == ["single", "single"]


def test_a_double_module_needs_two_bays_of_one_carrier() -> None:
    """Three doubles fill three frames of three bays, whose third bays only singles can use."""
    modules = {"double": M(("4F",), bays=2), "single": M(("1C",))}
    doubles = panel(12, modules=modules, carriers={"three": 3}, goals=("bays", "carriers"))
    assert [result.value for result in plan_of(**doubles).goals] == [9, 3]
    singles = {f"b{n}": A(1, formats=("C",)) for n in range(3)}
    both = plan_of(**doubles | {"circuits": doubles["circuits"] | singles})
    assert [result.value for result in both.goals] == [9, 3]


def test_forbidden_and_limited_modules_change_the_choice() -> None:
    best = panel(8, modules={"large": M(("8F",)), "small": M(("4F",)), "tiny": M(("2F",))}, goals=("bays",))

    def chosen(**arguments: Any) -> list[str]:
        return sorted(module.module for module in plan_of(**best | arguments).modules)

    assert chosen() == ["large"]
    assert chosen(most={"large": 0}) == ["small", "small"]
    assert chosen(most={"large": 0, "small": 1}) == ["small", "tiny", "tiny"]


def test_stock_binds_only_when_it_is_to_be_kept_to() -> None:
    """One large module is on the shelf, and nobody counts the small ones."""
    shelf = panel(12, modules={"large": M(("8F",), stock=1), "small": M(("4F",))}, goals=("bays", "module-types"))
    assert [module.module for module in plan_of(**shelf).modules] == ["large", "large"]
    kept = plan_of(**shelf | {"use_stock": True})
    assert sorted(module.module for module in kept.modules) == ["large", "small"]


def test_spare_ways_of_a_format_and_on_a_feed() -> None:
    """Without spares one row of three does. A spare C way asks for another module, one on the key for a piece of it."""
    base = panel(
        circuits={"c0": A(5, feeds=("battery",)), "c1": A(5, feeds=("battery",))},
        feeds={"battery": F(100), "key": F(100, kind="ignition")},
        modules={"f": M(("3F",)), "c": M(("2C",))},
        goals=("bays", "strip-pieces"),
    )

    def reached(*spares: Mapping[str, Any]) -> list[Fraction]:
        return [result.value for result in plan_of(**base | {"spares": spares}).goals]

    assert reached() == [1, 1]
    assert reached({"fuse_format": "F", "count": 1}) == [1, 1]
    assert reached({"fuse_format": "F", "count": 1, "feed": "key"}) == [1, 2]
    assert reached({"fuse_format": "C", "count": 1}) == [2, 2]
    assert reached({"fuse_format": "F", "count": 1}, {"fuse_format": "C", "count": 1, "feed": "key"}) == [2, 2]


@pytest.mark.parametrize("level", ["feed", "row", "module", "panel"])
@pytest.mark.parametrize("wish", ["apart", "together"])
def test_bonds_hold_in_every_load_case(wish: str, level: str) -> None:
    """Two that never run together are kept apart or together all the same, at every level."""
    by_level = {
        "feed": panel(2, feeds={"f0": F(7), "f1": F(7)}),
        "row": panel(2, ("1F", "2F")),
        "module": panel(2, modules={"block": M(("2F",))}),
        "panel": panel(2, panels={"p0": P(2), "p1": P(2)}),
    }
    circuits = {"c0": A(5, cases=("day",)), "c1": A(5, cases=("night",))}
    arguments = by_level[level] | {"circuits": circuits, "cases": ("day", "night"), "goals": ("strip-pieces", "bays")}
    plan = plan_of(**arguments | {wish: [(("c0", "c1"), level)]})
    first, second = plan.ways
    spots = {
        "feed": (first.feed, second.feed),
        "row": (first.at.rpartition("/")[0], second.at.rpartition("/")[0]),
        "module": ("/".join(first.at.split("/")[:2]), "/".join(second.at.split("/")[:2])),
        "panel": (first.at.split("/")[0], second.at.split("/")[0]),
    }[level]
    assert (spots[0] == spots[1]) == (wish == "together")


def test_limits_are_asked_case_by_case() -> None:
    """Two of 8 A share a piece of 10 A if they never run together; if they may, they need two."""
    arguments = panel(rows=("2F",), strip_limit_a=10, cases=("day", "night"), goals=("strip-pieces",))
    never = {"c0": A(8, cases=("day",)), "c1": A(8, cases=("night",))}
    both = {"c0": A(8, cases=("day",)), "c1": A(8)}
    values = [plan_of(**arguments | {"circuits": circuits}).goals[0].value for circuits in (never, both)]
    assert values == [1, 2]


def test_a_pin_costs_what_it_must() -> None:
    """Pinned to the third bay, the lamp asks for a frame of three."""
    free = panel(1, carriers={"one": 1, "three": 3}, goals=("bays",))
    assert plan_of(**free).goals[0].value == 1
    pinned = plan_of(**free | {"circuits": {"c0": A(5, pin="panel/3")}})
    assert pinned.goals[0].value == 3 and pinned.ways[0].at == "panel/3/A/1"


def test_what_is_alike_is_counted_and_what_is_bound_is_not() -> None:
    """Twelve equal circuits are one class of the model, and the same best plan as twelve different ones."""
    equal = panel(12, ("4F",), goals=("bays", "strip-pieces"))
    unequal = equal | {"circuits": {f"c{n}": A(5 + n / 1000) for n in range(12)}}
    assert [result.value for result in checked_plan(build_sized(**equal)).goals] == [3, 3]
    assert [result.value for result in checked_plan(build_sized(**unequal)).goals] == [3, 3]
