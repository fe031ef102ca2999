"""
What became of one scenario: a row of the table, and what a worker hands back.

Rows hold exact values and no seconds, so that equal input gives equal tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, get_args

from pydantic import Field

from allocator.errors import Fault
from allocator.plan.fields import Exact
from allocator.plan.plan import Plan
from allocator.requirements.catalogue import Strict
from allocator.requirements.scenario import Goal

Status = Literal["done", "bad input", "cannot be met", "no plan in time", "worker died", "failed", "not done"]
STATUSES: tuple[Status, ...] = get_args(Status)
FINAL: frozenset[Status] = frozenset(("done", "bad input", "cannot be met"))
"""What the same input gives again; all else is tried again by the next run."""


class Row(Strict):
    """One scenario in the table."""

    scenario: str
    status: Status
    vehicle: str = ""
    circuits: int = 0
    values: dict[Goal, Exact] = Field(default_factory=dict)
    """Of every goal, as the checker recomputes it: counts, cents, mm2, mm, mm3, and a share."""
    currency: str = ""
    open_goals: tuple[Goal, ...] = ()
    """Goals of which it is not proven that none is better."""
    depends_on_time: bool = False
    message: str = ""
    """Why there is no plan, in one line."""


@dataclass(frozen=True, slots=True)
class Made:
    """What a worker hands back: the row, what was wrong, and the content of every file by its name."""

    row: Row
    faults: tuple[Fault, ...] = ()
    files: Mapping[str, bytes] = field(default_factory=dict)
    seconds: float = 0.0
    """Time of the work itself; for the run record, never part of a result."""


def planned_row(name: str, plan: Plan, values: Mapping[Goal, Fraction]) -> Row:
    """Return the row of a plan that was made and checked."""
    requirements = plan.requirements
    return Row(
        scenario=name,
        status="done",
        vehicle=requirements.scenario.vehicle.name,
        circuits=len(requirements.circuits),
        values=dict(values),
        currency=requirements.catalogue.currency,
        open_goals=tuple(result.goal for result in plan.goals if result.outcome == "best so far"),
        depends_on_time=plan.depends_on_time,
    )


def without_plan(name: str, status: Status, *faults: Fault, files: Mapping[str, bytes] | None = None) -> Made:
    """Return what is said of a scenario that has no plan; ``faults.txt`` holds the whole of it."""
    text = "\n".join(fault.text() for fault in faults) + "\n"
    more = "" if len(faults) < 2 else f" (and {len(faults) - 1} more)"
    row = Row(scenario=name, status=status, message=f"{faults[0].message}{more}")
    return Made(row, faults, {"faults.txt": text.encode("utf-8", "backslashreplace"), **(files or {})})
