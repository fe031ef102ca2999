"""Cutting: fewest lengths, then least scrap, then fewest leftovers, against published optima and by hand."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from allocator.solving.cutting import Cutting, cut
from allocator.solving.packing import fewest_holders

DATA = Path(__file__).parents[1] / "benchmarks" / "data" / "cutting_stock.csv"
QUICK = ("small", "type13", "type14_test2", "type15", "textbook", "cs_m8_v2", "cs_m12_v2", "cs_m20_v2")
INSTANCES = [
    row for row in csv.DictReader(DATA.read_text(encoding="utf-8").splitlines()) if row["id"].startswith(QUICK)
]


def pieces_of(instance: dict[str, str]) -> list[int]:
    pairs = zip(instance["lengths"].split(), instance["demands"].split(), strict=True)
    return [int(length) for length, demand in pairs for _ in range(int(demand))]


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: instance["id"])
def test_known_optimum(instance: dict[str, str]) -> None:
    """Sources: tests/benchmarks/data/README.md."""
    pieces, stock = pieces_of(instance), int(instance["stock_length"])
    cutting = cut(pieces, stock)
    assert (cutting.num_stock, cutting.fewest) == (int(instance["optimum"]), int(instance["optimum"]))
    assert fewest_holders(pieces, stock) <= int(instance["optimum"])
    check(cutting, pieces, stock, ())


def check(cutting: Cutting, pieces: list[int], stock: int, offcuts: tuple[int, ...]) -> None:
    """Every piece is cut once, from a length that holds it, and no offcut is used that is not there."""
    assert sorted(piece for length in cutting.lengths for piece in length.pieces) == sorted(pieces)
    assert all(length.leftover >= 0 and length.pieces for length in cutting.lengths)
    assert all(length.of == stock for length in cutting.lengths if not length.is_offcut)
    used = [length.of for length in cutting.lengths if length.is_offcut]
    assert all(used.count(of) <= offcuts.count(of) for of in used)


def partitions(pieces: tuple[int, ...], bins: tuple[tuple[int, int], ...], stock: int) -> Iterator[tuple[int, ...]]:
    """Yield what is left of every length, stock lengths and offcuts, by every way to cut."""
    if not pieces:
        yield tuple(of - used for of, used in bins if used) + tuple(1000 + of for of, used in bins if of == stock)
        return
    first, *rest = pieces
    for number, (of, used) in enumerate(bins):
        if used + first <= of and (of, used) not in bins[:number]:
            yield from partitions(tuple(rest), (*bins[:number], (of, used + first), *bins[number + 1 :]), stock)
    yield from partitions(tuple(rest), (*bins, (stock, first)), stock)


def best_by_hand(pieces: list[int], stock: int, offcuts: tuple[int, ...], usable: int) -> tuple[int, int, int]:
    values = []
    for found in partitions(tuple(sorted(pieces, reverse=True)), tuple((of, 0) for of in offcuts), stock):
        left = [amount for amount in found if amount < 1000]
        scrap = sum(amount for amount in left if amount < usable)
        values.append((sum(amount >= 1000 for amount in found), scrap, sum(amount > 0 for amount in left)))
    return min(values)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(1, 9), min_size=1, max_size=6),
    st.integers(9, 14),
    st.lists(st.integers(1, 8), max_size=2),
    st.integers(1, 5),
)
def test_against_every_cutting(pieces: list[int], stock: int, offcuts: list[int], usable: int) -> None:
    cutting = cut(pieces, stock, offcuts=offcuts, usable=usable)
    check(cutting, pieces, stock, tuple(offcuts))
    left = [length.leftover for length in cutting.lengths if length.leftover]
    reached = cutting.num_stock, sum(amount for amount in left if amount < usable), len(left)
    assert reached == best_by_hand(pieces, stock, tuple(offcuts), usable)
    assert cutting.is_fewest and cutting.leftovers_proven


def test_longest_first_is_not_the_fewest() -> None:
    """4 + 4 + 2 and 3 + 3 + 2 + 2 fill two lengths of 10; longest first takes three."""
    cutting = cut([4, 4, 3, 3, 2, 2, 2], 10)
    assert [length.pieces for length in cutting.lengths] == [(4, 4, 2), (3, 3, 2, 2)]


def test_one_long_leftover_rather_than_two_that_nobody_needs() -> None:
    """6 + 4 + 4 from lengths of 12: 6 + 4 leaves 2, which is scrap below 4, so both 4 go together."""
    cutting = cut([6, 4, 4], 12, usable=4)
    assert sorted(length.leftover for length in cutting.lengths) == [4, 6]


def test_an_offcut_saves_a_length() -> None:
    cutting = cut([7, 7, 7], 14, offcuts=[8])
    assert [(length.of, length.is_offcut, length.pieces) for length in cutting.lengths] == [
        (8, True, (7,)), (14, False, (7, 7)),
    ]  # fmt: skip
    assert (cutting.num_stock, cutting.fewest) == (1, 1)


def test_effort_that_does_not_do_is_said() -> None:
    """Without any effort the greedy cutting stands, between its own number and the bound."""
    instance = next(item for item in INSTANCES if item["id"] == "cs_m12_v20_80_d6_v")
    cutting = cut(pieces_of(instance), int(instance["stock_length"]), effort=0.0)
    assert cutting.fewest <= int(instance["optimum"]) <= cutting.num_stock
    assert not cutting.leftovers_proven


def test_nothing_to_cut() -> None:
    assert cut([], 24) == Cutting((), 0, True)


def test_the_same_pieces_in_any_order_give_the_same_cutting() -> None:
    pieces = [9, 8, 7, 5, 4, 4, 3, 2, 1]
    assert cut(pieces, 14, offcuts=[5, 6], usable=3) == cut(pieces[::-1], 14, offcuts=[6, 5], usable=3)
