"""
``--second-opinion``: a plan in, what another model in another solver says of each goal out, as text and data.

Where there is no plan, what it says of that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from allocator.cli.answers import Answer
from allocator.cli.statuses import NOT_KEPT
from allocator.opinion import Opinion, Verdict, opinion_of_refusal, second_opinion
from allocator.outputs.goals import goal_name
from allocator.plan.plan import Plan
from allocator.sizing import Sized
from allocator.solving.watch import watched

_OF_REFUSAL: Mapping[Verdict, str] = {
    "agrees": "it finds no plan either",
    "disagrees": "a plan seems to exist: report this as a fault of the program",
    "cannot say": "one that keeps all that this model knows exists; it leaves something out",
    "time was up": "it neither found a plan nor ruled one out in the time",
}


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


def with_opinion_of_refusal(answer: Answer, sized: Sized, is_stopped: Callable[[], bool]) -> Answer:
    """Add to an answer that there is no plan what the second model says of that; nothing if the user stopped it."""
    found: list[Verdict] = []
    if is_stopped() or not watched(lambda: found.append(opinion_of_refusal(sized)), is_stopped, grace_s=0):
        return answer
    notes = (
        f"{answer.notes}Second opinion (HiGHS; it counts in floating point)\n  {found[0]}: {_OF_REFUSAL[found[0]]}\n"
    )
    return replace(answer, notes=notes, data={**answer.data, "second_opinion": found[0]})


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
