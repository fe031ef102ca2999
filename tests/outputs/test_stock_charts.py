"""The charts of a shelf: round ticks, what their axes say, and no text over another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest

from allocator.outputs.stock.charts import stock_charts, ticks
from allocator.requirements.fleet_reading import load_fleet
from allocator.stocking.members import members_of
from allocator.stocking.stock import Stock, plan_stock
from tests.outputs.conftest import SCENARIOS, read_back
from tests.outputs.samples import any_script_label, long_label
from tests.outputs.test_lettering_on_sheets import clashes


@pytest.mark.parametrize("most", [0.4, 1, 7, 30, 366, 1158.4, 99_999])
def test_ticks_are_few_and_round(most: float) -> None:
    found = list(ticks(most))
    assert found[0] == 0 and found[-1] <= most < found[-1] + (found[1] - found[0]) * (1 + 1e-9)
    assert 3 <= len(found) <= 9
    step = found[1]
    assert step / 10 ** len(str(int(step))) in (0.1, 0.2, 0.5) or step < 1


def test_nothing_to_show_still_has_a_scale() -> None:
    assert list(ticks(0)) == [0]


@cache
def example() -> Stock:
    """The shelf of the example fleet, worked out once."""
    file = load_fleet(SCENARIOS / "example-fleet")
    return plan_stock(file, members_of(file), time_limit_s=60, plan_limit_s=20)


def _named(stock: Stock, label: Callable[[int, str], str]) -> Stock:
    """Return it with other names for fleet and parts."""
    lines = tuple(
        replace(line, part=line.part.model_copy(update={"label": label(number, line.part.label)}))
        for number, line in enumerate(stock.lines)
    )
    return replace(stock, fleet=stock.fleet.model_copy(update={"name": label(0, stock.fleet.name)}), lines=lines)


def _with_many_types(stock: Stock) -> Stock:
    """Return it with a curve of twelve points of which half are not proven, and long lists of types."""
    last = stock.range.points[-1]
    points = tuple(
        replace(
            last,
            most=number,
            kept=tuple(f"module-type-{name:02d}" for name in range(number)),
            bays=last.bays * 1000 - number,
            least_bays=last.bays * 1000 - number - Fraction(number % 2, 3),
        )
        for number in range(1, 13)
    )
    return replace(stock, range=replace(stock.range, points=points))


def _with_much_money(stock: Stock) -> Stock:
    """Return it with a shelf worth millions."""
    service = tuple(replace(point, money_cents=point.money_cents * 10_000) for point in stock.service)
    return replace(stock, service=service)


@pytest.mark.parametrize(
    "changed",
    [
        pytest.param(lambda stock: stock, id="as it is"),
        pytest.param(lambda stock: _named(stock, long_label), id="long names"),
        pytest.param(lambda stock: _named(stock, any_script_label), id="any script"),
        pytest.param(_with_many_types, id="many types"),
        pytest.param(_with_much_money, id="much money"),
        pytest.param(lambda stock: replace(stock, lines=stock.lines[:1]), id="one part"),
    ],
)
def test_no_text_overlaps_or_is_clipped(changed: Callable[[Stock], Stock]) -> None:
    charts = stock_charts(changed(example()))
    assert set(charts) == {"range", "cover", "service"}
    for name, sheet in charts.items():
        svg = read_back(sheet)
        assert clashes(sheet, svg) == [], name
        assert all(line in svg.bounds_by_id for text in sheet.texts for line in text.ids), name
