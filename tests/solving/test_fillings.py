"""Weights of fillings: they bound what modules cost by more than the sum of loads does, and never by too much."""

from __future__ import annotations

import time
from fractions import Fraction
from itertools import combinations_with_replacement

import pytest

from allocator.model.frame import Frame
from allocator.sizing.sized import Sized
from allocator.solving.allocate import allocate
from allocator.solving.engine import Clock, solve
from allocator.solving.fillings import fillings
from allocator.solving.models import Models
from tests.builders import A, F, M, P, build_sized


def of_loads(loads_a: list[int], modules: dict[str, tuple[int, int]], panels: dict[str, P] | None = None) -> Sized:
    """Return a panel of circuits in modules of one long row, each with its limit (A) and price."""
    return build_sized(
        circuits={f"c{number}": A(load_a) for number, load_a in enumerate(loads_a)},
        feeds={"feed": F(400)},
        modules={
            name: M((f"{len(loads_a)}F",), limit_a=limit, price=price) for name, (limit, price) in modules.items()
        },
        panels=panels or {"panel": P(len(loads_a))},
        carriers={"mount": 1},
        goals=("price",),
    )


def cheapest(loads_a: list[int], modules: dict[str, tuple[int, int]]) -> int:
    """Return the least price of modules that hold all loads, by trying every set and every way to fill it."""

    def fits(left: list[int], rooms: tuple[int, ...]) -> bool:
        if not left:
            return True
        return any(
            room >= left[0] and fits(left[1:], (*rooms[:i], room - left[0], *rooms[i + 1 :]))
            for i, room in enumerate(rooms)
        )

    ordered = sorted(loads_a, reverse=True)
    return min(
        sum(price for _, price in some)
        for number in range(1, len(loads_a) + 1)
        for some in combinations_with_replacement(modules.values(), number)
        if fits(ordered, tuple(limit for limit, _ in some))
    )


PANELS = [
    ([6, 6, 6], {"bin": (10, 100)}),
    ([6, 6, 6, 4], {"small": (6, 70), "large": (10, 100)}),
    ([9, 7, 5, 5, 3], {"small": (9, 80), "large": (14, 130)}),
    ([7, 7, 4, 4, 3, 3], {"small": (7, 60), "middle": (10, 90), "large": (12, 100)}),
]


@pytest.mark.parametrize(("loads_a", "modules"), PANELS)
def test_the_bound_is_not_above_what_trying_everything_finds(
    loads_a: list[int], modules: dict[str, tuple[int, int]]
) -> None:
    sized = of_loads(loads_a, modules)
    known = cheapest(loads_a, modules)
    frame = Frame(sized)
    for filling in fillings(frame):
        total = sum(weight * len(frame.classes[index].needs) for index, weight in filling.weight_by_class.items())
        shares = (Fraction(modules[module][1], most) for module, most in filling.most_by_module.items() if most)
        assert total * min(shares) <= known
    assert [goal.value for goal in allocate(sized).goals] == [known]
    assert [goal.outcome for goal in allocate(sized).goals] == ["best possible"]


def test_two_halves_and_more_do_not_share_a_module() -> None:
    """Three loads of 6 A are 18 A, two modules of 10 A by the sum: no filling holds two of them."""
    frame = Frame(of_loads([6, 6, 6], {"bin": (10, 100)}))
    (filling,) = fillings(frame)
    (weight,) = filling.weight_by_class.values()
    assert weight == filling.most_by_module["bin"]


def test_where_ways_run_out_first_there_is_nothing_to_say() -> None:
    sized = build_sized(
        circuits={f"c{number}": A(6) for number in range(4)},
        feeds={"feed": F(100)},
        modules={"bar": M(("1F",), limit_a=100)},
        panels={"panel": P(4)},
        goals=("bays",),
    )
    assert list(fillings(Frame(sized))) == []


def bays_covered(loads_a: list[int], limit: int, panels: dict[str, P] | None) -> int | None:
    """Return the fewest bays that the covering model leaves."""
    sized = of_loads(loads_a, {"bin": (limit, 100)}, panels)
    clock = Clock(time.monotonic() + 60)
    cover = Models(sized, clock, []).cover()
    cover.model.minimize(cover.bays)
    return solve(cover.model, clock, effort=1.0).objective


@pytest.mark.parametrize(
    ("loads_a", "limit", "panels", "bays"),
    [
        ([6, 6, 6], 10, None, 3),  # no module holds two of them
        ([5, 5, 5], 10, None, 2),  # 15 A in modules of 10 A
        ([5, 5, 5], 100, None, 1),
        ([6, 6, 6], 10, {"panel": P(3), "other": P(3)}, 1),  # what may be elsewhere is not held here
    ],
)
def test_the_cover_counts_amperes(loads_a: list[int], limit: int, panels: dict[str, P] | None, bays: int) -> None:
    assert bays_covered(loads_a, limit, panels) == bays
