"""
What happens to every wire of a built panel: it stays, is moved, is replaced or taken out; and which wires are new.

Comes in as the panel as built and the new plan, both indexed; goes out as pairs of runs. Wires are matched by what they
do: role, circuit or feed, and both ends; those that are left over, in order, within one circuit or feed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from allocator.plan.built import Built
from allocator.plan.index import PlanIndex
from allocator.plan.renames import Renames
from allocator.plan.wiring import Run, WireEnd, runs_of, standing
from allocator.sizing.coils import COIL_DESIGNATIONS

Fate = Literal["stays", "moved", "replaced", "out", "new"]
Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class WireChange:
    """A wire as built and as planned; one of them is None for a wire that goes or comes."""

    fate: Fate
    old: Run | None
    new: Run | None

    @property
    def run(self) -> Run:
        """The wire as it is wanted, else as it was."""
        run = self.new if self.new is not None else self.old
        if run is None:
            raise ValueError("a change of no wire")
        return run

    @property
    def label_changes(self) -> bool:
        """Whether a wire that comes, or is kept, says something else on its label: number, ends, or fuse in line."""
        if self.old is None or self.new is None:
            return self.new is not None
        was, now = (
            (run.number, run.start.place, run.end.place, run.inline and run.inline.fuse) for run in (self.old, self.new)
        )
        return self.fate != "stays" or was != now

    @property
    def kind(self) -> str:
        """What the wire is called on the bench."""
        return wire_kind(self.run)


def wire_kind(run: Run) -> str:
    """Return what a wire is called on the bench."""
    if run.role == "wire":
        if run.start.cavity in COIL_DESIGNATIONS:
            return "coil lead"
        return "return wire" if run.end.place == "return" else "load wire"
    return {"lead": "main lead", "cable": "feed cable", "link": "stud link", "tail": "feed tail"}.get(
        run.role, run.role
    )


def wire_changes(built: Built, old: PlanIndex, new: PlanIndex, names: Renames) -> tuple[WireChange, ...]:
    """
    Return what happens to every wire, in the order of the new plan's wires, those that go at the end.

    Parameters
    ----------
    built
        The panel as built.
    old, new
        The plan that it was built from, and the one that is wanted.
    names
        What was renamed since.
    """
    before: dict[Key, list[Run]] = defaultdict(list)
    for run in runs_of(old):
        run = _renamed(run, names)
        before[_belongs(run)].append(run)
    changed = _changed_modules(built, new)
    found: dict[str, WireChange] = {}
    for key, wanted in _grouped(runs_of(new)).items():
        found |= _matched(wanted, before.pop(key, []), changed)
    gone = [run for runs in before.values() for run in runs]
    leftover = [change for name, change in found.items() if name.startswith("out ")]
    ordered = [found[run.number] for run in runs_of(new)]
    return (*ordered, *leftover, *(WireChange("out", run, None) for run in gone))


def _belongs(run: Run) -> Key:
    return run.role, run.need, run.feed if run.role not in ("wire", "jumper") else ""


def _grouped(runs: Iterable[Run]) -> dict[Key, list[Run]]:
    groups: dict[Key, list[Run]] = defaultdict(list)
    for run in runs:
        groups[_belongs(run)].append(run)
    return groups


def _renamed(run: Run, names: Renames) -> Run:
    start, end = (replace(end, place=names.end(end.place)) for end in (run.start, run.end))
    return replace(run, need=names.need(run.need), feed=names.feed(run.feed), start=start, end=end)


def _changed_modules(built: Built, new: PlanIndex) -> tuple[str, ...]:
    """Return the addresses of modules that are not there any more, or are another type."""
    now = {(item.panel, item.bay): item.module.id for item in new.modules}
    return tuple(f"{panel}/{bay}/" for (panel, bay), module in built.modules.items() if now.get((panel, bay)) != module)


def _matched(wanted: list[Run], before: list[Run], changed: tuple[str, ...]) -> dict[str, WireChange]:
    """Match the wires of one circuit or feed: those that stay, then those with one end the same, then the others."""
    found: dict[str, WireChange] = {}
    left, old = list(wanted), list(before)
    for alike in (_stays, _same_cavities, _same_far_end, lambda one, other: True):
        for run in list(left):
            match = next((other for other in old if alike(other, run)), None)
            if match is not None:
                left.remove(run)
                old.remove(match)
                found[run.number] = WireChange(_fate(match, run, changed), match, run)
    found |= {run.number: WireChange("new", None, run) for run in left}
    return found | {f"out {run.number} {run.need}": WireChange("out", run, None) for run in old}


def _ends(run: Run) -> tuple[tuple[str, str], tuple[str, str]]:
    return standing(run.start), standing(run.end)


def _stays(old: Run, new: Run) -> bool:
    return _ends(old) == _ends(new) and _does(old, new)


def _does(old: Run, new: Run) -> bool:
    return old.wire == new.wire and old.length_mm >= new.length_mm


def _cavities(end: WireEnd) -> str:
    return end.cavity or end.place


def _same_cavities(old: Run, new: Run) -> bool:
    return _cavities(old.start) == _cavities(new.start) and _cavities(old.end) == _cavities(new.end)


def _same_far_end(old: Run, new: Run) -> bool:
    return _cavities(old.end) == _cavities(new.end)


def _fate(old: Run, new: Run, changed: tuple[str, ...]) -> Fate:
    if not _does(old, new):
        return "replaced"
    places = (old.start.place, old.end.place)
    in_changed_module = any(f"{place}/".startswith(module) for place in places for module in changed)
    return "stays" if _ends(old) == _ends(new) and not in_changed_module else "moved"
