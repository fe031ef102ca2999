"""The summary, whole."""

from __future__ import annotations

from fractions import Fraction

from allocator.outputs import CAUTIONS, summary_text
from allocator.plan.measures import measure
from allocator.plan.plan import GoalResult
from tests.outputs.conftest import content_of
from tests.plan.plans import small

WHOLE = """\
test: plan {number}
4 circuits, 2 feeds

Goals, first one first
  bays                    4  best possible
  module types            2  best possible
  feed entries            4  best possible
  peak feed load     50.0 %  best so far; at least 25.0 %
  long jumpers            1  best possible
  price of parts  37.87 EUR  best possible
  Time or an interrupt cut the search short: another run may end elsewhere.

Panels
  cabin: carrier-4
    bay 1  twin   4 of 8 ways
    bay 2  mixed  1 of 2 ways, 2 of 2 sockets

Feeds: largest load over all load cases
  feed     entries     load  allowed   share  in case
  battery        2  14.40 A  48.00 A  30.0 %  night
  key            2   8.00 A  16.00 A  50.0 %  night

Cautions
"""


def test_the_summary_of_a_small_plan() -> None:
    sized, plan = small()
    values = measure(sized, plan)
    goals = []
    for goal in sized.requirements.scenario.rules.objective:
        open_ = goal == "peak-utilisation"
        goals.append(
            GoalResult(
                goal=goal,
                value=values[goal],
                bound=Fraction(1, 4) if open_ else values[goal],
                outcome="best so far" if open_ else "best possible",
                closed_by="not closed" if open_ else "search",
            )
        )
    plan = plan.model_copy(update={"goals": tuple(goals), "depends_on_time": True, "cautions": ("horn: loud",)})
    text = summary_text(plan, sized)
    number = text.splitlines()[0].rsplit(" ", 1)[1]
    assert text.split("Cautions\n")[0] + "Cautions\n" == WHOLE.format(number=number)
    assert "  - horn: loud" in text


def test_every_summary_carries_every_caution(sample_name: str) -> None:
    content = content_of(sample_name)
    text = " ".join(summary_text(content.plan, content.sized).split())
    assert all(caution in text for caution in (*CAUTIONS, *(" ".join(item.split()) for item in content.plan.cautions)))
