"""From a panel as it is built and changed requirements to the plan that changes least."""

from allocator.revising.keeping import Keep, kept_of, names_of
from allocator.revising.revise import Revision, revise

__all__ = ["Keep", "Revision", "kept_of", "names_of", "revise"]
