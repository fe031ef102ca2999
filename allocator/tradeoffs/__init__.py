"""Trade-offs: every plan that no other one beats in the goals compared, with the proof that none is missing."""

from allocator.tradeoffs.axes import Axis
from allocator.tradeoffs.exploring import Cell
from allocator.tradeoffs.front import Front, Member, find_tradeoffs

__all__ = ["Axis", "Cell", "Front", "Member", "find_tradeoffs"]
