"""
``allocator why``: a plan in, what binds it out: a folder as ``draw`` makes it, with why.csv and the eased plans.

The time limit ends the asking; what was not settled is said to be open. Ctrl-C leaves everything as it was.
"""

from __future__ import annotations

import time
from pathlib import Path

from allocator.cli.answers import Answer, whole
from allocator.cli.folder import RECORD, out_folder
from allocator.cli.interrupts import current
from allocator.cli.plan_file import PLAN_FILE
from allocator.cli.plans import checked_plan
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.cli.results import written_text
from allocator.errors import Fault, InputError
from allocator.explaining.why import what_binds
from allocator.outputs import draw as draw_files
from allocator.outputs.drawing import FILES
from allocator.outputs.why import WHY_FILE, why_lines
from allocator.plan.files import plan_text
from allocator.plan.plan import Plan
from allocator.requirements.quantities import Load
from allocator.requirements.reading import requirements_from_json, requirements_to_json
from allocator.solving.engine import Clock
from allocator.units import BadValue


def why(path: Path, out: Path, time_limit_s: float, load: str) -> Answer:
    """
    Say what binds a plan, and write it with the plan's drawings and lists.

    Parameters
    ----------
    path
        A plan.json, or the folder that holds it.
    out
        Folder for the results.
    time_limit_s
        Wall time of the asking.
    load
        Load of each further circuit by which head-room is counted.
    """
    _check_load(load)
    run = Run("why", path)
    with run.step("reading and sizing"):
        plan, sized, refused = checked_plan(path, {})
    if refused is not None:
        return refused
    with out_folder(out, [*FILES, RECORD, WHY_FILE]) as folder:
        clock = Clock(time.monotonic() + time_limit_s, progress=progress())
        with run.step("asking"):
            found = what_binds(_as_written(plan), load=load, clock=clock)
        asked = plan.model_copy(update={"why": found.why})
        with run.step("drawing"):
            draw_files(asked, sized, folder.files)
        for name, eased in found.plan_by_file.items():
            (folder.files / name).write_text(plan_text(eased), encoding="utf-8", newline="\n")
        run.write(folder, asked)
        names = folder.place()
    text = "\n".join(why_lines(found.why)) + "\n\n"
    text += written_text(out, names, then=f"what binds is in {WHY_FILE} too")
    data = {"out": str(out), "files": names, "why": found.why.model_dump(mode="json")}
    return whole(Answer(text, data), current().stop.is_set())


def _as_written(plan: Plan) -> Plan:
    """Return the plan with requirements that say where they stand in it, whatever its folder is called."""
    written = requirements_from_json(requirements_to_json(plan.requirements), PLAN_FILE)
    return plan.model_copy(update={"requirements": written})


def _check_load(load: str) -> None:
    try:
        Load(load)
    except (BadValue, ValueError) as bad:
        problem = bad.problem if isinstance(bad, BadValue) else str(bad)
        known = bad.expected if isinstance(bad, BadValue) else ""
        raise InputError(
            [Fault("bad-load", f"the load of further circuits {problem}", f"--load {load}", known)]
        ) from None
