"""A second opinion on the goals of a plan: another model in another solver."""

from allocator.opinion.second import Opinion, second_opinion

__all__ = ["Opinion", "second_opinion"]
