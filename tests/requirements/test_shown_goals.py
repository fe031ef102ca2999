"""How goals are shown: units against definitions of units, and no table of goals that lacks one."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from importlib import import_module
from inspect import getsource
from typing import Any, get_args

import pytest

from allocator.batch.rows import Row
from allocator.batch.table import table_csv
from allocator.opinion import goals as opinion_goals
from allocator.outputs.goals import count_text, value_text
from allocator.plan import measure
from allocator.requirements.amounts import is_count
from allocator.requirements.scenario import Goal
from allocator.requirements.shown_goals import SHOWN
from allocator.tradeoffs.axes import SWEPT
from allocator.verifying import goal_values
from tests.verifying.hand_built import good

GOALS = get_args(Goal)
A_KILOGRAM_MM3 = Fraction(1_000_000) / Fraction("8.89")
"""Volume of a kilogram of copper of 8.89 g/cm3 (IEC 60028, standard annealed copper at 20 degC)."""


@pytest.mark.parametrize(
    ("goal", "value", "text"),
    [
        ("bays", 3, "3"),
        ("spare-ways", 12, "12"),
        ("peak-utilisation", Fraction(2, 3), "66.7 %"),
        ("price", Fraction(12345, 2), "61.73 EUR"),
        ("footprint", 12_340, "123.4 cm²"),
        ("wire-length", 12_345, "12.35 m"),
        ("copper", A_KILOGRAM_MM3 * Fraction(5, 2), "2.500 kg"),
    ],
)
def test_a_value_as_it_is_shown(goal: Goal, value: Fraction | int, text: str) -> None:
    assert value_text(goal, Fraction(value), "EUR") == text


def test_one_of_a_count_has_no_plural() -> None:
    assert (count_text("strip-pieces", 1), count_text("bays", 1), count_text("panels", 2)) == (
        "1 feed entry",
        "1 bay",
        "2 panels",
    )


def test_steps_are_the_last_decimal_shown() -> None:
    steps = {goal: shown.step for goal, shown in SHOWN.items() if not is_count(goal)}
    assert steps == {
        "peak-utilisation": Fraction(1, 1000),
        "price": 1,
        "footprint": 10,
        "wire-length": 10,
        "copper": A_KILOGRAM_MM3 / 1000,
    }
    assert all(shown.step == 1 and not shown.unit for goal, shown in SHOWN.items() if is_count(goal))


@pytest.mark.parametrize(
    ("module", "table"),
    [
        ("requirements.shown_goals", "SHOWN"),
        ("model.goals", "GOAL_TERMS"),
        ("solving.floors", "FLOORS"),
        ("explaining.accounts.goals", "ACCOUNTS"),
    ],
)
def test_every_table_of_goals_has_all(module: str, table: str) -> None:
    """In the order in which the schema lists them, so that none is looked for in vain."""
    found: Mapping[str, Any] = getattr(import_module(f"allocator.{module}"), table)
    assert tuple(found) == GOALS


def test_plan_and_checker_know_the_value_of_every_goal() -> None:
    sized, plan = good()
    assert {*measure(sized, plan)} == {*goal_values(sized, plan)} == {*GOALS}


def test_every_goal_can_be_compared_and_asked_about() -> None:
    """A trade-off minimises what is no count (and spare ways); the second model knows each by name but the peak."""
    assert {*SWEPT} == {goal for goal in GOALS if not is_count(goal)} | {"spare-ways"}
    assert [goal for goal in GOALS if f'"{goal}"' not in getsource(opinion_goals)] == ["peak-utilisation"]


def test_every_goal_has_a_column_of_the_table_of_many_vehicles() -> None:
    values = {goal: Fraction(1) for goal in GOALS} | {"copper": A_KILOGRAM_MM3, "wire-length": Fraction(4500)}
    heads, cells = table_csv([Row(scenario="van", status="done", values=values)], ()).splitlines()[:2]
    shown = dict(zip(heads.split(","), cells.split(","), strict=True))
    assert (shown["copper_kg"], shown["wire_length_m"], shown["spare_ways"]) == ("1.000", "4.50", "1")
    assert len({column.column for column in SHOWN.values()} & {*shown}) == len(GOALS)
    assert all(shown[column.column] for column in SHOWN.values())
