"""
The variables of the models, by what they stand for, with the sums that several rules need.

``Sums`` has modules, carriers, choices, loads and entries; ``Counts`` adds every module and row, ``Places`` rows and
sockets of single needs, and ``tallies.Tallies`` rows by kind. The rooms that hang rules on them are ``carriers``,
``counts``, ``tallies``, ``bonds``, ``currents``, ``pins``, ``learnt`` and ``placing``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from copy import copy
from dataclasses import dataclass, field
from typing import Self

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import Frame, Instance, RowSlot
from allocator.sizing.sized import Entry, Option


@dataclass
class Sums:
    """What every model counts, whether it knows rows one by one or only by kind."""

    model: cp_model.CpModel
    frame: Frame
    modules: list[tuple[str, str, IntVar]] = field(default_factory=list)
    """Modules in use, by (panel, module type); a variable counts one or several of them."""
    type_used: dict[str, IntVar] = field(default_factory=dict)
    carriers: dict[tuple[str, str], IntVar] = field(default_factory=dict)
    panel_used: dict[str, IntVar] = field(default_factory=dict)
    chosen: dict[tuple[int, int], IntVar] = field(default_factory=dict)
    """Needs of a class that take a choice, by (class index, choice index)."""
    lacking: dict[int, IntVar] = field(default_factory=dict)
    """Needs of a class that take none, by class index; only where some may."""
    hot_ways: dict[tuple[RowSlot, str, tuple[int, ...]], IntVar] = field(default_factory=dict)
    """Ways of a row on a feed that are hot in just these load cases; only where the rules keep hot ways apart."""
    draw: dict[tuple[str, int], IntVar] = field(default_factory=dict)
    """Load of a feed in a load case, mA."""
    fed_ways: list[tuple[str, int, IntVar]] = field(default_factory=list)
    """Ways in use, by (module type, row)."""
    fed_entries: list[tuple[str, str, Entry, IntVar]] = field(default_factory=list)
    """Feed entries in rows, by (feed, panel, what they are like)."""
    entry_limits: dict[tuple[str, str, str], list[tuple[int, IntVar]]] = field(default_factory=dict)
    """Entries with their limit, mA, by (panel, format, feed)."""
    entries_at: dict[tuple[str, str], IntVar] = field(default_factory=dict)
    """Entries of a feed at a panel, those at relay sockets included, by (feed, panel)."""
    long_jumpers: IntVar | None = None
    """Relays that cannot be beside their fuse, whatever the places: fewer than these is impossible."""

    def copy(self) -> Self:
        """Return the same variables over a copy of the model; rules that are added to it are not in this one."""
        other = copy(self)
        other.model = self.model.clone()
        return other

    def num_chosen(self, class_: int, *, feed: str | None = None, panel: str | None = None) -> LinearExprT:
        """Return how many needs of a class are on a feed and/or at a panel."""
        return LinearExpr.sum(
            [
                self.chosen[class_, index]
                for index, choice in enumerate(self.frame.classes[class_].choices)
                if feed in (None, choice.feed) and panel in (None, choice.option.panel)
            ]
        )

    def class_of(self, need: str) -> int:
        """Return the index of the class of a need."""
        return self.frame.class_by_need[need]


@dataclass
class Counts(Sums):
    """The variables of the count model: modules and rows one by one."""

    used: dict[Instance, IntVar] = field(default_factory=dict)
    wide_in_carrier: dict[tuple[str, int, int], IntVar] = field(default_factory=dict)
    """Modules of a width (over one bay) in the n-th carrier of a panel, by (panel, n, width)."""
    carrier_slot: dict[tuple[str, int, str], IntVar] = field(default_factory=dict)
    """Whether the n-th carrier of a panel is of a type, by (panel, n, carrier)."""
    ways: dict[tuple[RowSlot, str], IntVar] = field(default_factory=dict)
    """Ways of a row on a feed."""
    entries: dict[tuple[Instance, int, str], IntVar] = field(default_factory=dict)
    """Feed entries of a supply group on a feed."""
    enters: dict[tuple[Instance, int, str], IntVar] = field(default_factory=dict)
    """Whether a feed enters a supply group at all."""

    def entry(self, instance: Instance, group: int, feed: str) -> Entry | None:
        """Return how a feed enters a supply group, or None if it cannot."""
        return self.frame.sized.entries.get((instance.panel, instance.module, group, feed))

    def groups(self) -> Iterator[tuple[Instance, int]]:
        """Every supply group of every instance."""
        for instance in self.used:
            for group in range(len(self.frame.groups_of(instance.module))):
                yield instance, group

    def rows_of(self, instance: Instance, group: int) -> list[RowSlot]:
        """Return the rows of a supply group."""
        return [RowSlot(instance, row, group) for row in self.frame.groups_of(instance.module)[group]]


@dataclass
class Places:
    """The variables that say where things are, beside the count model's own."""

    counts: Counts
    placed: frozenset[int]
    """Indices of the classes that have places of their own."""
    knows_jumpers: bool
    """Whether every way with a relay is among them, so that all jumpers are known."""
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

    def copy(self) -> Places:
        """Return the same variables over a copy of the model; rules that are added to it are not in this one."""
        other = copy(self)
        other.counts = self.counts.copy()
        return other

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
