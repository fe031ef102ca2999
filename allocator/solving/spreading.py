"""
A tallied solution spread over the rows of its frame: which row has which feed, where the tallies only say how many.

Comes from ``bounds.py``; goes to ``hints.py`` as what a count model would say. Any row of a kind would do for the
tallies; rows of one module get different feeds where they can, so that its limit is not used up by one.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping

from allocator.model.frame import Instance, RowSlot
from allocator.model.tallies import Kind, Tallies, Whole
from allocator.solving.engine import Valued

Group = tuple[Instance, int]
"""An instance and the number of a supply group in it."""
Members = tuple[tuple[str, int], ...]
"""Module type and number of every supply group of a kind."""
Ways = Mapping[str, tuple[int, ...]]
"""Ways in use of one group by feed, one number for each row."""


def instances_in_use(x: Tallies, solved: Valued) -> list[Instance]:
    """Return the first copies of every module type, as many as are in use."""
    left = Counter({(panel, module): solved.value(number) for panel, module, number in x.modules})
    used: list[Instance] = []
    for instance in x.frame.instances:
        if left[instance.panel, instance.module] > 0:
            left[instance.panel, instance.module] -= 1
            used.append(instance)
    return used


def spread(x: Tallies, solved: Valued) -> Iterator[tuple[tuple[str, object], int]]:
    """Yield ways and entries of every group in use."""
    further = {
        (kind.panel, kind.members, some.feed): number for number, some in enumerate(x.further) for kind in some.kinds
    }
    left = [solved.value(some.pieces) for some in x.further]
    used = instances_in_use(x, solved)
    contents: dict[tuple[str, Members], list[Ways]] = defaultdict(list)
    kinds: dict[tuple[str, Members], Kind] = {}
    for whole in x.whole:
        kinds[whole.kind.panel, whole.kind.members] = whole.kind
        contents[whole.kind.panel, whole.kind.members] += _whole_groups(whole, solved)
    for shared in x.shared:
        for kind, here in shared.is_of:
            if solved.value(here):
                parts = {feed: (solved.value(part),) for feed, part in shared.ways_by_feed.items()}
                contents[kind.panel, kind.members].append(parts)
    for key, kind in kinds.items():
        for (instance, number), by_feed in zip(_groups(kind, used), contents[key], strict=False):
            for feed, in_rows in by_feed.items():
                if sum(in_rows):
                    entries = sum(in_rows) if kind.bus == "single" else 1
                    if (*key, feed) in further:
                        more = min(left[further[*key, feed]], sum(in_rows) - 1)
                        left[further[*key, feed]] -= more
                        entries += more
                    yield ("enters", (instance, number, feed)), 1
                    yield ("entries", (instance, number, feed)), entries
                for row, in_use in zip(x.frame.groups_of(instance.module)[number], in_rows, strict=True):
                    yield ("ways", (RowSlot(instance, row, number), feed)), in_use


def _groups(kind: Kind, used: list[Instance]) -> list[Group]:
    """Return the groups of a kind: the first ones of all modules, then the second ones from the last module on."""
    groups: list[Group] = []
    for turn, number in enumerate(sorted({number for _, number in kind.members})):
        here = [(i, number) for i in used if i.panel == kind.panel and (i.module, number) in kind.members]
        groups += reversed(here) if turn % 2 else here
    return groups


def _whole_groups(whole: Whole, solved: Valued) -> list[Ways]:
    """Fill the groups of a feed one after the other, and leave a way for each that follows."""
    left = [solved.value(ways) for ways in whole.ways]
    if whole.number is None:
        width = whole.kind.width
        return [{whole.feed: (min(width, left[0] - start),)} for start in range(0, left[0], width)]
    groups: list[Ways] = []
    for after in reversed(range(solved.value(whole.number))):
        ways: list[int] = []
        for index, row in enumerate(whole.kind.rows):
            ways.append(min(row.ways, max(0, left[index] - (after if index == 0 else 0))))
            left[index] -= ways[-1]
        groups.append({whole.feed: tuple(ways)})
    return groups
