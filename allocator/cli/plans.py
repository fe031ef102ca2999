"""
``allocator draw``: a plan.json in, a folder with drawings and lists out.

Nothing is ever drawn from a plan that breaks a rule: paper goes to the bench without the warning that came with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from allocator.cli.answers import Answer, whole
from allocator.cli.findings import findings_data, findings_text, times
from allocator.cli.folder import RECORD, out_folder
from allocator.cli.interrupts import current
from allocator.cli.plan_file import read
from allocator.cli.records import Run
from allocator.cli.results import plan_data, written_text
from allocator.cli.statuses import NOT_KEPT
from allocator.errors import Fault
from allocator.notices import CAUTIONS
from allocator.outputs import draw as draw_files
from allocator.outputs.drawing import FILES
from allocator.outputs.why import WHY_FILE
from allocator.plan.cautions import cautions_about
from allocator.plan.plan import Plan
from allocator.requirements.amounts import sense
from allocator.requirements.issuing import with_issue
from allocator.requirements.vehicle_notes import read_notes
from allocator.revising.noting import as_noted
from allocator.rulebook import CLAIMS
from allocator.sizing import Sized, size
from allocator.solving.floors import floor_of
from allocator.solving.levels import stated
from allocator.verifying import Finding, goal_values
from allocator.verifying import verify as find


def noted(plan: Plan, sized: Sized, notes: Path) -> tuple[Plan, Sized]:
    """Lay notes over a plan, its goals stated anew and without proof."""
    plan, sized = as_noted(plan, sized, read_notes(notes))
    return _stated_anew(plan, sized, same_rules=False), sized


def draw(path: Path, out: Path, issue: Mapping[str, str | None], notes: Path | None = None) -> Answer:
    """
    Make every drawing and list again from a plan that keeps its requirements.

    A plan that was edited by hand has other goal values than it states: they are stated anew, without proof.

    Parameters
    ----------
    path
        A plan.json, or the folder that holds it.
    out
        Folder for the results.
    issue
        Revision, date and what is superseded, where the command line says so.
    notes
        File of what was done at the vehicle, which is laid over the plan and said on its paper.
    """
    run = Run("draw", path)
    with run.step("reading and sizing"):
        plan, sized, refused = checked_plan(path, issue, notes)
    if refused is not None:
        return refused
    with out_folder(out, [*FILES, RECORD, *([WHY_FILE] if plan.why else [])]) as folder:
        with run.step("drawing"):
            draw_files(plan, sized, folder.files)
        run.write(folder, plan)
        names = folder.place()
    answer = Answer(written_text(out, names), {"out": str(out), "files": names, **plan_data(plan, sized)})
    return whole(answer, current().stop.is_set())


def checked_plan(
    path: Path, issue: Mapping[str, str | None], notes: Path | None = None
) -> tuple[Plan, Sized, Answer | None]:
    """
    Read a plan that may be edited by hand, its goals stated anew where they have changed; refuse a broken one.

    ``notes`` is a file of what was done at the vehicle, which is laid over it.
    """
    plan = read(path)
    plan = plan.model_copy(update={"requirements": with_issue(plan.requirements, issue)})
    if notes is not None:
        plan, _ = noted(plan, size(plan.requirements), notes)
    plan, sized, findings = settled(plan)
    if findings:
        return plan, sized, _refused(path, findings)
    # Those of the file may have been edited away.
    plan = plan.model_copy(update={"general_cautions": CAUTIONS, "cautions": cautions_about(sized, plan)})
    return plan, sized, None


def settled(plan: Plan) -> tuple[Plan, Sized, tuple[Finding, ...]]:
    """
    Size and check a plan; one that was edited and keeps its rules gets the goal values that it has now.

    Parameters
    ----------
    plan
        As it was read.

    Returns
    -------
    tuple
        The plan, its sizing, and the rules that it breaks.
    """
    sized = size(plan.requirements)
    findings = find(sized, plan)
    if findings and all(finding.rule in CLAIMS for finding in findings):
        # A bound holds for the limits and the order of the goals that it was found with.
        plan = _stated_anew(plan, sized, same_rules=all(finding.rule == "goal-value" for finding in findings))
        findings = find(sized, plan)
    return plan, sized, findings


def _stated_anew(plan: Plan, sized: Sized, *, same_rules: bool) -> Plan:
    """Return an edited plan with the goal values that it has now; of what was claimed before only bounds may hold."""
    values = goal_values(sized, plan)
    bounds = {result.goal: sense(result.goal) * result.bound for result in plan.goals} if same_rules else {}
    goals = []
    for aim in plan.requirements.scenario.rules.aims:
        cost = sense(aim.goal) * values[aim.goal]
        bound = min(cost, bounds.get(aim.goal, floor_of(sized, aim.goal)))
        goals.append(stated(aim, cost, bound, "not closed", proven=False))
    return plan.model_copy(update={"goals": tuple(goals), "why": None})


def _refused(path: Path, findings: tuple[Finding, ...]) -> Answer:
    fault = Fault(
        "plan-breaks-rules",
        f"nothing was drawn: the plan breaks its requirements {times(len(findings))}",
        str(path),
        hint="mend the plan, and see with allocator verify whether it holds",
    )
    data: dict[str, Any] = {"keeps_its_requirements": False, "findings": findings_data(findings)}
    return Answer("", data, findings_text(findings) + fault.text() + "\n", NOT_KEPT)
