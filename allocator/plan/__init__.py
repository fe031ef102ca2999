"""The plan as plain data, what it is built from, what it is worth, and its file."""

from allocator.plan.files import plan_schema, read_plan, write_plan
from allocator.plan.index import PlanIndex
from allocator.plan.measures import FeedLoad, feed_loads, measure
from allocator.plan.parts import Bill, bill_of
from allocator.plan.plan import Plan

__all__ = [
    "Bill",
    "FeedLoad",
    "Plan",
    "PlanIndex",
    "bill_of",
    "feed_loads",
    "measure",
    "plan_schema",
    "read_plan",
    "write_plan",
]
