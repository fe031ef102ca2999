"""
The whole decision: the count model with the row of every need and the module of every relay.

Comes from ``Counts`` (the same variables, now bound to places); goes to ``solving/``, which reads a plan from it. One
function a rule, with the id of ``rulebook.py``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.bonds import apart_in_rows_and_modules, together_in_rows_and_modules
from allocator.model.choices import num_sockets
from allocator.model.counts import build_counts
from allocator.model.currents import piece_row_and_module_current
from allocator.model.frame import Class, Frame, Instance, RowSlot
from allocator.model.hot import hot_ways_are_needs
from allocator.model.learnt import Learnt, learn
from allocator.model.pins import pins
from allocator.model.variables import Counts, Places

LARGE_SHARE = 5
"""A load above the least limit of any row or entry divided by this gets a place of its own in a relaxation."""


def build_places(frame: Frame, learnt: Iterable[Learnt] = (), placed: frozenset[int] | None = None) -> Places:
    """
    Build the model of a frame, with all that was learnt from plans that failed.

    Parameters
    ----------
    placed
        Indices of the classes that get places; the others are only counted, which makes the model a relaxation.
        None: all.
    """
    every = frozenset(range(len(frame.classes)))
    x = Places(build_counts(frame), every if placed is None else placed)
    _rows_of_needs(x)
    _relays(x)
    piece_row_and_module_current(x)
    apart_in_rows_and_modules(x)
    together_in_rows_and_modules(x)
    hot_ways_are_needs(x)
    pins(x)
    for fact in learnt:
        learn(x, fact)
    return x


def _may_lie(members: Class, slot: RowSlot, feed: str, frame: Frame) -> bool:
    pins = [frame.pins[need] for need in members.needs if need in frame.pins]
    for place in pins:
        if place.bay != slot.instance.pinned_bay and place.bay is not None:
            return False
        if place.row is not None and place.row != slot.row:
            return False
        if place.first is not None and place.first > frame.ways(slot):
            return False
    return any(
        c.feed == feed and c.option.panel == slot.instance.panel and c.option.fuse_format == frame.format(slot)
        for c in members.choices
    )


def _fits_alone(members: Class, slot: RowSlot, feed: str, counts: Counts) -> bool:
    """Rule piece-current for one way: an entry of its own would carry it."""
    entry = counts.entry(slot.instance, slot.group, feed)
    return entry is not None and all(members.load_ma_by_case[case] <= entry.limit_ma for case in counts.frame.cases)


def _rows_of_needs(x: Places) -> None:
    """Rules every-need-placed, format-matches, one-need-per-way: the places add up to the counts."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    in_cell: dict[tuple[RowSlot, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(frame.classes):
        if not members.takes_way or index not in x.placed:
            continue
        by_choice: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
        for slot, feed in counts.ways:
            if _may_lie(members, slot, feed, frame) and _fits_alone(members, slot, feed, counts):
                most = min(len(members.needs), frame.ways(slot))
                variable = model.new_int_var(0, most, f"at {members.needs[0]} {slot} {feed}")
                x.at[index, slot, feed] = variable
                in_cell[slot, feed].append(variable)
                by_choice[slot.instance.panel, frame.format(slot), feed].append(variable)
        chosen: dict[tuple[str, str | None, str], list[IntVar]] = defaultdict(list)
        for number, choice in enumerate(members.choices):
            chosen[choice.option.panel, choice.option.fuse_format, choice.feed].append(counts.chosen[index, number])
        for key, choices in chosen.items():
            model.add(LinearExpr.sum(by_choice[key]) == LinearExpr.sum(choices))
    for cell, ways in counts.ways.items():
        here = LinearExpr.sum(in_cell[cell])
        model.add(here == ways if x.is_whole else here <= ways)


def _relays(x: Places) -> None:
    """Rules relay-present, class-matches, one-relay-per-socket, relay-in-panel; long-jumpers are counted."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    in_module: dict[tuple[Instance, str], list[IntVar]] = defaultdict(list)
    for index, members in enumerate(frame.classes):
        if index not in x.placed:
            continue
        wanted: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
        for number, choice in enumerate(members.choices):
            if choice.option.relay_class is not None:
                wanted[choice.option.panel, choice.option.relay_class].append(counts.chosen[index, number])
        for (panel, relay_class), chosen in wanted.items():
            relays = []
            for instance in counts.used:
                if instance.panel == panel and num_sockets(counts, instance.module, relay_class):
                    relay = model.new_bool_var(f"relay {members.needs[0]} {instance} {relay_class}")
                    x.relay_at[index, instance, relay_class] = relay
                    in_module[instance, relay_class].append(relay)
                    relays.append(relay)
            model.add(LinearExpr.sum(relays) == LinearExpr.sum(chosen))
        if wanted and members.takes_way:
            x.long_jumper[index] = _long_jumper(x, index)
            relay_beside_fuse(x, index)
    for (instance, relay_class), relays in in_module.items():
        model.add(LinearExpr.sum(relays) <= num_sockets(counts, instance.module, relay_class) * counts.used[instance])


def relay_beside_fuse(x: Places, index: int) -> None:
    """Rule relay-beside-fuse."""
    frame = x.counts.frame
    for number, choice in enumerate(frame.classes[index].choices):
        if frame.is_beside_its_fuse(choice.option):
            x.counts.model.add(x.long_jumper[index] == 0).only_enforce_if(x.counts.chosen[index, number])


def _long_jumper(x: Places, index: int) -> IntVar:
    model = x.counts.model
    beside: list[IntVar] = []
    for instance in x.counts.used:
        relays = [relay for (i, where, _), relay in x.relay_at.items() if i == index and where == instance]
        rows = [x.at[i, slot, f] for (i, slot, f) in x.at if i == index and slot.instance == instance]
        if relays and rows:
            both = model.new_bool_var(f"beside {index} {instance}")
            model.add(both <= LinearExpr.sum(relays))
            model.add(both <= LinearExpr.sum(rows))
            beside.append(both)
    long = model.new_bool_var(f"long {index}")
    model.add(long == 1 - LinearExpr.sum(beside))
    return long


def needs_that_counts_misjudge(frame: Frame) -> frozenset[int]:
    """
    Return the classes that a relaxation should place.

    They are what a count sees worst: branches with the load of a whole feed, needs bound to a row or module, pinned
    needs, and loads so large that few of them fill a row.
    """
    rules = frame.sized.requirements.scenario.rules
    bound = {c for bond in (*rules.apart, *rules.together) if bond.level in ("row", "module") for c in bond.circuits}
    limits = [entry.limit_ma for entry in frame.sized.entries.values()]
    limits += [limit for limit in frame.sized.row_limit_ma.values() if limit is not None]
    large_ma = min(limits, default=0) / LARGE_SHARE
    return frozenset(
        index
        for index, members in enumerate(frame.classes)
        if members.supplies is not None
        or any(need in bound or need in frame.pins for need in members.needs)
        or max(members.load_ma_by_case, default=0) > large_ma
    )
