"""
What is known of the sets of demands of one vehicle: which of them clash, and which leave a plan.

An inquiry comes in; ``clashes.py``, ``ways_out.py`` and ``smallest.py`` ask here, and add what they find.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from allocator.explaining.asking import Refuter
from allocator.explaining.inquiry import Inquiry, Names
from allocator.explaining.reducing import REFUTER_BY_TEST, Reducer

MANY = 24
"""Members of a clash above which it is large: one way out comes first then, and not every question can be settled."""


@dataclass
class Known:
    """What was found so far."""

    inquiry: Inquiry
    by_search: bool = False
    """Whether relaxations are not enough to tell what clashes."""
    sets: list[Names] = field(default_factory=list)
    """Sets that clash; the first is told of, unless another turns out to be smaller."""
    coarse: list[Names] = field(default_factory=list)
    """Further sets that clash, in which much is without need: ways out must ease one of each."""
    refuted_by: dict[Names, Refuter] = field(default_factory=dict)
    """What sets were shrunk with; a question about one may say it better, if there is time for it."""
    gaps: list[Names] = field(default_factory=list)
    """What was left out of sets for which a plan was found: every clash takes one from each."""

    def __post_init__(self) -> None:
        self.everything = self.inquiry.holding(self.inquiry.everything)
        self.by_search = self.inquiry.first_refuter(self.everything) is None

    @property
    def in_time(self) -> bool:
        """Whether there is time left."""
        return self.inquiry.clock.left_s > 0

    @property
    def is_large(self) -> bool:
        """Whether the clash that was found first has many members."""
        return len(self.sets[0]) > MANY

    def clashes(self, names: Names) -> bool:
        """Say whether a set of demands is proven to clash."""
        if not self.in_time:
            return False
        return self.inquiry.first_refuter(names) is not None or (self.by_search and self.inquiry.answer(names).is_no)

    def asks_for_nothing(self, names: Names) -> bool:
        """Say whether even a vehicle without a plan keeps a set of demands."""
        case = self.inquiry.case(names)
        return case is not None and not case.asks_for_something

    def reducer(self, names: Names) -> Reducer | None:
        """Return what shrinks a set; None if it is not proven to clash."""
        test = self.inquiry.first_refuter(names)
        return None if test is None and not self.by_search else Reducer(self.inquiry, test)

    def keep(self, names: Names, reducer: Reducer) -> None:
        """Note a set that clashes, and what it was shrunk with."""
        self.sets.append(names)
        self.refuted_by[names] = REFUTER_BY_TEST[reducer.test]

    def finds_clash_in(self, names: Names) -> bool:
        """Shrink a set to a further clash, and note that; say no if it is not proven to clash."""
        reducer = self.reducer(names)
        found = None if reducer is None else reducer.fine(reducer.coarse(names))
        if found is None or reducer is None:
            return False
        self.keep(found, reducer)
        return True
