"""Sized + Plan -> Findings: the independent checker, which knows neither model nor solver."""

from allocator.verifying.findings import Finding
from allocator.verifying.goals import goal_values
from allocator.verifying.registry import verify

__all__ = ["Finding", "goal_values", "verify"]
