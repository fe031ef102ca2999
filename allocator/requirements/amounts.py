"""
How much of a goal: a cap such as "600.00" on the price, a tolerance such as 1 on the bays or "5 %" of the best value.

Text or a whole number comes in, an exact amount in the goal's own unit goes out. Of most goals less is better, of some
more: ``sense`` tells, and an amount times its sense is its *cost*, which every search makes as small as it can be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from allocator.figures import PUBLISHED
from allocator.requirements.quantities import price_cents
from allocator.units import BadValue, number_in

MOST_OF_A_COUNT = 1_000_000
_UNITS: Mapping[str, tuple[str, str]] = {
    "peak-utilisation": ("percent", '"80 %"'),
    "footprint": ("mm**2", '"300 cm2"'),
    "wire-length": ("mm", '"40 m"'),
    "copper": ("g", '"2.5 kg"'),
}
"""By goal: the unit that it is read in, and an example; all others but the price are counts."""
MORE_IS_BETTER = ("spare-ways",)
"""Goals that are made as large as they can be."""
MM3_PER_G = 1000 / Fraction(str(PUBLISHED.copper_density.value))
_IN_UNIT: Mapping[str, Fraction] = {"percent": Fraction(1, 100), "g": MM3_PER_G}
"""By unit that is read: what one of it is in the goal's own unit."""


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact amount of a goal; with ``is_share`` it is a share of the goal's best value."""

    value: Fraction
    is_share: bool = False


def is_count(goal: str) -> bool:
    """Return whether a goal counts whole things."""
    return goal != "price" and goal not in _UNITS


def sense(goal: str) -> int:
    """Return 1 where less of a goal is better, -1 where more is: an amount times this is a cost, and the other way."""
    return -1 if goal in MORE_IS_BETTER else 1


def cap_in(goal: str, text: object) -> Fraction:
    """
    Read the cap of a goal, or the least that there must be of one of which more is better.

    Parameters
    ----------
    goal
        Name of the goal.
    text
        What the user wrote: a whole number for a count, a price, or a number with its unit.

    Returns
    -------
    Fraction
        In the goal's unit: a count, cents, mm, mm2, mm3, or a share of the allowed current.

    Raises
    ------
    BadValue
        With what is wrong.
    """
    if goal == "price":
        return Fraction(price_cents(text))
    if is_count(goal):
        return Fraction(_count(text))
    unit, example = _UNITS[goal]
    value = _number(text, unit, example)
    return value * _IN_UNIT.get(unit, 1)


def tolerance_in(goal: str, text: object) -> Amount:
    """Read the tolerance of a goal: an amount as in ``cap_in``, or "5 %" of its best value; else raise BadValue."""
    if isinstance(text, str) and text.rstrip().endswith("%"):
        return Amount(_number(text, "percent", '"5 %"') / 100, is_share=True)
    if goal == "peak-utilisation":
        raise BadValue("bad-tolerance", "is no share of the best value", 'a share of the best value, such as "5 %"')
    return Amount(cap_in(goal, text))


def cap_text(goal: str, value: Fraction) -> str:
    """Return a value as the smallest cap that a user could write for it."""
    if goal == "price":
        return f"{Decimal(ceil(value)) / 100:.2f}"
    if goal == "peak-utilisation":
        return f"{Decimal(ceil(value * 1000)) / 10} %"
    if is_count(goal):
        return str(ceil(value))
    unit = _UNITS[goal][0]
    return f"{ceil(value / _IN_UNIT.get(unit, 1))} {unit.replace('**', '')}"


def finest(goal: str) -> Fraction:
    """Return the finest difference between two caps that can be written, in the goal's own unit."""
    if goal == "peak-utilisation":
        return Fraction(1, 1000)
    return Fraction(_IN_UNIT.get(_UNITS[goal][0], 1)) if goal in _UNITS else Fraction(1)


def _count(text: object) -> int:
    if isinstance(text, bool) or not isinstance(text, int):
        raise BadValue("not-a-whole-number", "is no whole number", "a whole number, such as 3")
    if not 0 <= text <= MOST_OF_A_COUNT:
        raise BadValue("out-of-range", "is out of range", f"a number from 0 to {MOST_OF_A_COUNT}")
    return text


def _number(text: object, unit: str, example: str) -> Fraction:
    if not isinstance(text, str):
        if isinstance(text, int | Decimal) and not isinstance(text, bool):
            raise BadValue("bare-number", "is a bare number; a unit is needed", f"a value such as {example}")
        raise BadValue("not-a-number", "is no number with a unit", f"a value such as {example}")
    try:
        number = number_in(text, unit)
    except BadValue as bad:
        raise BadValue(bad.rule, bad.problem, f"a value such as {example}") from None
    if number < 0:
        raise BadValue("out-of-range", "is out of range", "at least 0")
    return Fraction(number)
