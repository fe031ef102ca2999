"""
Facts learnt from plans that failed a check which the model makes in sum only.

Comes from ``solving/learning.py``; adds clauses to ``Places``, in this model and in every later one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import RowSlot
from allocator.model.variables import Places


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
    no_two_fit: bool = False
    """Whether they are one more than the entries and no two of them fit into one; ``branches`` is empty then."""


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """A learnt fact: exactly these needs cannot be ordered in a row with pinned ways and so many entries."""

    slot: RowSlot
    held: tuple[tuple[int, str, int], ...]
    """(class index, feed, number of its needs), for everything in the row."""
    entries: tuple[tuple[str, int], ...]
    branches: tuple[tuple[str, int, int], ...]
    """Only while these feeds draw at least so much: (feed, case, mA)."""


@dataclass(frozen=True, slots=True)
class HeldOnFeed:
    """What a row held on one feed: ways, entries, and for each kind of need its classes and how many there were."""

    feed: str
    num_ways: int
    num_entries: int
    kinds: tuple[tuple[tuple[int, ...], int], ...]


@dataclass(frozen=True, slots=True)
class CrowdedRow:
    """A learnt fact: with so many needs of each kind in so many entries, hot ways cannot be kept apart in a row."""

    panel: str
    module: str
    row: int
    held: tuple[HeldOnFeed, ...]
    branches: tuple[tuple[str, int, int], ...]
    """Only while these feeds draw at least so much: (feed, case, mA)."""


Learnt = TooMuchForPieces | RefusedRow | CrowdedRow


def learn(x: Places, fact: Learnt) -> None:
    """Add what a failed plan has taught."""
    if isinstance(fact, TooMuchForPieces):
        too_much_for_pieces(x, fact)
    elif x.is_whole and isinstance(fact, RefusedRow):  # a row that is only counted may hold anything
        refused_row(x, fact)
    elif x.is_whole and isinstance(fact, CrowdedRow):
        crowded_row(x, fact)


def too_much_for_pieces(x: Places, fact: TooMuchForPieces) -> None:
    """Rule piece-current: together in one row on one feed, these needs want one entry more."""
    counts, model = x.counts, x.counts.model
    may_fit = list(_pairs_that_fit(x, fact)) if fact.no_two_fit else [~much for much in _drawn(x, fact)]
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
            model.add_bool_or([more, *(~many for many in held), *may_fit])


def _pairs_that_fit(x: Places, fact: TooMuchForPieces) -> Iterator[IntVar]:
    """Yield for each two needs of a fact that may draw less a literal that can only be true where they fit together."""
    counts, model = x.counts, x.counts.model
    for pair in combinations([index for index, number in fact.classes for _ in range(number)], 2):
        classes = [counts.frame.classes[index] for index in pair]
        supplies = [members.supplies for members in classes if members.supplies is not None]
        if supplies:
            fits = model.new_bool_var(f"fit {pair} {fact.limit_ma}")
            for case in counts.frame.cases:
                own_ma = sum(members.load_ma_by_case[case] for members in classes)
                drawn = LinearExpr.sum([counts.draw[feed, case] for feed in supplies])
                model.add(drawn + own_ma <= fact.limit_ma).only_enforce_if(fits)
            yield fits


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


def crowded_row(x: Places, fact: CrowdedRow) -> None:
    """Rule hot-apart: in every row like that one something must differ, or a branch in it must draw less."""
    counts, frame = x.counts, x.counts.frame
    held = {on_feed.feed: on_feed for on_feed in fact.held}
    less = [~much for much in _drawn(x, fact)]
    for slot in frame.rows:
        where = (slot.instance.panel, slot.instance.module, slot.row)
        if where != (fact.panel, fact.module, fact.row) or frame.has_pinned_ways(slot):
            continue
        differs: list[IntVar] = []
        for feed in frame.sized.feeds:
            if (slot, feed) not in counts.ways:
                continue
            on_feed = held.get(feed, HeldOnFeed(feed, 0, 0, ()))
            differs.append(_is_other(x, counts.ways[slot, feed], on_feed.num_ways))
            if on_feed.num_ways and frame.bus(slot) == "strip":
                more = counts.model.new_bool_var(f"more pieces {slot} {feed}")
                entries = counts.entries[slot.instance, slot.group, feed]
                counts.model.add(entries > on_feed.num_entries).only_enforce_if(more)
                differs.append(more)
            for classes, number in on_feed.kinds:
                here = [x.at[index, slot, feed] for index in classes if (index, slot, feed) in x.at]
                differs.append(_is_other(x, LinearExpr.sum(here), number))
        counts.model.add_bool_or([*differs, *less])


def _is_other(x: Places, expression: LinearExprT, number: int) -> IntVar:
    """Return a literal that can only be true where an expression has another value."""
    other = x.counts.model.new_bool_var("is other")
    x.counts.model.add(expression != number).only_enforce_if(other)
    return other
