"""What can be built from the shelf: the best set of orders against enumeration, with strips that counts misjudge."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

import pytest

from allocator.requirements import load_catalogue
from allocator.requirements.catalogue import Catalogue, parts_by_id
from allocator.requirements.fleet import FleetOrder
from allocator.solving.picking import pick
from allocator.stocking.building import Shelf
from allocator.stocking.takes import Takes


@dataclass(frozen=True)
class Taken:
    """What a vehicle takes, without a plan behind it."""

    number_by_part: Mapping[str, int]
    strip_pieces: Mapping[str, Sequence[int]]


def _catalogue(stock: Mapping[str, int | None], offcuts: Sequence[int] = ()) -> Catalogue:
    """Return the catalogue that ships with a stock of its own; what is not named is not counted."""
    catalogue = load_catalogue()
    strips = tuple(
        strip.model_copy(
            update={"stock": stock.get(strip.id), "offcuts": tuple(offcuts) if strip.id == "strip-c" else ()}
        )
        for strip in catalogue.strips
    )
    others = {
        table: tuple(part.model_copy(update={"stock": stock.get(part.id)}) for part in getattr(catalogue, table))
        for table in ("carriers", "modules", "fuses", "relays", "terminals", "wires", "studs", "holders",
                      "main_holders", "accessories")
    }  # fmt: skip
    return catalogue.model_copy(update={"strips": strips, **others})


def _takes(**taken: tuple[Mapping[str, int], Sequence[int]]) -> dict[str, Takes]:
    return {
        name: cast("Takes", Taken({**parts, **({"strip-c": 1} if pieces else {})}, {"strip-c": pieces}))
        for name, (parts, pieces) in taken.items()
    }


@pytest.mark.parametrize("seed", range(8))
def test_the_best_set_of_orders_against_enumeration(seed: int) -> None:
    draw = random.Random(seed)
    parts = ("twin-c7", "heavy2", "frame-3")
    stock = {part: draw.randint(0, 9) for part in parts}
    length = next(strip.ways for strip in load_catalogue().strips if strip.id == "strip-c")
    lengths = draw.randint(1, 3)
    takes = _takes(
        one=({part: draw.randint(0, 2) for part in parts}, [length // 2 + 1]),
        two=({part: draw.randint(0, 3) for part in parts}, [length // 3, length // 4]),
    )
    orders = [
        FleetOrder.model_validate(
            {"vehicle": draw.choice(("one", "two")), "day": f"2026-0{draw.randint(1, 9)}-01", "open": True,
             "vehicles": draw.randint(1, 2), **({"worth": draw.randint(1, 9)} if seed % 2 else {})}
        )
        for _ in range(5)
    ]  # fmt: skip
    shelf = Shelf(_catalogue({**stock, "strip-c": lengths}))
    book = shelf.order_book(orders, takes)
    days = sorted({order.day for order in book.orders}, reverse=True)

    def worth(chosen: Sequence[FleetOrder]) -> tuple[int, int, int]:
        vehicles = sum(order.vehicles for order in chosen)
        value = sum(order.worth or 0 for order in chosen) if seed % 2 else vehicles
        return value, vehicles, sum(1 + days.index(order.day) for order in chosen)

    every = [
        worth(chosen)
        for size in range(len(orders) + 1)
        for chosen in itertools.combinations(book.orders, size)
        if not shelf.lacking([(takes[order.vehicle], order.vehicles) for order in chosen])
    ]
    assert book.picked.is_best
    assert worth(book.built) == max(every)
    assert not shelf.lacking([(takes[order.vehicle], order.vehicles) for order in book.built])


def test_strips_decide_where_counts_of_ways_would_do() -> None:
    """Two pieces of just over half a length need two lengths, though their ways would fit into one and a bit."""
    takes = _takes(van=({}, [13]))
    orders = [FleetOrder(vehicle="van", day=f"2026-01-0{n}", open=True) for n in (1, 2, 3)]
    book = Shelf(_catalogue({"strip-c": 2})).order_book(orders, takes)
    assert [order.day for order in book.built] == ["2026-01-01", "2026-01-02"]
    assert book.lacking == {"strip-c": 1}
    with_offcut = Shelf(_catalogue({"strip-c": 2}, offcuts=[14])).order_book(orders, takes)
    assert len(with_offcut.built) == 3


def test_how_many_can_be_built_and_what_lacks_for_the_next() -> None:
    takes = _takes(van=({"twin-c7": 2, "heavy2": 1, "frame-3": 1}, []))["van"]
    found = Shelf(_catalogue({"twin-c7": 7, "heavy2": 9, "frame-3": None})).buildable("van", takes)
    assert (found.number, found.lacking) == (3, {"twin-c7": 1})


def test_what_is_not_counted_never_lacks() -> None:
    catalogue = _catalogue({})
    assert Shelf(catalogue).stock == {}
    assert len(parts_by_id(catalogue)) > 100
    takes = _takes(van=({"twin-c7": 2}, [9]))
    assert Shelf(catalogue).lacking([(takes["van"], 5)]) == {}


def test_nothing_to_pick() -> None:
    assert pick([], {}, ()).orders == ()
