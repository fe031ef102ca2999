"""
The count model: how many modules, and how many ways of each row on each feed, with the feed of every need.

It is a relaxation of the whole decision: it knows which option and feed every need takes, but not in which row it
lies. So its best values are bounds for every plan. ``placing.py`` adds the places. Rules carry the ids of
``rulebook.py``; a rule that the counts can only see in part says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from math import floor

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.bonds import apart_and_together_by_feed_and_panel
from allocator.model.carriers import (
    carriers_hold_modules,
    module_count,
    modules_in_use,
    pinned_bays_hold_one_module,
    wide_modules_fit,
)
from allocator.model.choices import choices, draws, entries_at, socket_entry_currents, sockets_suffice
from allocator.model.classes import Cell
from allocator.model.currents import module_current_in_sum, piece_current_in_sum
from allocator.model.frame import Frame
from allocator.model.hot import hot_ways_in_rows
from allocator.model.variables import Counts


def build_counts(frame: Frame) -> Counts:
    """Build the count model of a frame."""
    x = Counts(cp_model.CpModel(), frame)
    modules_in_use(x)
    carriers_hold_modules(x)
    wide_modules_fit(x)
    choices(x)
    draws(x)
    socket_entry_currents(x)
    _rows_and_entries(x)
    _entries_at_panels(x)
    every_need_placed(x)
    one_feed_per_stud(x)
    sockets_suffice(x)
    _long_jumpers_in_sum(x)
    piece_current_in_sum(x)
    module_current_in_sum(x)
    hot_ways_in_rows(x)
    module_count(x)
    pinned_bays_hold_one_module(x)
    apart_and_together_by_feed_and_panel(x)
    return x


def _loads_by_cell(frame: Frame) -> Mapping[Cell, list[list[int]]]:
    """Return for every case the loads that could be on a way of a panel, format and feed, mA, largest first."""
    loads: dict[Cell, list[list[int]]] = defaultdict(lambda: [[] for _ in frame.cases])
    for members in frame.classes:
        branch = floor(frame.sized.feeds[members.supplies].allowed_ma) if members.supplies else 0
        for cell in members.numbers_by_cell():
            for in_case, case in zip(loads[cell], frame.cases, strict=True):
                in_case += [members.load_ma_by_case[case] + branch] * len(members.needs)
    for by_case in loads.values():
        for in_case in by_case:
            in_case.sort(reverse=True)
    return loads


def _rows_and_entries(x: Counts) -> None:
    """
    Rules tail-fits and one-piece-per-feed-and-row; a row has at most its ways, an entry at least one way.

    A feed needs a second piece in a row only where its load is too much for one, where pinned ways lie between, or
    where something must lie between hot ones.
    """
    model, frame = x.model, x.frame
    one_piece = frame.sized.requirements.scenario.rules.one_piece_per_feed_and_row
    most: dict[tuple[str, str, int, str, bool], int] = {}
    loads = _loads_by_cell(frame)
    for instance, group in x.groups():
        rows = x.rows_of(instance, group)
        width = sum(frame.ways(row) for row in rows)
        bus, pinned = frame.bus(rows[0]), frame.has_pinned_ways(rows[0])
        for feed in frame.sized.feeds:
            entry = x.entry(instance, group, feed)
            if entry is None:
                continue
            key = (instance.panel, instance.module, group, feed, pinned)
            if key not in most:
                may_split = bus == "strip" and not one_piece
                hot = (instance.panel, frame.format(rows[0])) in frame.hot_places
                by_case = loads[instance.panel, frame.format(rows[0]), feed]
                most_ma = max((sum(in_case[: frame.ways(rows[0])]) for in_case in by_case), default=0)
                splits = may_split and (pinned or hot or most_ma > entry.limit_ma)
                most[key] = width if bus == "single" or splits else 1
            enters = model.new_bool_var("enters")
            entries = enters if most[key] == 1 else model.new_int_var(0, most[key], "entries")
            x.enters[instance, group, feed], x.entries[instance, group, feed] = enters, entries
            x.fed_entries.append((feed, instance.panel, entry, entries))
            for fuse_format in sorted({frame.format(row) for row in rows}):
                x.entry_limits.setdefault((instance.panel, fuse_format, feed), []).append((entry.limit_ma, entries))
            for row in rows:
                x.ways[row, feed] = model.new_int_var(0, frame.ways(row), "ways")
                x.fed_ways.append((instance.module, row.row, x.ways[row, feed]))
                model.add(x.ways[row, feed] <= frame.ways(row) * enters)
            total = sum(x.ways[row, feed] for row in rows)
            model.add(entries <= total)
            if bus == "single":
                model.add(entries == total)
            if most[key] > 1:
                model.add(entries >= enters)
                model.add(entries <= most[key] * enters)
            model.add_implication(enters, x.used[instance])
    for slot in frame.rows:
        on_feeds = [x.ways[slot, feed] for feed in frame.sized.feeds if (slot, feed) in x.ways]
        model.add(LinearExpr.sum(on_feeds) <= frame.ways(slot) * x.used[slot.instance])


def _entries_at_panels(x: Counts) -> None:
    for name in x.frame.sized.feeds:
        for site in x.frame.panels:
            entries_at(
                x,
                name,
                site.name,
                [q for (instance, _, feed), q in x.entries.items() if (feed, instance.panel) == (name, site.name)],
            )


def every_need_placed(x: Counts) -> None:
    """Rule every-need-placed, as a count: the needs of a panel, format and feed fill as many ways of such rows."""
    wanted: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(x.frame.classes):
        if members.takes_way:
            for number, choice in enumerate(members.choices):
                wanted[choice.option.panel, choice.option.fuse_format, choice.feed].append(x.chosen[index, number])
    offered: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
    for (slot, feed), ways in x.ways.items():
        offered[slot.instance.panel, x.frame.format(slot), feed].append(ways)
    for key in sorted({*wanted, *offered}, key=str):
        x.model.add(LinearExpr.sum(wanted[key]) == LinearExpr.sum(offered[key]))


def one_feed_per_stud(x: Counts) -> None:
    """Rule one-feed-per-piece for a solid bus: one feed enters it."""
    for instance, group in x.groups():
        if x.frame.bus(x.rows_of(instance, group)[0]) == "stud":
            x.model.add_at_most_one(
                x.enters[instance, group, feed] for feed in x.frame.sized.feeds if (instance, group, feed) in x.enters
            )


def _long_jumpers_in_sum(x: Counts) -> None:
    """A relay is beside its fuse only in a module with both; rule relay-beside-fuse says which ones must be."""
    frame, model = x.frame, x.model
    relays: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
    bound: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(frame.classes):
        for number, choice in enumerate(members.choices):
            if choice.option.relay_class is not None and members.takes_way:
                relays[choice.option.panel, choice.option.relay_class].append(x.chosen[index, number])
                if frame.is_beside_its_fuse(choice.option):
                    bound[choice.option.panel, choice.option.relay_class].append(x.chosen[index, number])
    beside: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
    for instance, used in x.used.items():
        module = frame.module(instance)
        ways = [n for (slot, _), n in x.ways.items() if slot.instance == instance] if module.sockets else []
        inside: list[IntVar] = []
        for group in module.sockets:
            if ways and (instance.panel, group.relay_class) in relays:
                most = min(group.count, sum(row.ways for row in module.rows))
                both = model.new_int_var(0, most, f"beside {instance} {group.relay_class}")
                model.add(both <= most * used)
                inside.append(both)
                beside[instance.panel, group.relay_class].append(both)
        if inside:
            model.add(LinearExpr.sum(inside) <= LinearExpr.sum(ways))
    x.long_jumpers = model.new_int_var(0, len(frame.sized.needs), "long jumpers")
    apart = []
    for key, chosen in relays.items():
        left = model.new_int_var(0, len(frame.sized.needs), f"long jumpers {key}")
        model.add(left >= LinearExpr.sum(chosen) - LinearExpr.sum(beside[key]))
        if bound[key]:
            model.add(left <= LinearExpr.sum(chosen) - LinearExpr.sum(bound[key]))
        apart.append(left)
    model.add(x.long_jumpers == LinearExpr.sum(apart))
