"""
What a revision takes beyond the panel as built: parts to buy, wires to cut, terminals to crimp, labels, tests.

Comes in as the steps of a revision with both panels; goes out as counts, wires and crimps. What comes free is used
again, save wires that were cut and terminals that were crimped.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from allocator.plan.change_list import ChangeList
from allocator.plan.crimps import Crimp
from allocator.plan.parts import bill_of_index
from allocator.plan.recrimps import new_crimps
from allocator.plan.wiring import Run


@dataclass(frozen=True, slots=True)
class ChangeNeeds:
    """
    What to have at hand, to do and to try for one revision.

    Attributes
    ----------
    parts
        Pieces by catalogue id that do not come free; terminals are among ``crimps``.
    strip_ways
        Ways of each strip that new pieces cover, and pieces cut anew.
    cut
        Wires that are cut anew.
    crimps
        Terminals that are crimped anew, each with its wires.
    labelled
        Wires whose label is new or other: cut anew, moved, or with another number, stud or in-line fuse now.
    tried
        Ids of circuits and names of feeds that are worked on, and so are tested again, in the order of the new lists.
    """

    parts: Mapping[str, int]
    strip_ways: Mapping[str, int]
    cut: tuple[Run, ...]
    crimps: tuple[Crimp, ...]
    labelled: tuple[Run, ...]
    tried: tuple[str, ...]


def change_needs(changes: ChangeList) -> ChangeNeeds:
    """Work out what a revision takes."""
    had, wanted = bill_of_index(changes.old), bill_of_index(changes.new)
    terminals = {item.id for item in changes.new.sized.requirements.catalogue.terminals}
    more = Counter(wanted.parts) - Counter(had.parts)
    worked = [step for step in changes.steps if step.doing != "relabel"]
    touched = {name for step in worked for name in (step.need, step.feed if not step.need else "")}
    names = [*(item.need.id for item in changes.new.needs if item.need.kind != "spare"), *changes.new.sized.feeds]
    return ChangeNeeds(
        parts={part: more[part] for part in sorted(more) if part not in terminals},
        strip_ways=_strip_ways(changes),
        cut=tuple(item.new for item in changes.wires if item.new is not None and item.fate in ("new", "replaced")),
        crimps=new_crimps(changes.wires, changes.old, changes.new),
        labelled=tuple(item.new for item in changes.wires if item.new is not None and item.label_changes),
        tried=tuple(name for name in dict.fromkeys(names) if name in touched),
    )


def _strip_ways(changes: ChangeList) -> dict[str, int]:
    ways_at = {entry.piece.at: len(entry.ways) for entry in changes.new.entries}
    found: Counter[str] = Counter()
    for step in changes.steps:
        if step.kind == "strip piece" and step.doing in ("add", "change"):
            found[step.part] += ways_at[step.new]
    return {strip: found[strip] for strip in sorted(found)}
