"""
Hot ways kept apart: how many of a row, of a strip piece and of a panel may be hot, whatever their order.

Comes from ``Counts`` or ``Places``; adds rules to them. The order itself is found afterwards
(``solving/row_order.py``), and a row for which there is none is learnt. A branch's own way is hot only there.
"""

from __future__ import annotations

from collections import defaultdict

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import Frame
from allocator.model.variables import Counts, Places


def is_on(frame: Frame) -> bool:
    """Return whether the rules keep hot ways apart."""
    return frame.sized.requirements.scenario.rules.hot_share is not None


def _is_hot(frame: Frame, index: int, panel: str, fuse_format: str | None, case: int) -> bool:
    from_ma = frame.hot_from_ma(index, panel, fuse_format)
    return from_ma is not None and frame.classes[index].load_ma_by_case[case] >= from_ma


def _most_apart(ways: int) -> int:
    """Return how many of some ways in a row can be hot: every other one."""
    return (ways + 1) // 2


def hot_ways_in_sum(x: Counts) -> None:
    """Rule hot-apart, as a count: every other way of a row, and of a strip piece."""
    frame = x.frame
    if not is_on(frame):
        return
    for case in frame.cases:
        hot: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
        for (index, number), chosen in x.chosen.items():
            choice = frame.classes[index].choices[number]
            panel, fuse_format = choice.option.panel, choice.option.fuse_format
            if _is_hot(frame, index, panel, fuse_format, case):
                hot[panel, fuse_format, choice.feed].append(chosen)
        for panel, fuse_format in dict.fromkeys(key[:2] for key in hot):
            rows = [s for s in frame.rows if s.instance.panel == panel and frame.format(s) == fuse_format]
            room = LinearExpr.sum([_most_apart(frame.ways(slot)) * x.used[slot.instance] for slot in rows])
            x.model.add(
                LinearExpr.sum([v for key, here in hot.items() if key[:2] == (panel, fuse_format) for v in here])
                <= room
            )
        for (panel, fuse_format, feed), here in hot.items():
            x.model.add(2 * LinearExpr.sum(here) <= _room_in_pieces(x, panel, fuse_format, feed))


def _room_in_pieces(x: Counts, panel: str, fuse_format: str | None, feed: str) -> LinearExprT:
    """Return twice the ways that can be hot on a feed: of n ways in e strip pieces (n + e) / 2, elsewhere all."""
    frame = x.frame
    parts: list[LinearExprT] = []
    for (slot, name), ways in x.ways.items():
        if name == feed and slot.instance.panel == panel and frame.format(slot) == fuse_format:
            is_strip = frame.bus(slot) == "strip"
            parts += [ways, x.entries[slot.instance, slot.group, feed] if is_strip else ways]
    return LinearExpr.sum(parts)


def hot_ways_in_rows(x: Places) -> None:
    """Rule hot-apart, row by row: what holds in any order."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    if not is_on(frame):
        return
    for case in frame.cases:
        hot: dict[object, dict[str, list[IntVar]]] = defaultdict(lambda: defaultdict(list))
        for (index, slot, feed), here in x.at.items():
            if _is_hot(frame, index, slot.instance.panel, frame.format(slot), case):
                hot[slot][feed].append(here)
        for slot in frame.rows:
            if slot not in hot:
                continue
            everything = LinearExpr.sum([v for held in hot[slot].values() for v in held])
            model.add(everything <= _most_apart(frame.ways(slot)))
            for feed, held in hot[slot].items():
                if frame.bus(slot) == "strip":
                    room = counts.ways[slot, feed] + counts.entries[slot.instance, slot.group, feed]
                    model.add(2 * LinearExpr.sum(held) <= room)
