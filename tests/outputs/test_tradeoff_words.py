"""The words of trade-offs: what the chosen plan is best in, and when there is nothing to trade."""

from __future__ import annotations

from dataclasses import replace

from allocator.outputs.tradeoffs.table import front_text
from allocator.outputs.tradeoffs.words import alone_words, chosen_words
from allocator.plan.plan import ClosedBy
from allocator.tradeoffs import Cell, Front, find_tradeoffs
from tests.builders import build_sized
from tests.solving.test_goals import ROOMY

TRADED = find_tradeoffs(build_sized(**ROOMY), ("bays", "spare-ways"))
ALONE = find_tradeoffs(build_sized(**ROOMY), ("bays",))


def with_a_cell(front: Front, closed_by: ClosedBy) -> Front:
    """Return a front of which one cell was closed, or left, by something else."""
    first, *others = front.cells
    return replace(front, cells=(Cell(first.caps, closed_by), *others))


def test_the_chosen_plan_is_best_in_these_goals_only() -> None:
    """Not in those that were not compared; and of what was found, where cells are open."""
    assert chosen_words(TRADED) == "the chosen plan: best in your order of these goals"
    cut = with_a_cell(TRADED, "cut by time")
    assert chosen_words(cut) == "the chosen plan: best found in your order of these goals"
    assert chosen_words(cut) in front_text(cut)


def test_nothing_to_trade_is_said_only_where_every_cell_is_closed() -> None:
    assert len(TRADED.members) > 1 == len(ALONE.members)
    within = "One plan is best in all of them at once within the range: there is nothing to trade there."
    assert alone_words(ALONE) == within
    assert within in front_text(ALONE)
    everywhere = replace(ALONE, axes=tuple(replace(axis, most=None) for axis in ALONE.axes))
    assert alone_words(everywhere) == "One plan is best in all of them at once: there is nothing to trade."
    cut = with_a_cell(ALONE, "cut by time")
    assert alone_words(cut) == "No other plan was found in the time; what was not closed may hold one."
    assert "nothing to trade" not in front_text(cut)
    left = with_a_cell(ALONE, "not closed")
    assert alone_words(left) == "No other plan was found; what was not closed may hold one."
