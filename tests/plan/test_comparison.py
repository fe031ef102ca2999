"""Plans side by side: every planted difference is seen, a plan does not differ from itself, and the order mirrors."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from allocator.plan.comparison import FIELDS, NeedRow, feed_rows, need_rows, part_rows, spare_rows
from allocator.plan.index import PlanIndex
from allocator.plan.measures import measure_index
from tests.outputs.conftest import BUNDLED, content_of
from tests.plan.plans import small

SAMPLES = ["small", "large", "many", *BUNDLED]
STANDING = {field: f"some {field}" for field in FIELDS}


@pytest.mark.parametrize("name", SAMPLES)
def test_a_plan_does_not_differ_from_itself(name: str) -> None:
    index = content_of(name).index
    twice = [index, index]
    assert {row.fate(1) for row in need_rows(twice)} == {"same"}
    assert all(row.fields(1) == () for row in need_rows(twice))
    assert all(len(set(row.amounts)) == len(set(row.cents)) == 1 for row in part_rows(twice))
    assert all(len(set(row.counts)) == 1 for row in spare_rows(twice))
    assert all(len(set(row.shares)) == 1 for row in feed_rows(twice))


@pytest.mark.parametrize("field", FIELDS)
def test_every_planted_field_is_seen(field: str) -> None:
    row = NeedRow("horn", "circuit", "Horn", (STANDING, {**STANDING, field: "another"}, STANDING, None))
    assert row.fields(1) == (field,)
    assert row.fate(1) == ("moved" if field in ("panel", "way", "socket") else "changed")
    assert (row.fate(2), row.fields(2)) == ("same", ())
    assert row.fate(3) == "only there"
    assert replace(row, standings=row.standings[::-1]).fate(3) == "only here"


def _edited(**changes: dict[str, str]) -> PlanIndex:
    """Return the small plan with fields of some ways changed, by the need of the way."""
    sized, plan = small()
    ways = tuple(way.model_copy(update=changes.get(way.need, {})) for way in plan.ways)
    return PlanIndex(sized, plan.model_copy(update={"ways": ways}))


def test_planted_moves_in_a_plan() -> None:
    """Two circuits change places, one gets another feed: these three and no other."""
    before = _edited()
    after = _edited(horn={"at": "cabin/1/A/2"}, pump={"at": "cabin/1/A/1"}, fan={"feed": "battery"})
    rows = {row.need: row for row in need_rows([before, after]) if row.fate(1) != "same"}
    assert {need: (row.fate(1), row.fields(1)) for need, row in rows.items()} == {
        "horn": ("moved", ("way",)),
        "pump": ("moved", ("way",)),
        "fan": ("changed", ("feed",)),
    }


@pytest.mark.parametrize("name", BUNDLED)
def test_parts_add_up_to_the_price(name: str) -> None:
    """What the parts cost, row by row, is the goal's value, which the checker recounts on its own."""
    index = content_of(name).index
    assert sum((row.cents[0] for row in part_rows([index, index])), Fraction(0)) == measure_index(index)["price"]


@pytest.mark.parametrize("name", SAMPLES)
def test_used_and_free_are_all_that_there_is(name: str) -> None:
    index = content_of(name).index
    free: Counter[str] = Counter()
    for row in spare_rows([index]):
        free[row.kind] += row.counts[0]
    assert free["way, not fed"] + len(index.way_by_place) == sum(
        row.ways for item in index.modules for row in item.module.rows
    )
    assert free["socket"] + len(index.socket_by_place) == sum(len(item.sockets) for item in index.modules)
    assert free["bay"] == sum(item.carrier.bays for item in index.carriers) - sum(
        item.module.bays for item in index.modules
    )


def test_the_order_of_plans_mirrors() -> None:
    """Of two quite different vehicles: what is only in one is only in the other, and numbers change sides."""
    first, second = content_of("small").index, content_of("creek-workboat").index
    mirror = {
        "only here": "only there",
        "only there": "only here",
        "same": "same",
        "moved": "moved",
        "changed": "changed",
    }
    there = {(row.kind, row.need): (row.fate(1), row.fields(1)) for row in need_rows([first, second])}
    back = {(row.kind, row.need): (row.fate(1), row.fields(1)) for row in need_rows([second, first])}
    assert there == {need: (mirror[fate], fields) for need, (fate, fields) in back.items()}
    assert {row.part: row.amounts for row in part_rows([first, second])} == {
        row.part: row.amounts[::-1] for row in part_rows([second, first])
    }
    assert {(row.kind, row.name): row.counts for row in spare_rows([first, second])} == {
        (row.kind, row.name): row.counts[::-1] for row in spare_rows([second, first])
    }
