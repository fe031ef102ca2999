"""
``allocator tradeoffs``: a scenario folder in, a folder with every plan that no other one beats out.

Whatever stops it, the output folder holds a whole result or is as it was; what was not closed is said.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import get_args

from allocator.cli.answers import Answer
from allocator.cli.folder import RECORD, out_folder, refuse_foreign, take_away, written
from allocator.cli.interrupts import current
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.cli.statuses import BAD_INPUT, DONE, INTERRUPTED
from allocator.errors import Fault, InputError, printable, quoted_path
from allocator.outputs import draw
from allocator.outputs.drawing import FILES as DRAWN
from allocator.outputs.tradeoffs import front_csv, front_data, front_text, save_plot
from allocator.outputs.tradeoffs.table import PLAN_NAME
from allocator.plan.files import plan_text
from allocator.requirements import load_scenario
from allocator.requirements.amounts import cap_in, finest, is_count
from allocator.requirements.scenario import Goal
from allocator.sizing import size
from allocator.solving.watch import watched
from allocator.tradeoffs import Front, find_tradeoffs
from allocator.tradeoffs.axes import DEFAULT_GOALS, DEFAULT_RANGES
from allocator.units import BadValue

GOALS: tuple[Goal, ...] = get_args(Goal)
_WHOLE = re.compile("[0-9]{1,9}")
FILES = ("tradeoffs.csv", "tradeoffs.txt", "tradeoffs.svg", "tradeoffs.png", PLAN_NAME.format(1))


def tradeoffs(
    scenario: Path,
    variant: Path | None,
    out: Path,
    goals: Sequence[str],
    steps: Sequence[str],
    ranges: Sequence[str],
    time_limit_s: float,
    wanted: Sequence[int] = (),
) -> Answer:
    """
    Find every plan of a scenario that none beats, and write them with table and plot.

    Parameters
    ----------
    scenario, variant
        Folder with ``scenario.toml``, and the file of it that says what is other.
    out
        Folder for the results.
    goals
        Goals that are compared; none: bays, module types, feed entries and price.
    steps, ranges
        Such as ``price=5.00`` and ``bays=2``.
    time_limit_s
        Wall time of the search.
    wanted
        Numbers of the plans that get drawings and lists, each in a folder of its own within ``out``.

    Returns
    -------
    Answer
        Status 2 where a plan was to be drawn that there is not; all else is written.
    """
    run = Run("tradeoffs", scenario)
    compared = _goals(goals)
    step_by_goal, range_by_goal = _steps(steps, compared), _ranges(ranges, compared)
    interrupts = current()
    wanted = sorted({*wanted})
    for number in wanted:
        refuse_foreign(out / _folder_name(number), [*DRAWN, RECORD])
    with out_folder(out, [*FILES, RECORD]) as folder:
        with run.step("reading and sizing"):
            sized = size(load_scenario(scenario, variant))
        with run.step("search"):
            front = find_tradeoffs(
                sized, compared, steps=step_by_goal, ranges=range_by_goal, time_limit_s=time_limit_s,
                progress=progress(), stop=interrupts.note(),
            )  # fmt: skip
        with run.step("drawing"):
            drawn = _drawn(front, wanted, folder.waiting, interrupts.stop)
        interrupts.hold()
        stopped = interrupts.stop.is_set()
        with run.step("writing"):
            _write(front, folder.files, sized.requirements.scenario.vehicle.name)
        record = {"time_limit_s": time_limit_s, "interrupted": stopped, "complete": front.is_complete}
        run.write(folder, front.members[0].plan, record)
        names = folder.place()
        for earlier in sorted(out.glob(_folder_name("*"))):
            take_away(earlier)  # drawings of a plan that now has another number, or none
        for number, files in drawn.items():
            with out_folder(out / _folder_name(number), [*DRAWN, RECORD]) as inner:
                files.rename(inner.files)
                run.write(inner, front.members[number - 1].plan, record)
                inner.place()
    text = f"{front_text(front)}\n{written(out, ', '.join(names))}"
    for number in drawn:
        text += f"Drawings and lists of plan {number}: {printable(str(out / _folder_name(number)))}\n"
    if not drawn:
        plan = quoted_path(out / PLAN_NAME.format(1))
        text += f"For drawings and lists of one of them: allocator draw {plan} --out DIR\n"
    data = {"interrupted": stopped, "out": str(out), "files": names, "drawn": list(drawn), **front_data(front, out)}
    if stopped:
        return Answer(text, data, "interrupted: what is known so far is written\n", INTERRUPTED)
    missing = [number for number in wanted if number > len(front.members)]
    return Answer(text, data, _not_there(missing, len(front.members)), BAD_INPUT if missing else DONE)


def _not_there(missing: Sequence[int], plans: int) -> str:
    known = f"there are {plans} plans" if plans > 1 else "there is one plan"
    hint = "all else is written; draw another of them with allocator draw"
    faults = [Fault("usage", "there is no such plan to draw", f"--draw {number}", known, hint) for number in missing]
    return "".join(fault.text() + "\n" for fault in faults)


def _folder_name(number: int | str) -> str:
    return PLAN_NAME.format(number).removesuffix(".json")


def _drawn(front: Front, wanted: Sequence[int], waiting: Path, stop: threading.Event) -> dict[int, Path]:
    """Make every file of the plans wanted, by their numbers; those that an interrupt comes before are left out."""
    drawn: dict[int, Path] = {}
    for number in wanted:
        if number <= len(front.members):
            plan, files = front.members[number - 1].plan, waiting / _folder_name(number)
            if not watched(partial(draw, plan, size(plan.requirements), files), stop.is_set, grace_s=0):
                break
            drawn[number] = files
    return drawn


def _write(front: Front, folder: Path, vehicle: str) -> None:
    folder.mkdir()
    texts = {"tradeoffs.csv": front_csv(front), "tradeoffs.txt": front_text(front)}
    texts |= {PLAN_NAME.format(number): plan_text(member.plan) for number, member in enumerate(front.members, 1)}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    save_plot(front, f"{vehicle}: trade-offs", folder / "tradeoffs.svg", folder / "tradeoffs.png")


def _goals(named: Sequence[str]) -> tuple[Goal, ...]:
    if not named:
        return DEFAULT_GOALS
    return tuple(_goal(name, "--goal") for name in dict.fromkeys(named))


def _goal(name: str, option: str) -> Goal:
    known = {goal: goal for goal in GOALS}
    if name not in known:
        raise InputError([Fault("usage", "no such goal", f"{option} {name}", f"goals: {', '.join(GOALS)}")])
    return known[name]


def _pairs(texts: Sequence[str], option: str, compared: Sequence[Goal]) -> dict[Goal, str]:
    pairs: dict[Goal, str] = {}
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals:
            raise InputError([Fault("usage", "a goal and a value are needed", f"{option} {text}", "such as bays=2")])
        goal = _goal(name, option)
        if goal not in compared:
            raise InputError(
                [Fault("usage", "this goal is not compared", f"{option} {text}", hint=f"add --goal {name}")]
            )
        pairs[goal] = value
    return pairs


def _steps(texts: Sequence[str], compared: Sequence[Goal]) -> dict[Goal, Fraction]:
    steps: dict[Goal, Fraction] = {}
    for goal, value in _pairs(texts, "--step", compared).items():
        where = f"--step {goal}={value}"
        try:
            steps[goal] = cap_in(goal, int(value) if is_count(goal) and _WHOLE.fullmatch(value) else value)
        except BadValue as bad:
            raise InputError([Fault(bad.rule, f"the step {bad.problem}", where, f"expected {bad.expected}")]) from None
        if steps[goal] <= 0 or (steps[goal] / finest(goal)).denominator != 1:
            raise InputError(
                [Fault("usage", "the step is out of range", where, "expected a step that a cap can be told in")]
            )
    return steps


def _ranges(texts: Sequence[str], compared: Sequence[Goal]) -> Mapping[Goal, int]:
    ranges = {goal: most for goal, most in DEFAULT_RANGES.items() if goal in compared}
    for goal, value in _pairs(texts, "--range", compared).items():
        if value != "all" and not _WHOLE.fullmatch(value):
            known = 'expected how many steps beyond the best, such as 2, or "all"'
            raise InputError([Fault("usage", "the range is no whole number", f"--range {goal}={value}", known)])
        ranges.pop(goal, None)
        if value != "all":
            ranges[goal] = int(value)
    return ranges
