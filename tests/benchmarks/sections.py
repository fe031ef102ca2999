"""The sections of docs/benchmarks.md in their order, and what stands before them."""

from __future__ import annotations

from collections.abc import Sequence

from tests.benchmarks import growth, on_batches, on_known, on_open_data, on_tradeoffs, on_vehicles, side_by_side
from tests.benchmarks.section import Section

FOREWORD = """
What was measured, with what, and where the search falls short. Some things to know when reading it:

- The generator of the random vehicles was written while the search was first being tuned on such vehicles, not before.
  Its seeds are fixed, and no vehicle was left out. It was later extended to 400 circuits without a change to smaller
  vehicles. Because of that, other seeds were chosen after the tuning and measured once ("seeds held out"). The panels
  built backwards, those beyond counting and the open data came after the search.
- Two threads everywhere, the search and its rivals alike. A time-out counts as at least its limit.
- Machines of one name differ, and one machine from day to day: when the search was measured beside its rivals, the
  vehicles of 40 circuits took 2.4 times as long as in the table below, with the search of before and of now alike.
- "Proven" means that value and bound meet, and that the independent checker has passed the plan.
"""

SECTIONS: Sequence[Section] = (
    on_vehicles.SECTION,
    on_vehicles.HELD_OUT_SECTION,
    on_known.BACKWARDS,
    on_known.BEYOND,
    on_open_data.SECTION,
    side_by_side.SECTION,
    growth.SECTION,
    on_batches.SECTION,
    on_tradeoffs.SECTION,
)
