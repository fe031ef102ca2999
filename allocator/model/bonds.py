"""
Circuits that must be apart or together: by feed and panel in the counts, by row and module in the places.

Comes from ``Sums`` or ``Places``; adds rules to them.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.classes import Cell, signature
from allocator.model.variables import Places, Sums
from allocator.requirements.scenario import Bond


def apart_and_together_by_feed_and_panel(x: Sums) -> None:
    """Rules apart-feed, apart-panel, together-feed, together-panel; rows and modules are seen as far as panels go."""
    frame, rules = x.frame, x.frame.sized.requirements.scenario.rules
    feeds, panels = list(frame.sized.feeds), [site.name for site in frame.panels]
    for bond in rules.apart:
        classes = [x.class_of(circuit) for circuit in bond.circuits]
        if bond.level == "feed":
            for feed in feeds:
                x.model.add(LinearExpr.sum([x.num_chosen(c, feed=feed) for c in classes]) <= 1)
        elif bond.level == "panel":
            for panel in panels:
                x.model.add(LinearExpr.sum([x.num_chosen(c, panel=panel) for c in classes]) <= 1)
    for bond in rules.together:
        first, *others = [x.class_of(circuit) for circuit in bond.circuits]
        for other in others:
            if bond.level == "feed":
                for feed in feeds:
                    x.model.add(x.num_chosen(first, feed=feed) == x.num_chosen(other, feed=feed))
            else:
                for panel in panels:
                    x.model.add(x.num_chosen(first, panel=panel) == x.num_chosen(other, panel=panel))


def apart_in_rows_in_sum(
    x: Sums, rows: Mapping[tuple[str, str], Sequence[LinearExprT]], rows_fed: Mapping[Cell, Sequence[LinearExprT]]
) -> None:
    """
    Rules apart-row and apart-module, as a count: there are as many rows as members that must not share one.

    Parameters
    ----------
    rows
        Rows in use, or more, by (panel, format).
    rows_fed
        Rows that a feed enters, or more, by (panel, format, feed).
    """
    for bond in x.frame.sized.requirements.scenario.rules.apart:
        if bond.level not in ("row", "module"):
            continue
        in_format: dict[tuple[str, str], list[IntVar]] = defaultdict(list)
        on_feed: dict[Cell, list[IntVar]] = defaultdict(list)
        for index in map(x.class_of, bond.circuits):
            for (panel, fuse_format, feed), numbers in x.frame.classes[index].numbers_by_cell().items():
                chosen = [x.chosen[index, number] for number in numbers]
                in_format[panel, fuse_format] += chosen
                on_feed[panel, fuse_format, feed] += chosen
        for place, members in in_format.items():
            x.model.add(LinearExpr.sum(members) <= LinearExpr.sum(rows.get(place, ())))
        for cell, members in on_feed.items():
            x.model.add(LinearExpr.sum(members) <= LinearExpr.sum(rows_fed.get(cell, ())))


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


def alike_in_order(x: Places) -> None:
    """
    Members of a rule apart-module that nothing tells apart lie in modules in listing order: no plan is lost by it.

    Trading places among them changes nothing. Where n of them are in as many modules or more, the k-th has k - 1 before
    it and n - k after it, so that it is in none of the first k - 1 modules and none of the last n - k. Members have one
    choice each, so that no solution of the counts, which binds feeds to needs, is refused; and one bond each.
    """
    frame = x.counts.frame
    rules = frame.sized.requirements.scenario.rules
    bonds = Counter(circuit for bond in (*rules.apart, *rules.together) for circuit in bond.circuits)
    for bond in rules.apart:
        alike: dict[object, list[int]] = defaultdict(list)
        for index in _classes_of(x, bond) if bond.level == "module" else ():
            members = frame.classes[index]
            is_bare = members.takes_way and members.supplies is None and members.choices[1:] == ()
            is_free = all(need not in frame.pins and bonds[need] == 1 for need in members.needs)
            if index in x.placed and members.choices and is_bare and is_free and frame.built is None:
                choice = members.choices[0]
                if choice.option.relay_class is None:
                    alike[members.kind, signature(choice.option), choice.feed, members.load_ma_by_case].append(index)
        for indices in alike.values():
            for before, index in enumerate(indices):
                after = len(indices) - before - 1
                modules = list(x.counts.used)
                for instance in (*modules[:before], *modules[len(modules) - after :]):
                    x.counts.model.add(x.in_module(index, instance) == 0)


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
