"""What is raised of a plan of our own making that the checker refuses: findings in, ``BrokenPlan`` out, or nothing."""

from __future__ import annotations

from collections.abc import Iterable

from allocator.errors import BrokenPlan
from allocator.verifying import Finding


def refuse_broken(findings: Iterable[Finding], others: Iterable[str] = ()) -> None:
    """
    Raise BrokenPlan with all findings; ``others`` are lines on what is wrong beside them.

    A plan that a search made and the checker refuses is a bug, never an answer.
    """
    lines = [*(finding.text() for finding in findings), *others]
    if lines:
        raise BrokenPlan("\n".join(lines))
