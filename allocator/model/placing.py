"""
The whole decision: the count model with the row of every need and the module of every relay.

Comes from ``Counts`` (the same variables, now bound to places); goes to ``solving/``, which reads a plan from it. One
function a rule, with the id of ``rulebook.py``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from ortools.sat.python.cp_model import IntVar, LinearExpr

from allocator.model.bonds import alike_in_order, apart_in_rows_and_modules, together_in_rows_and_modules
from allocator.model.choices import num_sockets
from allocator.model.classes import Cell, Class
from allocator.model.counts import build_counts
from allocator.model.currents import piece_row_and_module_current
from allocator.model.frame import Frame, Instance, RowSlot
from allocator.model.hot import hot_ways_are_needs
from allocator.model.learnt import Learnt, learn
from allocator.model.pins import pins
from allocator.model.variables import Places

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
    placed = every if placed is None else placed
    x = Places(build_counts(frame), placed, knows_jumpers=needs_with_jumpers(frame) <= placed)
    _rows_of_needs(x)
    _relays(x)
    piece_row_and_module_current(x)
    apart_in_rows_and_modules(x)
    alike_in_order(x)
    together_in_rows_and_modules(x)
    hot_ways_are_needs(x)
    pins(x)
    for fact in learnt:
        learn(x, fact)
    return x


def _pins_allow(members: Class, slot: RowSlot, frame: Frame) -> bool:
    for place in (frame.pins[need] for need in members.needs if need in frame.pins):
        if place.bay != slot.instance.pinned_bay and place.bay is not None:
            return False
        if place.row is not None and place.row != slot.row:
            return False
        if place.first is not None and place.first > frame.ways(slot):
            return False
    return True


def _rows_of_needs(x: Places) -> None:
    """
    Rules every-need-placed, format-matches, one-need-per-way: the places add up to the counts.

    A row in which an entry of its own could not carry a need (rule piece-current) is no place for it.
    """
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    in_cell: dict[tuple[RowSlot, str], list[IntVar]] = defaultdict(list)
    rows: dict[Cell, list[tuple[RowSlot, int]]] = defaultdict(list)
    for slot, feed in counts.ways:
        entry = counts.entry(slot.instance, slot.group, feed)
        if entry is not None:
            rows[slot.instance.panel, frame.format(slot), feed].append((slot, entry.limit_ma))
    for index, members in enumerate(frame.classes):
        if not members.takes_way or index not in x.placed:
            continue
        load_ma = max((members.load_ma_by_case[case] for case in frame.cases), default=0)
        for cell, numbers in members.numbers_by_cell().items():
            here: list[IntVar] = []
            for slot, limit_ma in rows[cell]:
                if load_ma <= limit_ma and _pins_allow(members, slot, frame):
                    variable = model.new_int_var(0, min(len(members.needs), frame.ways(slot)), "at")
                    x.at[index, slot, cell[2]] = variable
                    in_cell[slot, cell[2]].append(variable)
                    here.append(variable)
            model.add(LinearExpr.sum(here) == LinearExpr.sum([counts.chosen[index, number] for number in numbers]))
    for way, ways in counts.ways.items():
        total = LinearExpr.sum(in_cell[way])
        model.add(total == ways if x.is_whole else total <= ways)


def _relays(x: Places) -> None:
    """Rules relay-present, class-matches, one-relay-per-socket, relay-in-panel; long-jumpers are counted."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    in_module: dict[tuple[Instance, str], list[IntVar]] = defaultdict(list)
    rows: dict[int, dict[Instance, list[IntVar]]] = defaultdict(lambda: defaultdict(list))
    for (index, slot, _), here in x.at.items():
        rows[index][slot.instance].append(here)
    for index, members in enumerate(frame.classes):
        if index not in x.placed:
            continue
        relays_by_module: dict[Instance, list[IntVar]] = defaultdict(list)
        wanted: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
        for number, choice in enumerate(members.choices):
            if choice.option.relay_class is not None:
                wanted[choice.option.panel, choice.option.relay_class].append(counts.chosen[index, number])
        for (panel, relay_class), chosen in wanted.items():
            relays = []
            for instance in counts.used:
                if instance.panel == panel and num_sockets(counts, instance.module, relay_class):
                    relay = model.new_bool_var("relay")
                    x.relay_at[index, instance, relay_class] = relay
                    relays_by_module[instance].append(relay)
                    in_module[instance, relay_class].append(relay)
                    relays.append(relay)
            model.add(LinearExpr.sum(relays) == LinearExpr.sum(chosen))
        if wanted and members.takes_way:
            x.long_jumper[index] = _long_jumper(x, relays_by_module, rows[index])
            relay_beside_fuse(x, index)
    if x.knows_jumpers and counts.long_jumpers is not None:
        model.add(counts.long_jumpers <= LinearExpr.sum(list(x.long_jumper.values())))
    for (instance, relay_class), relays in in_module.items():
        model.add(LinearExpr.sum(relays) <= num_sockets(counts, instance.module, relay_class) * counts.used[instance])


def relay_beside_fuse(x: Places, index: int) -> None:
    """Rule relay-beside-fuse."""
    frame = x.counts.frame
    for number, choice in enumerate(frame.classes[index].choices):
        if frame.is_beside_its_fuse(choice.option):
            x.counts.model.add(x.long_jumper[index] == 0).only_enforce_if(x.counts.chosen[index, number])


def _long_jumper(x: Places, relays: Mapping[Instance, list[IntVar]], rows: Mapping[Instance, list[IntVar]]) -> IntVar:
    """Say whether the relay of a need is in another module than its way, from where each could be."""
    model = x.counts.model
    beside: list[IntVar] = []
    for instance in x.counts.used:
        if instance in relays and instance in rows:
            both = model.new_bool_var("beside")
            model.add(both <= LinearExpr.sum(relays[instance]))
            model.add(both <= LinearExpr.sum(rows[instance]))
            beside.append(both)
    long = model.new_bool_var("long")
    model.add(long == 1 - LinearExpr.sum(beside))
    return long


def needs_with_jumpers(frame: Frame) -> frozenset[int]:
    """Return the classes of a way and a relay, so that a jumper lies between them."""
    return frozenset(
        index
        for index, members in enumerate(frame.classes)
        if members.takes_way and any(choice.option.relay_class is not None for choice in members.choices)
    )


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
