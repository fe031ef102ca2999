"""``--second-opinion``: a plan in, what another model in another solver says of each goal out, as text and data."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from allocator.cli.answers import Answer
from allocator.cli.statuses import NOT_KEPT
from allocator.opinion import Opinion, second_opinion
from allocator.outputs.goals import goal_name
from allocator.plan.plan import Plan
from allocator.sizing import Sized
from allocator.solving.watch import watched


def opinions_on(sized: Sized, plan: Plan, is_stopped: Callable[[], bool]) -> tuple[Opinion, ...]:
    """Ask for the opinions; none if the user stopped it first."""
    found: list[Opinion] = []
    return tuple(found) if watched(lambda: found.extend(second_opinion(sized, plan)), is_stopped, grace_s=0) else ()


def with_opinions(answer: Answer, opinions: Sequence[Opinion]) -> Answer:
    """Add opinions to an answer; one that disagrees makes the exit status that of a plan that is not kept to."""
    lines = [f"  {goal_name(opinion.goal)}: {opinion.text}\n" for opinion in opinions]
    text = (
        answer.text + "Second opinion (HiGHS; it counts in floating point)\n" + "".join(lines) if lines else answer.text
    )
    wrong = any(opinion.verdict == "disagrees" for opinion in opinions)
    data = {**answer.data, "second_opinion": opinions_data(opinions)}
    return replace(answer, text=text, data=data, status=NOT_KEPT if wrong else answer.status)


def opinions_data(opinions: Sequence[Opinion]) -> list[dict[str, Any]]:
    """Return opinions as plain data."""
    return [
        {
            "goal": opinion.goal,
            "value": str(opinion.value),
            "verdict": opinion.verdict,
            "left_out": opinion.left_out,
            "seconds": round(opinion.seconds, 3),
        }
        for opinion in opinions
    ]
