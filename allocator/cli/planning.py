"""
``allocator plan``: a scenario folder in, a folder with plan, drawings and lists out.

Whatever stops it, the output folder holds a whole result or is as it was.
"""

from __future__ import annotations

import shlex
import threading
import time
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from allocator.cli.answers import Answer, faulty, refusal, whole
from allocator.cli.folder import RECORD, OutFolder, out_folder
from allocator.cli.interrupts import current
from allocator.cli.opinions import opinions_data, opinions_on, with_opinion_of_refusal, with_opinions
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.cli.results import plan_data, written_text
from allocator.cli.statuses import INTERRUPTED
from allocator.errors import CannotBeMet
from allocator.explaining.clash import Clash
from allocator.explaining.clashes import DEFAULT_TIME_S, explain
from allocator.explaining.told import clash_data, clash_fault
from allocator.opinion import Opinion
from allocator.outputs import draw, summary_text
from allocator.outputs.content import Content
from allocator.outputs.drawing import FILES
from allocator.plan.files import plan_text
from allocator.plan.plan import Plan
from allocator.requirements import load_scenario
from allocator.requirements.issuing import with_issue
from allocator.requirements.kept_places import with_kept_places
from allocator.sizing import Sized, size
from allocator.solving import search_plan
from allocator.solving.allocate import GRACE_S, Outcome
from allocator.solving.engine import Clock
from allocator.solving.watch import watched


def plan(
    scenario: Path,
    variant: Path | None,
    out: Path,
    time_limit_s: float,
    issue: Mapping[str, str | None],
    *,
    keep: Path | None = None,
    second: bool = False,
) -> Answer:
    """
    Make the best plan for a scenario, and write it with its drawings and lists.

    Parameters
    ----------
    scenario
        Folder with ``scenario.toml``.
    variant
        File of that folder that says what is other.
    out
        Folder for the results.
    time_limit_s
        Wall time of the search.
    issue
        Revision, date and what is superseded, where the command line says so.
    keep
        File with places that a person has decided; the rest is planned around them.
    second
        Whether another model is asked whether any goal could be better.

    Returns
    -------
    Answer
        Status 130 if the user stopped it; drawings and lists are then left out, unless they were made already.
    """
    run = Run("plan", scenario)
    interrupts = current()
    with out_folder(out, [*FILES, RECORD]) as folder:
        with run.step("reading and sizing"):
            requirements = load_scenario(scenario, variant)
            if keep is not None:
                requirements = with_kept_places(requirements, keep)
            sized = size(with_issue(requirements, issue))
        try:
            with run.step("search"):
                outcome = search_plan(sized, time_limit_s=time_limit_s, progress=progress(), stop=interrupts.note())
        except CannotBeMet as verdict:
            refused = _explained(verdict, sized, time_limit_s, interrupts.stop)
            return with_opinion_of_refusal(refused, sized, interrupts.stop.is_set) if second else refused
        opinions: tuple[Opinion, ...] = ()
        if second:
            with run.step("second opinion"):
                opinions = opinions_on(sized, outcome.plan, interrupts.stop.is_set)
        with run.step("drawing"):
            is_whole = _drawn(outcome.plan, sized, folder, interrupts.stop)
        interrupts.hold()
        if not is_whole:
            _write_short(outcome.plan, sized, folder)
        record = _search_record(outcome, variant, time_limit_s, interrupts.stop.is_set())
        record |= {} if keep is None else {"keep": str(keep)}
        run.write(folder, outcome.plan, record | ({"second_opinion": opinions_data(opinions)} if second else {}))
        names = folder.place()
    answer = _answer(outcome, sized, out, names, is_whole, interrupts.stop.is_set())
    return with_opinions(answer, opinions) if second else answer


def _explained(verdict: CannotBeMet, sized: Sized, time_limit_s: float, stop: threading.Event) -> Answer:
    """Say which requirements clash, and what would leave a plan."""
    clock = Clock(time.monotonic() + min(time_limit_s, DEFAULT_TIME_S), stop=stop)
    found: list[Clash] = []

    def work() -> None:
        clash = explain(sized.requirements, clock=clock)
        found.extend([clash] if clash is not None else [])

    watched(work, stop.is_set, grace_s=GRACE_S)
    answer = refusal(verdict)
    if stop.is_set():
        return replace(answer, status=INTERRUPTED)
    if not found:
        return answer
    told = faulty([clash_fault(found[0], sized)], answer.status)
    return replace(told, data={**answer.data, **told.data, "clash": clash_data(found[0])})


def _drawn(plan: Plan, sized: Sized, folder: OutFolder, stop: threading.Event) -> bool:
    """Make every file; say no if the user stopped it, now or before."""
    drawn = folder.waiting / "drawn"
    if not watched(lambda: draw(plan, sized, drawn), stop.is_set, grace_s=0):
        return False
    drawn.rename(folder.files)
    return True


def _write_short(plan: Plan, sized: Sized, folder: OutFolder) -> None:
    """Write what takes no time, so that a stopped run loses nothing that was found."""
    folder.files.mkdir(exist_ok=True)
    for name, text in (("plan.json", plan_text(plan)), ("summary.txt", summary_text(Content(sized, plan)))):
        (folder.files / name).write_text(text, encoding="utf-8", newline="\n")


def _search_record(
    outcome: Outcome, variant: Path | None, time_limit_s: float, was_interrupted: bool
) -> dict[str, Any]:
    return {
        "variant": None if variant is None else str(variant),
        "time_limit_s": time_limit_s,
        "interrupted": was_interrupted,
        "proof": _proof(outcome),
    }


def _proof(outcome: Outcome) -> list[dict[str, Any]]:
    """Return value, bound, what closed it and seconds of every goal; the seconds are what keeps it out of the plan."""
    return [
        result.model_dump(mode="json") | {"seconds": round(outcome.seconds_by_goal.get(result.goal, 0.0), 3)}
        for result in outcome.plan.goals
    ]


def _answer(
    outcome: Outcome, sized: Sized, out: Path, names: list[str], is_whole: bool, was_interrupted: bool
) -> Answer:
    plan = outcome.plan
    summary = summary_text(Content(sized, plan), brief=True, seconds_by_goal=outcome.seconds_by_goal)
    text = f"{summary}\n{written_text(out, names)}"
    seconds = {goal: round(spent, 3) for goal, spent in outcome.seconds_by_goal.items()}
    data = {"interrupted": was_interrupted, "out": str(out), "files": names, "seconds_by_goal": seconds}
    data |= plan_data(plan, sized)
    if is_whole or not was_interrupted:
        return whole(Answer(text, data), was_interrupted)
    again = shlex.join(["allocator", "draw", str(out), "--out", str(out)])
    notes = f"interrupted: the best plan so far is written; for drawings and lists: {again}\n"
    return Answer(text, data, notes, INTERRUPTED)
