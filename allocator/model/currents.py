"""
Ampere limits of pieces, rows and modules: in sum where only counts are known, exactly where places are.

Comes from ``Counts`` or ``Places``; adds rules to them. Limits of feeds are in ``counts.py``, with their loads.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import RowSlot
from allocator.model.variables import Counts, Places


def _load_at(x: Counts, case: int, panel: str, fuse_format: str | None = None, feed: str | None = None) -> LinearExprT:
    """Return the load of all ways of a panel, format and feed in a case, mA."""
    parts: list[LinearExprT] = []
    for index, members in enumerate(x.frame.classes):
        if not members.takes_way:
            continue
        for number, choice in enumerate(members.choices):
            if (
                choice.option.panel != panel
                or fuse_format not in (None, choice.option.fuse_format)
                or feed not in (None, choice.feed)
            ):
                continue
            parts.append(members.load_ma_by_case[case] * x.chosen[index, number])
            if members.supplies:
                # A branch's own way has one panel, format and source, so its load is there whatever else is chosen.
                parts.append(x.draw[members.supplies, case])
    return LinearExpr.sum(parts)


def piece_current_in_sum(x: Counts) -> None:
    """Rules piece-current and row-current in sum over all rows of a panel, format and feed."""
    frame = x.frame
    for site in frame.panels:
        for fuse_format in sorted({frame.format(slot) for slot in frame.rows}):
            groups = [
                (instance, group)
                for instance, group in x.groups()
                if instance.panel == site.name
                and any(frame.format(r) == fuse_format for r in x.rows_of(instance, group))
            ]
            for feed in frame.sized.feeds:
                limits = [
                    entry.limit_ma * x.entries[instance, group, feed]
                    for instance, group in groups
                    if (entry := x.entry(instance, group, feed)) is not None
                ]
                if limits:
                    for case in frame.cases:
                        x.model.add(_load_at(x, case, site.name, fuse_format, feed) <= LinearExpr.sum(limits))


def module_current_in_sum(x: Counts) -> None:
    """Rule module-current in sum over all modules of a panel, where every type has a limit."""
    frame = x.frame
    for site in frame.panels:
        here = [i for i in x.used if i.panel == site.name and frame.module(i).rows]
        limits = [frame.sized.module_limit_ma.get((site.name, i.module)) for i in here]
        if here and all(limit is not None for limit in limits):
            total = LinearExpr.sum([(limit or 0) * x.used[i] for limit, i in zip(limits, here, strict=True)])
            for case in frame.cases:
                x.model.add(_load_at(x, case, site.name) <= total)


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
