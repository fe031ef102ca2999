"""From a sizing table to a proven plan."""

from allocator.solving.allocate import Outcome, allocate, search_plan

__all__ = ["Outcome", "allocate", "search_plan"]
