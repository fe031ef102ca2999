"""The line of one part: which way of ordering, for a service or for the least cost."""

from __future__ import annotations

from typing import Any

import pytest

from allocator.requirements import load_catalogue
from allocator.requirements.catalogue import Part, parts_by_id
from allocator.requirements.fleet import PartStock, StockTerms
from allocator.stocking.demand import Demand
from allocator.stocking.policy import uniform
from allocator.stocking.shelf import ShelfLine, service_curve, shelf_line

CATALOGUE = load_catalogue()
DEMAND = Demand(0.2, {1: 0.5, 2: 0.5})


def _part(**changes: Any) -> Part:
    return parts_by_id(CATALOGUE)["heavy2"].model_copy(update={"pack": 1, "lead_days": 10, "price": 2000} | changes)


def _line(part: Part, terms: dict[str, Any], own: PartStock | None = None) -> ShelfLine:
    return shelf_line(part, "piece", DEMAND, StockTerms.model_validate(terms), own)


def test_single_pieces_without_a_cost_of_ordering_are_base_stock() -> None:
    line = _line(_part(), {"service": "95 %"})
    assert line.kind == "base stock" and line.quantity == 1
    assert line.judged.service >= 0.95
    assert line.order_up_to == line.reorder + 1


@pytest.mark.parametrize("pack", [4, 25])
def test_packs_are_ordered_whole(pack: int) -> None:
    line = _line(_part(pack=pack), {"service": "90 %", "line_cost": 3})
    assert line.kind == "r, nQ" and line.quantity % pack == 0
    assert line.judged.service >= 0.9


def test_the_cheapest_shelf_costs_no_more_than_its_neighbours() -> None:
    """With a cost of owing: against every r and Q around."""
    terms = {"shortage": 60, "holding": "20 %", "line_cost": 4}
    part = _part(pack=2)
    line = _line(part, terms)

    def cost(reorder: int, quantity: int) -> float:
        positions = uniform(reorder, quantity, DEMAND.step)
        taken = DEMAND.over(10)
        owing = sum(w * taken.short(level) for level, w in positions.items()) * 6000 / (365 / 12)
        holding = sum(w * taken.left(level) for level, w in positions.items()) * 2000 * 0.2 / 365
        return holding + owing + 400 * DEMAND.orders_per_day * sum(0.5 * min(n, quantity) for n in (1, 2)) / quantity

    best = min(cost(r, q) for r in range(-5, 15) for q in range(2, 60, 2))
    assert cost(line.reorder, line.quantity) == pytest.approx(best)


def test_under_review_single_pieces_with_a_cost_of_ordering_are_s_and_s() -> None:
    line = _line(_part(), {"shortage": 60, "line_cost": 4, "review_days": 7})
    assert line.kind == "s, S" and line.order_up_to > line.reorder


def test_what_a_part_says_of_itself_counts() -> None:
    strict = PartStock.model_validate({"part": "heavy2", "service": "99.9 %"})
    assert _line(_part(), {"service": "80 %"}, strict).judged.service >= 0.999
    never = PartStock.model_validate({"part": "heavy2", "keep": False})
    line = _line(_part(), {"service": "80 %"}, never)
    assert line.kind == "not kept"
    assert (line.judged.service, line.judged.on_hand, line.money_cents, line.order_now) == (0, 0, 0, 0)
    cheaper = PartStock.model_validate({"part": "heavy2", "price_breaks": [{"quantity": 60, "price": 5}]})
    assert _line(_part(), {"line_cost": 1}, cheaper).quantity >= 60


@pytest.mark.parametrize(("stock", "order"), [(None, 0), (9, 0), (3, 4), (0, 8), (-0, 8)])
def test_what_to_order_today(stock: int | None, order: int) -> None:
    """Packs of four until the position is above r = 4."""
    line = _line(_part(pack=4, stock=stock), {"service": "95 %"})
    wanted = 0 if stock is None or stock > line.reorder else -(-(line.reorder + 1 - stock) // 4) * 4
    assert line.order_now == wanted
    if line.reorder == 4:
        assert line.order_now == order


def test_more_service_is_never_less_money() -> None:
    curve = service_curve({"heavy2": DEMAND}, CATALOGUE, StockTerms(), (50.0, 80.0, 95.0, 99.0))
    money = [point.money_cents for point in curve]
    assert money == sorted(money) and money[0] < money[-1]
