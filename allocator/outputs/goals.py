"""
Goals in words: name, value with its unit, and how the value is known.

Comes in as goal results of a plan; goes out as short texts for drawings and summary.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from allocator.plan.plan import Change, ChangeResult, GoalResult, Plan
from allocator.requirements.amounts import MORE_IS_BETTER
from allocator.requirements.scenario import Goal
from allocator.requirements.shown_goals import SHOWN

FIRST, AFTER_CHANGES = "Goals, first one first", "Goals, after the fewest changes"
CHANGE_NAMES: Mapping[Change, str] = {
    "moved-wires": "wires to pull",
    "new-parts": "new parts",
    "recut-strips": "strip pieces cut anew",
}


def goals_heading(plan: Plan) -> str:
    """Return what stands above the goals: those of a revision come after its changes."""
    return AFTER_CHANGES if plan.changes else FIRST


def change_proof_text(result: ChangeResult) -> str:
    """Say how it is known that no plan changes less."""
    if result.outcome == "best possible":
        return f"fewest possible ({result.closed_by})"
    return f"fewest so far; at least {result.bound} ({result.closed_by})"


def goal_name(goal: Goal) -> str:
    """Return what a goal is called on paper."""
    return SHOWN[goal].name


def count_text(goal: Goal, number: int) -> str:
    """Return so many of what a goal counts, such as ``1 bay``."""
    name = goal_name(goal)
    return f"{number} {name if number != 1 else 'feed entry' if goal == 'strip-pieces' else name.removesuffix('s')}"


def value_text(goal: Goal, value: Fraction, currency: str) -> str:
    """Return a value as a person reads it; exact values stay in plan.json."""
    shown = SHOWN[goal]
    unit = currency if goal == "price" else shown.unit
    return f"{float(value * shown.factor):.{shown.decimals}f} {unit}" if unit else str(value)


def bound_text(result: GoalResult, currency: str) -> str:
    """Say whether a value is the best possible, between which values the best lies, and what tolerance and cap say."""
    return "; ".join([_proof(result, currency), *_limits(result, currency)])


def proof_text(result: GoalResult, currency: str) -> str:
    """Say the same with what proved the value, or what left a gap."""
    return "; ".join([f"{_proof(result, currency)} ({result.closed_by})", *_limits(result, currency)])


def _proof(result: GoalResult, currency: str) -> str:
    if result.outcome == "best possible":
        return "best possible"
    if result.outcome == "within tolerance" and result.best is not None:
        return f"best possible is {_bare(result, result.best, currency)}"
    most = "at most" if result.goal in MORE_IS_BETTER else "at least"
    return f"best so far; {most} {_bare(result, result.bound, currency)}"


def _limits(result: GoalResult, currency: str) -> Iterator[str]:
    to, limit = ("down to", "at least") if result.goal in MORE_IS_BETTER else ("up to", "cap")
    if result.allowed is not None:
        yield f"{to} {_bare(result, result.allowed, currency)} allowed"
    if result.cap is not None:
        yield f"{limit} {_bare(result, result.cap, currency)}"


def _bare(result: GoalResult, value: Fraction, currency: str) -> str:
    return value_text(result.goal, value, currency).removesuffix(" " + currency)
