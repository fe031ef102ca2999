"""
Ampere limits of pieces, rows and modules: in sum where only counts are known, exactly where places are.

Comes from ``Sums`` or ``Places``; adds rules to them. Limits of feeds are in ``counts.py``, with their loads.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.frame import RowSlot
from allocator.model.variables import Places, Sums


def _load_at(x: Sums, case: int, panel: str, fuse_format: str | None = None, feed: str | None = None) -> LinearExprT:
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


def piece_current_in_sum(x: Sums) -> None:
    """Rules piece-current and row-current in sum over all rows of a panel, format and feed."""
    for (panel, fuse_format, feed), limits in x.entry_limits.items():
        total = LinearExpr.sum([limit * entries for limit, entries in limits])
        for case in x.frame.cases:
            x.model.add(_load_at(x, case, panel, fuse_format, feed) <= total)
            for parts in (1, 2):
                _large_loads_in_sum(x, case, (panel, fuse_format, feed), parts)


def _large_loads_in_sum(x: Sums, case: int, where: tuple[str, str, str], parts: int) -> None:
    """
    Rule piece-current for large loads, which a sum of amperes takes to be divisible.

    In units of limit / (parts + 1), rounded up and less one, what one entry carries comes to at most ``parts``: with
    one part, two loads above half of the limit need two entries (a dual feasible function; Lueker, 1983).
    """
    panel, fuse_format, feed = where
    limit = max(limit for limit, _ in x.entry_limits[where])
    terms: list[LinearExprT] = []
    for index, members in enumerate(x.frame.classes):
        chosen = [
            x.chosen[index, number]
            for number, choice in enumerate(members.choices)
            if members.takes_way
            and (choice.option.panel, choice.option.fuse_format, choice.feed) == (panel, fuse_format, feed)
        ]
        load = members.load_ma_by_case[case]
        if chosen and members.supplies is not None:
            weight = x.model.new_int_var(0, parts + 1, f"weight {members.supplies} {case} {parts}")
            x.model.add(limit * (weight + 1) >= (parts + 1) * (x.draw[members.supplies, case] + load))
            terms.append(weight)
        elif chosen and (weight_of_one := -(-(parts + 1) * load // limit) - 1) > 0:
            terms.append(weight_of_one * LinearExpr.sum(chosen))
    if terms:
        entries = LinearExpr.sum([entries for _, entries in x.entry_limits[where]])
        x.model.add(LinearExpr.sum(terms) <= parts * entries)


def module_current_in_sum(x: Sums) -> None:
    """Rule module-current in sum over all modules of a panel, where every type has a limit."""
    frame = x.frame
    for site in frame.panels:
        here = [(m, n) for panel, m, n in x.modules if panel == site.name and frame.sized.module_by_id[m].rows]
        limits = [frame.sized.module_limit_ma.get((site.name, module)) for module, _ in here]
        if here and all(limit is not None for limit in limits):
            total = LinearExpr.sum([(limit or 0) * number for limit, (_, number) in zip(limits, here, strict=True)])
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
