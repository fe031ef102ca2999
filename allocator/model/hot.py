"""
Hot ways kept apart: how many of a row may be hot, of each strip piece and altogether, whatever their order.

Comes from ``Counts``, which say how many ways of a row are hot in which load cases, or ``Places``, which say whose;
adds variables and rules to them. The order itself is found afterwards (``solving/row_order.py``), and a row for which
there is none is learnt. A branch's own way is hot only there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import Frame, RowSlot
from allocator.model.variables import Counts, Places

Pattern = tuple[int, ...]
"""Load cases in which a way is hot."""


def is_on(frame: Frame) -> bool:
    """Return whether the rules keep hot ways apart."""
    return frame.sized.requirements.scenario.rules.hot_share is not None


def _pattern(frame: Frame, index: int, panel: str, fuse_format: str | None) -> Pattern:
    from_ma = frame.hot_from_ma(index, panel, fuse_format)
    loads_ma = frame.classes[index].load_ma_by_case
    return tuple(case for case in frame.cases if from_ma is not None and loads_ma[case] >= from_ma)


def hot_ways_in_rows(x: Counts) -> None:
    """Rule hot-apart: what holds in any order of a row, of every other way and of every strip piece."""
    frame = x.frame
    if not is_on(frame):
        return
    wanted: dict[tuple[str, str | None, str, Pattern], list[IntVar]] = defaultdict(list)
    for (index, number), chosen in x.chosen.items():
        choice = frame.classes[index].choices[number]
        panel, fuse_format = choice.option.panel, choice.option.fuse_format
        if pattern := _pattern(frame, index, panel, fuse_format):
            wanted[panel, fuse_format, choice.feed, pattern].append(chosen)
    for (panel, fuse_format, feed, pattern), chosen_here in wanted.items():
        rows = [s for s, f in x.ways if f == feed and s.instance.panel == panel and frame.format(s) == fuse_format]
        for slot in rows:
            x.hot_ways[slot, feed, pattern] = x.model.new_int_var(0, frame.ways(slot), f"hot {slot} {feed} {pattern}")
        x.model.add(LinearExpr.sum([x.hot_ways[slot, feed, pattern] for slot in rows]) == LinearExpr.sum(chosen_here))
    by_row: dict[RowSlot, dict[str, dict[Pattern, IntVar]]] = defaultdict(lambda: defaultdict(dict))
    for (slot, feed, pattern), number_hot in x.hot_ways.items():
        by_row[slot][feed][pattern] = number_hot
    for slot, by_feed in by_row.items():
        for feed, by_pattern in by_feed.items():
            x.model.add(LinearExpr.sum(list(by_pattern.values())) <= x.ways[slot, feed])
        for case in frame.cases:
            _apart_in_case(x, slot, case, by_feed)
        _apart_in_several_cases(x, slot, by_feed)


def _apart_in_case(x: Counts, slot: RowSlot, case: int, by_feed: Mapping[str, Mapping[Pattern, IntVar]]) -> None:
    hot = {
        feed: LinearExpr.sum([number for pattern, number in by_pattern.items() if case in pattern])
        for feed, by_pattern in by_feed.items()
        if any(case in pattern for pattern in by_pattern)
    }
    if hot:
        x.model.add(LinearExpr.sum(list(hot.values())) <= (x.frame.ways(slot) + 1) // 2)
        if x.frame.bus(slot) == "strip":
            _pieces_meet_coolly(x, slot, hot)


def _apart_in_several_cases(x: Counts, slot: RowSlot, by_feed: Mapping[str, Mapping[Pattern, IntVar]]) -> None:
    """
    Ways that are hot in all of some cases lie apart from each other, and from every way that is hot in one of these.

    Of w ways a are hot in all, b in some: between the a and one block of the b lie a others, so 2 a + b + 1 <= w + 1.
    """
    patterns = dict.fromkeys(pattern for by_pattern in by_feed.values() for pattern in by_pattern if len(pattern) > 1)
    for pattern in patterns:
        hot_in_all: list[IntVar] = []
        hot_in_some: list[IntVar] = []
        for feed, by_pattern in by_feed.items():
            shared = {other: len({*pattern} & {*other}) for other in by_pattern}
            all_here = [number for other, number in by_pattern.items() if shared[other] == len(pattern)]
            some_here = [number for other, number in by_pattern.items() if 0 < shared[other] < len(pattern)]
            hot_in_all += all_here
            hot_in_some += some_here
            if x.frame.bus(slot) == "strip" and all_here and some_here:
                room = x.ways[slot, feed] + x.entries[slot.instance, slot.group, feed]
                _blocks_apart(x, all_here, some_here, room)
        if hot_in_all and hot_in_some:
            _blocks_apart(x, hot_in_all, hot_in_some, x.frame.ways(slot) + 1)


def _blocks_apart(x: Counts, hot_in_all: list[IntVar], hot_in_some: list[IntVar], room: LinearExprT) -> None:
    some = x.model.new_bool_var("hot in some")
    total = LinearExpr.sum(hot_in_some)
    x.model.add(total == 0).only_enforce_if(~some)
    x.model.add(2 * LinearExpr.sum(hot_in_all) + total + some <= room)


def _pieces_meet_coolly(x: Counts, slot: RowSlot, hot: Mapping[str, LinearExprT]) -> None:
    """
    Where two pieces meet, one of them ends with a way that is not hot, or an empty way lies between.

    Of n ways with h hot ones a piece has at most n + 1 - 2 h such ends, and at most two.
    """
    ways = x.frame.ways(slot)
    ends: list[LinearExprT] = []
    used: list[IntVar] = []
    pieces: list[IntVar] = []
    for feed in x.frame.sized.feeds:
        if (slot, feed) not in x.ways:
            continue
        used.append(x.ways[slot, feed])
        pieces.append(x.entries[slot.instance, slot.group, feed])
        if feed in hot:
            cool = x.model.new_int_var(0, 2 * ways, f"cool ends {slot} {feed}")
            x.model.add(cool <= 2 * pieces[-1])
            x.model.add(LinearExpr.sum([cool, hot[feed], hot[feed]]) <= used[-1] + pieces[-1])
            ends.append(cool)
        else:
            ends.append(2 * pieces[-1])
    free = ways - LinearExpr.sum(used)
    x.model.add(LinearExpr.sum(ends) + free >= LinearExpr.sum(pieces) - 1)


def hot_ways_are_needs(x: Places) -> None:
    """Rule hot-apart: the hot ways that are counted in a row are the hot needs that are placed there."""
    counts, frame = x.counts, x.counts.frame
    if not is_on(frame):
        return
    placed: dict[tuple[RowSlot, str, Pattern], list[IntVar]] = defaultdict(list)
    for (index, slot, feed), here in x.at.items():
        if pattern := _pattern(frame, index, slot.instance.panel, frame.format(slot)):
            placed[slot, feed, pattern].append(here)
    for key, number in counts.hot_ways.items():
        total = LinearExpr.sum(placed[key])
        counts.model.add(total == number if x.is_whole else total <= number)
