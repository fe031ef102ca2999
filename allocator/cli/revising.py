"""
``allocator revise``: a built plan and a changed scenario in; the new plan with its paper and a change sheet out.

Whatever stops it, the output folder holds a whole result or is as it was.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from allocator.cli.answers import Answer, whole
from allocator.cli.findings import findings_data, findings_text
from allocator.cli.folder import RECORD, out_folder
from allocator.cli.interrupts import current
from allocator.cli.plan_file import read
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.cli.results import plan_data, written_text
from allocator.cli.statuses import NOT_KEPT
from allocator.errors import Fault, InputError
from allocator.outputs import draw
from allocator.outputs.changes import CHANGE_FILES, ChangeSheet, changes_text, draw_changes, needs_data
from allocator.outputs.content import Content
from allocator.outputs.drawing import FILES
from allocator.plan.change_list import change_list
from allocator.plan.index import PlanIndex
from allocator.requirements import load_scenario
from allocator.requirements.issuing import with_issue
from allocator.requirements.places import shown
from allocator.revising import Keep, Revision, names_of
from allocator.revising import revise as search
from allocator.rulebook import CLAIMS
from allocator.sizing import size
from allocator.verifying import verify


@dataclass(frozen=True, slots=True)
class Wishes:
    """How to revise: what stays, what was renamed, how long to search, and whether to plan afresh beside it."""

    keep: Keep
    renamed: tuple[str, ...]
    time_limit_s: float
    with_fresh: bool


def revise(path: Path, scenario: Path, out: Path, wishes: Wishes, issue: Mapping[str, str | None]) -> Answer:
    """
    Make the plan that changes a built panel least, and write it with its paper and a change sheet.

    Parameters
    ----------
    path
        The plan.json that the panel was built from, or the folder that holds it.
    scenario
        Folder with what is wanted now.
    out
        Folder for the results.
    wishes
        What stays, and how to search.
    issue
        Revision, date and what is superseded, where the command line says so.

    Returns
    -------
    Answer
        Status 3 if the plan as built breaks its own requirements: what is not right is not built on.
    """
    run = Run("revise", path)
    stop = current().note()
    with out_folder(out, [*FILES, *CHANGE_FILES, RECORD]) as folder:
        with run.step("reading and sizing"):
            built = read(path)
            built_sized = size(built.requirements)
            findings = [finding for finding in verify(built_sized, built) if finding.rule not in CLAIMS]
            sized = size(with_issue(load_scenario(scenario), issue))
        if findings:
            fault = Fault("plan-breaks-rules", "the plan as built breaks its own requirements", str(path))
            data = {"keeps_its_requirements": False, "findings": findings_data(findings)}
            return Answer("", data, findings_text(findings) + fault.text() + "\n", NOT_KEPT)
        with run.step("search"):
            revision = search(
                built,
                built_sized,
                sized,
                keep=wishes.keep,
                renamed=wishes.renamed,
                time_limit_s=wishes.time_limit_s,
                progress=progress(),
                stop=stop,
                with_fresh=wishes.with_fresh,
            )
        old, new = PlanIndex(built_sized, built), PlanIndex(sized, revision.plan)
        names = names_of(wishes.renamed, built_sized, sized)
        changes = change_list(revision.built, old, new, names)
        sheet = ChangeSheet(Content(sized, revision.plan), changes, revision.fresh)
        with run.step("drawing"):
            draw(revision.plan, sized, folder.files)
            draw_changes(sheet, folder.files)
        run.write(folder, revision.plan, _record(revision, wishes))
        placed = folder.place()
    then = f"work from {out / 'changes.pdf'}: what to buy, cut, crimp, label and test, then step by step"
    text = f"{changes_text(sheet, brief=True)}\n{written_text(out, placed, then=then)}"
    data = {"out": str(out), "files": placed, **_changes_data(sheet, revision), **plan_data(revision.plan, sized)}
    return whole(Answer(text, data), stop.is_set())


def _record(revision: Revision, wishes: Wishes) -> dict[str, Any]:
    return {
        "time_limit_s": wishes.time_limit_s,
        "interrupted": revision.interrupted,
        "keep": asdict(wishes.keep),
        "seconds_by_level": {name: round(seconds, 3) for name, seconds in revision.seconds_by_level.items()},
    }


def _changes_data(sheet: ChangeSheet, revision: Revision) -> dict[str, Any]:
    fresh = None if revision.fresh is None else [goal.model_dump(mode="json") for goal in revision.fresh.goals]
    return {
        "interrupted": revision.interrupted,
        "changes": [item.model_dump(mode="json") for item in revision.plan.changes],
        "counts": [
            {"do": doing, "what": kind, "number": number} for (doing, kind), number in sheet.changes.counts.items()
        ],
        "takes": needs_data(sheet),
        "steps": [asdict(step) for step in sheet.changes.steps],
        "fresh": fresh,
        "fresh_text": sheet.fresh_text(),
    }


def parts_of(words: Sequence[str] | None) -> tuple[str, ...]:
    """
    Return what a repeated option names, also where one names several with commas.

    Raises
    ------
    InputError
        If one names nothing: what was meant to stay would not.
    """
    empty = next((word for word in words or () if not word.replace(",", " ").strip()), None)
    if empty is not None:
        known = "expected names, with commas between them"
        raise InputError([Fault("usage", "an option names nothing", shown(empty), known)])
    return tuple(dict.fromkeys(part.strip() for word in words or () for part in word.split(",") if part.strip()))
