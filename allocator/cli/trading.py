"""
``allocator tradeoffs``: a scenario folder in, a folder with every plan that no other one beats out.

Whatever stops it, the output folder holds a whole result or is as it was; what was not closed is said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import get_args

from allocator.cli.answers import Answer
from allocator.cli.folder import RECORD, out_folder
from allocator.cli.interrupts import current
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.cli.statuses import DONE, INTERRUPTED
from allocator.errors import Fault, InputError
from allocator.outputs.tradeoffs import front_csv, front_data, front_text, save_plot
from allocator.outputs.tradeoffs.table import PLAN_NAME
from allocator.plan.files import plan_text
from allocator.requirements import load_scenario
from allocator.requirements.amounts import cap_in, finest, is_count
from allocator.requirements.scenario import Goal
from allocator.sizing import size
from allocator.tradeoffs import Front, find_tradeoffs
from allocator.tradeoffs.axes import DEFAULT_GOALS, DEFAULT_RANGES
from allocator.units import BadValue

GOALS: tuple[Goal, ...] = get_args(Goal)
FILES = ("tradeoffs.csv", "tradeoffs.txt", "tradeoffs.svg", "tradeoffs.png", PLAN_NAME.format(1))


def tradeoffs(
    scenario: Path,
    variant: Path | None,
    out: Path,
    goals: Sequence[str],
    steps: Sequence[str],
    ranges: Sequence[str],
    time_limit_s: float,
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
        Goals that are compared; none: bays, module types, strip pieces and price.
    steps, ranges
        Such as ``price=5.00`` and ``bays=2``.
    time_limit_s
        Wall time of the search.
    """
    run = Run("tradeoffs", scenario)
    compared = _goals(goals)
    step_by_goal, range_by_goal = _steps(steps, compared), _ranges(ranges, compared)
    interrupts = current()
    with out_folder(out, [*FILES, RECORD]) as folder:
        with run.step("reading and sizing"):
            sized = size(load_scenario(scenario, variant))
        with run.step("search"):
            front = find_tradeoffs(
                sized, compared, steps=step_by_goal, ranges=range_by_goal, time_limit_s=time_limit_s,
                progress=progress(), stop=interrupts.note(),
            )  # fmt: skip
        interrupts.hold()
        with run.step("drawing"):
            _write(front, folder.files, sized.requirements.scenario.vehicle.name)
        record = {"time_limit_s": time_limit_s, "interrupted": front.interrupted, "complete": front.is_complete}
        run.write(folder, front.members[0].plan, record)
        names = folder.place()
    text = f"{front_text(front)}\nWritten to {out}: {', '.join(names)}\n"
    text += f"For drawings and lists of one of them: allocator draw {out / PLAN_NAME.format(1)} --out DIR\n"
    notes = "interrupted: what is known so far is written\n" if front.interrupted else ""
    data = {"interrupted": front.interrupted, "out": str(out), "files": names, **front_data(front, out)}
    return Answer(text, data, notes, INTERRUPTED if front.interrupted else DONE)


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
            steps[goal] = cap_in(goal, int(value) if is_count(goal) and value.isdecimal() else value)
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
        if value != "all" and not value.isdecimal():
            known = 'expected how many steps beyond the best, such as 2, or "all"'
            raise InputError([Fault("usage", "the range is no whole number", f"--range {goal}={value}", known)])
        ranges.pop(goal, None)
        if value != "all":
            ranges[goal] = int(value)
    return ranges
