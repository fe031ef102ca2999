"""
The whole decision: the count model with the row of every need and the module of every relay.

Comes from ``Counts`` (the same variables, now bound to places); goes to ``solving/``, which reads a plan from it. One
function a rule, with the id of ``rulebook.py``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.counts import Counts, build_counts
from allocator.model.frame import Class, Frame, Instance, RowSlot
from allocator.requirements.scenario import Bond
from allocator.sizing.sized import Option

LARGE_SHARE = 5
"""A load above the least limit of any row or entry divided by this gets a place of its own in a relaxation."""


@dataclass(frozen=True, slots=True)
class TooMuchForPieces:
    """
    A learnt fact: these needs on one feed do not fit into so many entries of a row (each within its limit).

    It holds for every row whose entries carry no more than ``limit_ma``.
    """

    classes: tuple[tuple[int, int], ...]
    """(class index, number of its needs)."""
    branches: tuple[tuple[str, int, int], ...]
    """Only while these feeds draw at least so much: (feed, case, mA)."""
    num_entries: int
    limit_ma: int


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """A learnt fact: exactly these needs cannot be ordered in a row with pinned ways and so many entries."""

    slot: RowSlot
    held: tuple[tuple[int, str, int], ...]
    """(class index, feed, number of its needs), for everything in the row."""
    entries: tuple[tuple[str, int], ...]
    branches: tuple[tuple[str, int, int], ...]
    """Only while these feeds draw at least so much: (feed, case, mA)."""


Learnt = TooMuchForPieces | RefusedRow


@dataclass
class Places:
    """The variables that say where things are, beside the count model's own."""

    counts: Counts
    placed: frozenset[int]
    """Indices of the classes that have places of their own."""
    at: dict[tuple[int, RowSlot, str], IntVar] = field(default_factory=dict)
    """Needs of a class in a row on a feed."""
    relay_at: dict[tuple[int, Instance, str], IntVar] = field(default_factory=dict)
    """Whether a need's relay of a class is in a module."""
    long_jumper: dict[int, IntVar] = field(default_factory=dict)
    """Whether way and socket of a class (of one need) are in different modules."""
    way_feed: dict[tuple[RowSlot, int, str], IntVar] = field(default_factory=dict)
    """Whether a way (from 1) is on a feed; only in rows where a pin names a way."""
    start: dict[Instance, IntVar] = field(default_factory=dict)
    """First bay of an instance; only where a pin names a bay."""

    @property
    def is_whole(self) -> bool:
        """Whether every need has a place, so that a solution is a plan."""
        return len(self.placed) == len(self.counts.frame.classes)

    def in_row(self, index: int, slot: RowSlot) -> LinearExprT:
        """Return the needs of a class in a row."""
        return LinearExpr.sum(
            [self.at[index, slot, f] for f in self.counts.frame.sized.feeds if (index, slot, f) in self.at]
        )

    def in_module(self, index: int, instance: Instance) -> LinearExprT:
        """Return the needs of a class in a module."""
        return LinearExpr.sum([self.in_row(index, slot) for slot in self.rows_by_instance[instance]])

    def __post_init__(self) -> None:
        self.rows_by_instance: dict[Instance, list[RowSlot]] = {instance: [] for instance in self.counts.used}
        for slot in self.counts.frame.rows:
            self.rows_by_instance[slot.instance].append(slot)

    def extra_for_long_jumpers(self, worth: Callable[[Option], int]) -> LinearExprT:
        """Return what the long jumpers cost beyond short ones, for a worth of each option."""
        terms: list[LinearExprT] = []
        model = self.counts.model
        for index, long in self.long_jumper.items():
            by_worth: dict[int, list[IntVar]] = defaultdict(list)
            for number, choice in enumerate(self.counts.frame.classes[index].choices):
                by_worth[worth(choice.option)].append(self.counts.chosen[index, number])
            for value, chosen in by_worth.items():
                if value:
                    extra = model.new_bool_var(f"long {index} {value}") if len(by_worth) > 1 else long
                    if len(by_worth) > 1:
                        model.add(extra >= long + LinearExpr.sum(chosen) - 1)
                        model.add(extra <= long)
                        model.add(extra <= LinearExpr.sum(chosen))
                    terms.append(value * extra)
        return LinearExpr.sum(terms)


