"""
``allocator compare``: plans and scenarios in, what differs between them out; with a folder also lists and drawings.

A scenario is planned first; with variants, it is planned as it stands and once more for each of them.
An interrupt aborts at once and writes nothing: a plan cut short beside a finished one would be no fair comparison.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from allocator.cli.answers import Answer, faulty
from allocator.cli.findings import times
from allocator.cli.folder import RECORD, out_folder
from allocator.cli.interrupts import current
from allocator.cli.plan_file import read
from allocator.cli.plans import settled
from allocator.cli.progress import progress
from allocator.cli.records import Run
from allocator.cli.results import written_text
from allocator.cli.statuses import NOT_KEPT
from allocator.errors import CannotBeMet, Fault, InputError
from allocator.outputs.comparing import (
    COMPARE_FILES,
    Comparison,
    Side,
    comparison_data,
    comparison_text,
    draw_comparison,
)
from allocator.outputs.comparing.side import MOST_SIDES
from allocator.outputs.content import Content
from allocator.plan.files import plan_text
from allocator.requirements import load_scenario, load_variant_title
from allocator.sizing import size
from allocator.solving import search_plan


@dataclass(frozen=True, slots=True)
class _Item:
    """One thing to compare: a plan, or a scenario with a variant or without."""

    name: str
    path: Path
    is_plan: bool
    variant: Path | None = None


class _Refused(Exception):  # noqa: N818 - it never leaves this room
    """A plan that does not keep its requirements."""

    def __init__(self, first: str, number: int) -> None:
        self.first, self.number = first, number
        super().__init__(first)


def compare(paths: Sequence[Path], variants: Sequence[Path], out: Path | None, time_limit_s: float) -> Answer:
    """
    Compare plans and scenarios; the first is the one that the others are held against.

    Parameters
    ----------
    paths
        plan.json files, folders that hold one, and scenario folders.
    variants
        Variants of the one scenario that is given.
    out
        Folder for lists and drawings; none: only the text.
    time_limit_s
        Wall time of the search for each scenario.

    Returns
    -------
    Answer
        Status 3 if a scenario has no plan; the others are compared all the same where two are left.
    """
    items = list(_items(paths, variants))
    if out is None:
        return _compared(items, time_limit_s, None, Run("compare", paths[0]))
    with out_folder(out, [*COMPARE_FILES, RECORD]) as folder:
        run = Run("compare", paths[0])
        folder.files.mkdir()
        answer = _compared(items, time_limit_s, folder.files, run)
        if not answer.text:
            return answer
        current().hold()
        run.write(folder, read(folder.files / "plan-1.json"), {"compared": [item.name for item in items]})
        names = folder.place()
    return replace(
        answer, text=f"{answer.text}\n{written_text(out, names)}", data={**answer.data, "out": str(out), "files": names}
    )


def _compared(items: Sequence[_Item], time_limit_s: float, folder: Path | None, run: Run) -> Answer:
    sides: list[Side] = []
    failed: list[Fault] = []
    for item in items:
        try:
            with run.step(f"planning {item.name}"):
                side = _side(item, time_limit_s)
        except CannotBeMet as verdict:
            known = "; ".join(verdict.reasons[1:])
            failed.append(Fault("cannot-be-met", f"no plan can be made: {verdict.reasons[0]}", item.name, known))
            continue
        except _Refused as refused:
            message, known = f"the plan breaks its requirements {times(refused.number)}", f"first: {refused.first}"
            failed.append(Fault("plan-breaks-rules", message, item.name, known, "see all with allocator verify"))
            continue
        sides.append(side)
    unmet = faulty(failed, NOT_KEPT) if failed else Answer()
    if len(sides) < 2:
        return unmet
    comparison = Comparison(tuple(sides))
    if folder is not None:
        with run.step("drawing"):
            draw_comparison(comparison, folder)
        for number, side in enumerate(sides, 1):
            (folder / f"plan-{number}.json").write_text(plan_text(side.content.plan), encoding="utf-8", newline="\n")
    data = {**comparison_data(comparison), **unmet.data}
    return replace(unmet, text=comparison_text(comparison), data=data)


def _side(item: _Item, time_limit_s: float) -> Side:
    if item.is_plan:
        plan, sized, findings = settled(read(item.path))
        if findings:
            raise _Refused(findings[0].text(), len(findings))
        return Side(item.name, Content(sized, plan))
    sized = size(load_scenario(item.path, item.variant))
    say = progress()
    if say is not None:
        say(item.name)
    outcome = search_plan(sized, time_limit_s=time_limit_s, progress=say)
    return Side(item.name, Content(sized, outcome.plan))


def _items(paths: Sequence[Path], variants: Sequence[Path]) -> Iterator[_Item]:
    """Yield what is compared, its kind settled; raise InputError with every fault of the words given."""
    items = [_Item(str(path), path, not (path / "scenario.toml").exists()) for path in paths]
    scenarios = [item for item in items if not item.is_plan]
    faults = []
    if variants and len(scenarios) != 1:
        known = f"{len(scenarios)} scenarios are given, and a variant is one of a scenario"
        where = shlex.join(f"--variant={variant}" for variant in variants)
        faults.append(Fault("usage", "give one scenario with variants", where, known))
    for path in paths:
        if path.suffix == ".toml":
            message, known = "this is no plan and no scenario folder", "a variant is given with --variant"
            faults.append(Fault("usage", message, str(path), known))
    num = len(items) + len(variants)
    if not 2 <= num <= MOST_SIDES:
        message = "there is nothing to compare with" if num < 2 else "these are too many to compare"
        known = f"expected 2 to {MOST_SIDES} plans, scenarios and variants"
        faults.append(Fault("usage", message, shlex.join(map(str, paths)), known))
    if faults:
        raise InputError(faults)
    for item in items:
        yield item
        if not item.is_plan:
            for variant in variants:
                title = load_variant_title(item.path, variant)
                yield _Item(f"{item.name} with {variant.name}: {title}", item.path, False, variant)
