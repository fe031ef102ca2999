"""Decimal figures of the user's files as exact fractions, and exact figures as short text for findings."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

_TOO_LONG = 10**15


@cache
def exact(figure: float) -> Fraction:
    """
    Return the decimal number that a float was read from: 0.1 is 1/10, not its nearest binary fraction.

    One check reads the few figures of a catalogue thousands of times, so each is taken apart once.
    """
    return Fraction(str(figure))


def share(percent: float) -> Fraction:
    """Return a percentage as an exact share."""
    return exact(percent) / 100


def milliamperes(current_a: float) -> Fraction:
    """Return a current, A, in exact milliamperes."""
    return exact(current_a) * 1000


def is_in_whole_mm(stated_mm: int, length_mm: Fraction) -> bool:
    """Say whether a length stated in whole millimetres is a length, rounded."""
    return abs(stated_mm - length_mm) <= Fraction(1, 2)


def number(value: Fraction | int) -> str:
    """Return a number with at most three decimals; of one too long to read (a plan may be edited) only that."""
    value = Fraction(value)
    if abs(value) >= _TOO_LONG:
        return "less than -10^15" if value < 0 else "more than 10^15"
    thousandths = round(value * 1000)
    whole, rest = divmod(abs(thousandths), 1000)
    sign = "-" if thousandths < 0 else ""
    return f"{sign}{whole}.{rest:03d}".rstrip("0").rstrip(".")


def amperes(current_ma: Fraction | int) -> str:
    """Return a current, mA, as text in amperes."""
    return f"{number(Fraction(current_ma) / 1000)} A"
