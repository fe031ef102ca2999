"""
The work itself: a task in, a checked plan with its lists out, or what stands against it. This is what workers load.

Nothing of a scenario breaks a worker, and nothing is written but into a folder of its own that is gone afterwards.
"""

from __future__ import annotations

import time
import traceback
from dataclasses import fields, replace
from pathlib import Path, PurePosixPath
from tempfile import gettempdir

from allocator.batch.rows import Made, planned_row, without_plan
from allocator.batch.tasks import Task, versions_here
from allocator.errors import CannotBeMet, Fault, InputError, NoPlanInTime
from allocator.leftovers import folder_of_ones_own
from allocator.outputs.content import Content
from allocator.outputs.texts import texts_of
from allocator.requirements import load_scenario
from allocator.sizing import size
from allocator.solving import search_plan
from allocator.verifying import goal_values


def work(task: Task) -> Made:
    """
    Plan one scenario.

    Parameters
    ----------
    task
        The scenario, by value.

    Returns
    -------
    Made
        Its status says what became of it. Messages name files by their path within the folder of scenarios.
    """
    begin = time.monotonic()
    if task.versions != versions_here():
        return _of_another_version(task)
    with folder_of_ones_own(Path(gettempdir())) as folder:
        made = _planned(task, folder)
    return replace(made, seconds=round(time.monotonic() - begin, 3))


def _planned(task: Task, folder: Path) -> Made:
    name = task.name
    try:
        return _files_of_plan(task, folder)
    except InputError as error:
        return without_plan(name, "bad input", *(_at_home(fault, folder) for fault in error.faults))
    except CannotBeMet as error:
        verdict, *more = error.reasons
        known = "\n         ".join(more)
        return without_plan(name, "cannot be met", Fault("cannot-be-met", f"no plan can be made: {verdict}", "", known))
    except NoPlanInTime:
        hint = "give it more time with --time-limit"
        fault = Fault("no-plan-in-time", "the time ran out before any plan was found", hint=hint)
        return without_plan(name, "no plan in time", fault)
    except Exception as error:  # a bug: told with all that helps to find it, and the other scenarios go on
        fault = Fault("bug", f"a fault of the program: {type(error).__name__}: {error}", hint="please report it")
        return without_plan(name, "failed", fault, files={"traceback.txt": traceback.format_exc().encode()})


def _files_of_plan(task: Task, folder: Path) -> Made:
    place = folder / task.name
    for path, content in task.files.items():
        target = place / PurePosixPath(path)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    sized = size(load_scenario(place))
    plan = search_plan(sized, time_limit_s=task.options.time_limit_s).plan
    row = planned_row(task.name, plan, goal_values(sized, plan))
    if not task.options.drawings:
        return Made(row, files={name: text.encode() for name, text in texts_of(Content(sized, plan)).items()})
    from allocator.outputs.drawing import draw  # loads all that draws, which lists alone do not need

    return Made(row, files={path.name: path.read_bytes() for path in draw(plan, sized, folder / "drawn")})


def _at_home(fault: Fault, folder: Path) -> Fault:
    """Return a fault that names files as the folder of scenarios has them."""
    here = f"{folder.as_posix()}/"
    return Fault(**{field.name: getattr(fault, field.name).replace(here, "") for field in fields(fault)})


def _of_another_version(task: Task) -> Made:
    here, asked = versions_here(), task.versions
    message = f"this worker has allocator {here.allocator_version} with {here.solver_version}"
    known = f"the batch was started with allocator {asked.allocator_version} with {asked.solver_version}"
    return without_plan(task.name, "failed", Fault("other-version", message, "", known, "install the same on all"))
