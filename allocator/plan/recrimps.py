"""
Terminals that a revision crimps anew, and the steps for those on wires that are kept.

Comes in as what happens to every wire, with both plans; goes out as crimps and steps. A larger fuse may ask for another
terminal on a wire that is thick enough, and so does a wire that joins another in its terminal, or leaves it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from allocator.plan.change_step import Step
from allocator.plan.crimps import Crimp, crimps_of
from allocator.plan.index import PlanIndex
from allocator.plan.wire_changes import WireChange
from allocator.plan.wiring import runs_of

_KEPT = ("stays", "moved")


def new_crimps(wires: tuple[WireChange, ...], old: PlanIndex, new: PlanIndex) -> tuple[Crimp, ...]:
    """Return the crimps of the new panel that none of the panel as built is: same terminal on the same wires."""
    was = {item.new.number: item.old.number for item in wires if item.new and item.old and item.fate in _KEPT}
    left = Counter((crimp.terminal, frozenset(crimp.runs)) for crimp in crimps_of(runs_of(old)))
    found = []
    for crimp in crimps_of(runs_of(new)):
        key = crimp.terminal, frozenset(was.get(number, f"new {number}") for number in crimp.runs)
        if left[key]:
            left[key] -= 1
        else:
            found.append(crimp)
    return tuple(found)


def terminal_steps(wires: tuple[WireChange, ...], crimps: tuple[Crimp, ...]) -> Iterator[Step]:
    """Yield a step for every terminal that is crimped anew onto a wire that was built and is kept."""
    kept = {item.new.number: item for item in wires if item.new is not None and item.fate in _KEPT}
    for crimp in crimps:
        change = next((kept[number] for number in crimp.runs if number in kept), None)
        if change is not None and change.old is not None and change.new is not None:
            run = change.new
            is_start = (run.start.place, run.start.cavity) == (crimp.place, crimp.cavity)
            was, now = (change.old.start, run.start) if is_start else (change.old.end, run.end)
            part = crimp.terminal, was.terminal
            old = was.at if len(crimp.runs) == 1 else now.at  # shared ones are crimped where the wires come together
            yield Step("change", "terminal", run.need, run.feed, old, now.at, *part, run.number)
