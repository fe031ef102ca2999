"""
An account of one goal: shares that add up to its amount, each with what causes it, and why it is not less.

Shared words of the other files of this folder; plain data. What is added up here is added up apart from the measures
of the search and from those of the checker: all three must agree.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from allocator.requirements.scenario import Goal
from allocator.sizing.sized import Need


@dataclass(frozen=True, slots=True)
class Share:
    """
    One part of a goal's amount.

    ``what`` stands for it (a place, a part, a circuit), ``why`` says what it is there for, and ``needs`` names the
    circuits, branches and spare ways that cause it. The amount is in the goal's unit: a count, cents, mm2, mm, mm3,
    or a share of the allowed current.
    """

    amount: Fraction
    what: str
    why: str
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Account:
    """One goal of one plan; ``arguments`` say why it is not less, as far as sums alone can tell."""

    goal: Goal
    shares: tuple[Share, ...]
    arguments: tuple[str, ...] = ()

    @property
    def value(self) -> Fraction:
        """The amount: the sum of the shares."""
        return sum((share.amount for share in self.shares), Fraction(0))


def name_of(need: Need) -> str:
    """Return what a need is called: the circuit, the feed that it supplies, or the spare way."""
    return f"feed {need.supplies}" if need.supplies else need.id


def names_of(needs: Iterable[Need]) -> tuple[str, ...]:
    """Return what needs are called, in their order."""
    return tuple(name_of(need) for need in needs)


def counted(number: int, what: str) -> str:
    """Return a number of things, such as ``1 way`` or ``3 ways``."""
    plural = what if number == 1 else f"{what[:-1]}ies" if what.endswith("ry") else f"{what}s"
    return f"{number} {plural}"


def listed(words: Iterable[str]) -> str:
    """Return words with commas and an ``and``."""
    *first, last = [*words] or ["none"]
    return f"{', '.join(first)} and {last}" if first else last