def build_places(frame: Frame, learnt: Iterable[Learnt] = (), placed: frozenset[int] | None = None) -> Places:
    """
    Build the model of a frame, with all that was learnt from plans that failed.

    Parameters
    ----------
    placed
        Indices of the classes that get places; the others are only counted, which makes the model a relaxation. None: all.
    """
    every = frozenset(range(len(frame.classes)))
    x = Places(build_counts(frame), every if placed is None else placed)
    _rows_of_needs(x)
    _relays(x)
    piece_row_and_module_current(x)
    apart_in_rows_and_modules(x)
    together_in_rows_and_modules(x)
    pins(x)
    for fact in learnt:
        learn(x, fact)
    return x


def learn(x: Places, fact: Learnt) -> None:
    """Add what a failed plan has taught."""
    if isinstance(fact, TooMuchForPieces):
        too_much_for_pieces(x, fact)
    elif x.is_whole:  # a row that is only counted may hold anything
        refused_row(x, fact)


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
                if instance.panel == panel and _sockets(x, instance, relay_class):
                    relay = model.new_bool_var(f"relay {members.needs[0]} {instance} {relay_class}")
                    x.relay_at[index, instance, relay_class] = relay
                    in_module[instance, relay_class].append(relay)
                    relays.append(relay)
            model.add(LinearExpr.sum(relays) == LinearExpr.sum(chosen))
        if wanted and members.takes_way:
            x.long_jumper[index] = _long_jumper(x, index)
    for (instance, relay_class), relays in in_module.items():
        model.add(LinearExpr.sum(relays) <= _sockets(x, instance, relay_class) * counts.used[instance])


def _sockets(x: Places, instance: Instance, relay_class: str) -> int:
    return sum(s.count for s in x.counts.frame.module(instance).sockets if s.relay_class == relay_class)


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

    They are what a count sees worst: branches with the load of a whole feed, needs bound to a row or module, pinned needs,
    and loads so large that few of them fill a row.
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


def _branch_loads(x: Places) -> dict[tuple[int, RowSlot, int], IntVar]:
    """Return the load that a branch's own way brings into a row in a case: the branch's there, nothing elsewhere."""
    counts, model = x.counts, x.counts.model
    loads: dict[tuple[int, RowSlot, int], IntVar] = {}
    for (index, slot, feed), here in x.at.items():
        supplies = counts.frame.classes[index].supplies
        if supplies is None:
            continue
        most = int(counts.frame.sized.feeds[supplies].allowed_ma)
        for case in counts.frame.cases:
            entry = counts.entry(slot.instance, slot.group, feed)
            coil = counts.frame.classes[index].load_ma_by_case[case]
            carried = most if entry is None else max(0, min(most, entry.limit_ma - coil))
            load = model.new_int_var(0, carried, f"branch {supplies} {slot} {case}")
            model.add(load >= counts.draw[supplies, case] - most * (1 - here))
            loads[index, slot, case] = load
    return loads


