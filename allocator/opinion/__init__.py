"""A second opinion on the goals of a plan: another model in another solver."""

from allocator.opinion.second import Opinion, Verdict, opinion_of_refusal, second_opinion

__all__ = ["Opinion", "Verdict", "opinion_of_refusal", "second_opinion"]
