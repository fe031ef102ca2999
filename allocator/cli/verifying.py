"""
``allocator verify``: a plan.json in, what the checker finds out.

Whoever doubts the solver has none in the program that judges: what is imported here knows of none, and notes of the
vehicle and second opinions, which need more, bring it only where they are asked for.
"""

from __future__ import annotations

from pathlib import Path

from allocator.cli.answers import Answer
from allocator.cli.findings import findings_data, findings_text, times
from allocator.cli.plan_file import read
from allocator.cli.statuses import DONE, NOT_KEPT
from allocator.outputs.goals import goal_name, value_text
from allocator.plan.cautions import cautions_about
from allocator.plan.plan import Plan
from allocator.requirements import load_scenario
from allocator.rulebook import RULES
from allocator.sizing import Sized, size
from allocator.verifying import Finding, goal_values
from allocator.verifying import verify as find


def verify(
    path: Path, scenario: Path | None, variant: Path | None = None, *, notes: Path | None = None, second: bool = False
) -> Answer:
    """
    Check a plan, edited by hand or not, without the solver.

    Parameters
    ----------
    path
        A plan.json, or the folder that holds it.
    scenario
        Folder whose requirements count; none: those written in the plan.
    variant
        File of that folder that says what is other.
    notes
        File of what was done at the vehicle, which is laid over the plan before it is checked.
    second
        Whether another model is asked about the goals of a plan that keeps its requirements.
    """
    plan = read(path)
    if scenario is not None:
        plan = plan.model_copy(update={"requirements": load_scenario(scenario, variant)})
    sized = size(plan.requirements)
    cautions = set(cautions_about(sized, plan)) if notes is not None else set()
    if notes is not None:
        from allocator.cli.plans import noted

        plan, sized = noted(plan, sized, notes)
    findings = find(sized, plan)
    data = {"plan": str(path), "keeps_its_requirements": not findings, "findings": findings_data(findings)}
    text = _broken_text(findings) if findings else _kept_text(plan, sized)
    if not findings:
        data |= {"goals": {goal: str(value) for goal, value in goal_values(sized, plan).items()}}
    if notes is not None and not findings:
        more = [caution for caution in cautions_about(sized, plan) if caution not in cautions]
        text += "".join(f"  caution, new with the notes: {caution}\n" for caution in more)
        data |= {"notes": [note.model_dump(mode="json") for note in plan.notes], "new_cautions": more}
    answer = Answer(text, data, status=NOT_KEPT if findings else DONE)
    if not second or findings:
        return answer
    from allocator.cli.opinions import with_opinions
    from allocator.opinion import second_opinion

    return with_opinions(answer, second_opinion(sized, plan))


def _broken_text(findings: tuple[Finding, ...]) -> str:
    return f"{findings_text(findings)}\nThe plan breaks its requirements {times(len(findings))}.\n"


def _kept_text(plan: Plan, sized: Sized) -> str:
    currency = plan.requirements.catalogue.currency
    values = goal_values(sized, plan)
    lines = [f"The plan keeps its requirements: nothing was found against any of {len(RULES)} rules."]
    goals = plan.requirements.scenario.rules.goals
    lines += [f"  {goal_name(goal):<15} {value_text(goal, values[goal], currency)}" for goal in goals]
    return "\n".join(lines) + "\n"