def piece_row_and_module_current(x: Places) -> None:
    """Rules piece-current (in sum over a feed's pieces in a row), row-current, module-current, in every case."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    branch = _branch_loads(x)
    terms: dict[tuple[RowSlot, str], list[tuple[int, IntVar]]] = defaultdict(list)
    for (index, slot, feed), here in x.at.items():
        terms[slot, feed].append((index, here))

    def load(slots: Sequence[RowSlot], case: int, feed: str | None = None) -> LinearExprT:
        parts: list[LinearExprT] = []
        for slot in slots:
            for name in frame.sized.feeds if feed is None else [feed]:
                for index, here in terms.get((slot, name), []):
                    parts.append(frame.classes[index].load_ma_by_case[case] * here)
                    if frame.classes[index].supplies is not None:
                        parts.append(branch[index, slot, case])
        return LinearExpr.sum(parts)

    for (instance, group, feed), entries in counts.entries.items():
        entry = counts.entry(instance, group, feed)
        if entry is not None:
            for case in frame.cases:
                model.add(load(counts.rows_of(instance, group), case, feed) <= entry.limit_ma * entries)
    for slot in frame.rows:
        limit = frame.sized.row_limit_ma.get((slot.instance.panel, slot.instance.module, slot.row))
        if limit is not None:
            for case in frame.cases:
                model.add(load([slot], case) <= limit * counts.used[slot.instance])
    for instance, used in counts.used.items():
        limit = frame.sized.module_limit_ma.get((instance.panel, instance.module))
        if limit is not None and x.rows_by_instance[instance]:
            for case in frame.cases:
                model.add(load(x.rows_by_instance[instance], case) <= limit * used)


def _classes_of(x: Places, bond: Bond) -> list[int]:
    return [x.counts.class_of(circuit) for circuit in bond.circuits]


def apart_in_rows_and_modules(x: Places) -> None:
    """Rules apart-row and apart-module."""
    for bond in x.counts.frame.sized.requirements.scenario.rules.apart:
        if bond.level == "row":
            for slot in x.counts.frame.rows:
                x.counts.model.add(LinearExpr.sum([x.in_row(i, slot) for i in _classes_of(x, bond)]) <= 1)
        elif bond.level == "module":
            for instance in x.counts.used:
                x.counts.model.add(LinearExpr.sum([x.in_module(i, instance) for i in _classes_of(x, bond)]) <= 1)


def together_in_rows_and_modules(x: Places) -> None:
    """Rules together-row and together-module."""
    for bond in x.counts.frame.sized.requirements.scenario.rules.together:
        first, *others = _classes_of(x, bond)
        for other in others:
            if bond.level == "row":
                for slot in x.counts.frame.rows:
                    x.counts.model.add(x.in_row(first, slot) == x.in_row(other, slot))
            elif bond.level == "module":
                for instance in x.counts.used:
                    x.counts.model.add(x.in_module(first, instance) == x.in_module(other, instance))


def pins(x: Places) -> None:
    """Rule pin: modules with a pinned bay start there, and a row with a pinned way has its feeds way by way."""
    frame = x.counts.frame
    for site in frame.panels:
        if any(place.panel == site.name and place.bay is not None for place in frame.pins.values()):
            _bays_in_order(x, site.name, site.max_bays)
    ways: dict[tuple[str, int | None, int], list[tuple[int, int]]] = defaultdict(list)
    for need, place in frame.pins.items():
        if place.first is not None and place.row is not None:
            ways[place.panel, place.bay, place.row].append((x.counts.class_of(need), place.first))
    for slot in frame.rows:
        pinned = ways.get((slot.instance.panel, slot.instance.pinned_bay, slot.row))
        if pinned and slot.instance.pinned_bay is not None:
            _ways_in_order(x, slot, pinned)


def _bays_in_order(x: Places, panel: str, max_bays: int) -> None:
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    bays_of = {c.id: c.bays for c in frame.sized.requirements.catalogue.carriers}
    here = [instance for instance in counts.used if instance.panel == panel]
    intervals = []
    for instance in here:
        width = frame.module(instance).bays
        bay = instance.pinned_bay
        start = model.new_int_var(bay or 1, bay or max_bays, f"start {instance}")
        x.start[instance] = start
        intervals.append(
            model.new_optional_interval_var(start, width, start + width, counts.used[instance], f"bays {instance}")
        )
        if instance.copy > 0:
            before = next(i for i in here if (i.module, i.copy) == (instance.module, instance.copy - 1))
            model.add(x.start[before] < start).only_enforce_if(counts.used[instance])
    model.add_no_overlap(intervals)
    total = sum(bays_of[c] * number for (p, c), number in counts.carriers.items() if p == panel)
    for instance in here:
        model.add(x.start[instance] + frame.module(instance).bays - 1 <= total).only_enforce_if(counts.used[instance])
    slots = sorted({slot for (p, slot, _) in counts.carrier_slot if p == panel})
    filled: list[LinearExprT] = []
    for slot in slots:
        filled += [bays_of[c] * chosen for (p, s, c), chosen in counts.carrier_slot.items() if (p, s) == (panel, slot)]
        end = LinearExpr.sum(filled)
        for instance in here:
            width = frame.module(instance).bays
            if width > 1:
                after = model.new_bool_var(f"after {slot} {instance}")
                model.add(x.start[instance] > end).only_enforce_if(after, counts.used[instance])
                model.add(x.start[instance] + width - 1 <= end).only_enforce_if(~after, counts.used[instance])


def _ways_in_order(x: Places, slot: RowSlot, pinned: Sequence[tuple[int, int]]) -> None:
    """Ways of one feed count as one entry only while they lie side by side."""
    counts, frame, model = x.counts, x.counts.frame, x.counts.model
    ways = range(1, frame.ways(slot) + 1)
    feeds = [feed for feed in frame.sized.feeds if (slot, feed) in counts.ways]
    for feed in feeds:
        for way in ways:
            x.way_feed[slot, way, feed] = model.new_bool_var(f"way {slot} {way} {feed}")
        model.add(sum(x.way_feed[slot, way, feed] for way in ways) == counts.ways[slot, feed])
        if frame.bus(slot) == "strip":
            starts: list[LinearExprT] = [x.way_feed[slot, 1, feed]]
            for way in list(ways)[1:]:
                begins = model.new_bool_var(f"begins {slot} {way} {feed}")
                model.add(begins >= x.way_feed[slot, way, feed] - x.way_feed[slot, way - 1, feed])
                starts.append(begins)
            model.add(LinearExpr.sum(starts) <= counts.entries[slot.instance, slot.group, feed])
    for way in ways:
        model.add_at_most_one(x.way_feed[slot, way, feed] for feed in feeds)
    for index, way in pinned:
        for feed in feeds:
            here = x.at.get((index, slot, feed))
            if here is not None:
                model.add(x.way_feed[slot, way, feed] >= here)
    by_way: dict[int, list[int]] = defaultdict(list)
    for index, way in pinned:
        by_way[way].append(index)
    for indices in by_way.values():
        model.add(LinearExpr.sum([x.in_row(index, slot) for index in indices]) <= 1)


def too_much_for_pieces(x: Places, fact: TooMuchForPieces) -> None:
    """Rule piece-current: together in one row on one feed, these needs want one entry more."""
    counts, model = x.counts, x.counts.model
    drawn = _drawn(x, fact)
    for (instance, group, feed), entries in counts.entries.items():
        entry = counts.entry(instance, group, feed)
        if entry is None or entry.limit_ma > fact.limit_ma:
            continue
        slots = counts.rows_of(instance, group)
        held: list[IntVar] = []
        for index, number in fact.classes:
            here = [x.at[index, slot, feed] for slot in slots if (index, slot, feed) in x.at]
            if not here:
                break
            many = model.new_bool_var(f"many {instance} {group} {feed} {index}")
            model.add(LinearExpr.sum(here) >= number).only_enforce_if(many)
            model.add(LinearExpr.sum(here) < number).only_enforce_if(~many)
            held.append(many)
        else:
            more = model.new_bool_var(f"more {instance} {group} {feed}")
            model.add(entries > fact.num_entries).only_enforce_if(more)
            model.add_bool_or([more, *(~many for many in [*held, *drawn])])


def _drawn(x: Places, fact: Learnt) -> list[IntVar]:
    """Return for each branch of a fact and case whether it draws as much as when the fact was learnt."""
    counts, model = x.counts, x.counts.model
    drawn: list[IntVar] = []
    for name, case, draw_ma in fact.branches:
        much = model.new_bool_var(f"draws {name} {case} {draw_ma}")
        model.add(counts.draw[name, case] >= draw_ma).only_enforce_if(much)
        model.add(counts.draw[name, case] < draw_ma).only_enforce_if(~much)
        drawn.append(much)
    return drawn


def refused_row(x: Places, fact: RefusedRow) -> None:
    """Rules pin and piece-current: at least one thing in the row must differ, or a branch in it must draw less."""
    counts, model = x.counts, x.counts.model
    known = {(index, feed): number for index, feed, number in fact.held}
    if fact.slot not in x.rows_by_instance.get(fact.slot.instance, []):
        return
    cells = [(here, known.get((i, feed), 0)) for (i, slot, feed), here in x.at.items() if slot == fact.slot]
    cells += [(counts.entries[fact.slot.instance, fact.slot.group, feed], number) for feed, number in fact.entries]
    differs = []
    for number, (variable, value) in enumerate(cells):
        other = model.new_bool_var(f"differs {fact.slot} {number}")
        model.add(variable != value).only_enforce_if(other)
        differs.append(other)
    model.add_bool_or([*differs, *(~much for much in _drawn(x, fact))])
