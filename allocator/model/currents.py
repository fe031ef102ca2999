"""
Ampere limits of pieces, rows and modules: in sum where only counts are known, exactly where places are.

Comes from ``Sums`` or ``Places``; adds rules to them. Limits of feeds are in ``counts.py``, with their loads.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from ortools.sat.python.cp_model import IntVar, LinearExpr, LinearExprT

from allocator.model.classes import Cell
from allocator.model.frame import RowSlot
from allocator.model.variables import Places, Sums

Taking = tuple[int, list[IntVar]]
"""A class, and how many of its needs take each of the choices in question."""


def _load_of(x: Sums, case: int, taking: Sequence[Taking]) -> LinearExprT:
    """Return the load of ways in a case, mA."""
    loads: list[int] = []
    numbers: list[IntVar] = []
    for index, chosen in taking:
        members = x.frame.classes[index]
        numbers += chosen
        loads += [members.load_ma_by_case[case]] * len(chosen)
        if members.supplies:
            # A branch's own way has one panel, format and source, so its load is there whatever else is chosen.
            numbers += [x.draw[members.supplies, case]] * len(chosen)
            loads += [1] * len(chosen)
    return LinearExpr.weighted_sum(numbers, loads)


def piece_current_in_sum(x: Sums) -> None:
    """Rules piece-current and row-current in sum over all rows of a panel, format and feed."""
    taking: dict[Cell, list[Taking]] = defaultdict(list)
    for index, members in enumerate(x.frame.classes):
        for cell, numbers in members.numbers_by_cell().items():
            taking[cell].append((index, [x.chosen[index, number] for number in numbers]))
    for cell, limits in x.entry_limits.items():
        total = LinearExpr.sum([limit * entries for limit, entries in limits])
        for case in x.frame.cases:
            x.model.add(_load_of(x, case, taking[cell]) <= total)
            for parts in (1, 2):
                _large_loads_in_sum(x, case, taking[cell], limits, parts)


def _large_loads_in_sum(
    x: Sums, case: int, taking: Sequence[Taking], limits: Sequence[tuple[int, IntVar]], parts: int
) -> None:
    """
    Rule piece-current for large loads, which a sum of amperes takes to be divisible.

    In units of limit / (parts + 1), rounded up and less one, what one entry carries comes to at most ``parts``: with
    one part, two loads above half of the limit need two entries (a dual feasible function; Lueker, 1983).
    """
    limit = max(limit for limit, _ in limits)
    weights: list[int] = []
    numbers: list[IntVar] = []
    for index, chosen in taking:
        members = x.frame.classes[index]
        load = members.load_ma_by_case[case]
        if members.supplies is not None:
            weight = x.model.new_int_var(0, parts + 1, f"weight {members.supplies} {case} {parts}")
            x.model.add(limit * (weight + 1) >= (parts + 1) * (x.draw[members.supplies, case] + load))
            numbers.append(weight)
            weights.append(1)
        elif (weight_of_one := -(-(parts + 1) * load // limit) - 1) > 0:
            numbers += chosen
            weights += [weight_of_one] * len(chosen)
    if numbers:
        entries = LinearExpr.sum([entries for _, entries in limits])
        x.model.add(LinearExpr.weighted_sum(numbers, weights) <= parts * entries)


def module_current_in_sum(x: Sums) -> None:
    """Rule module-current in sum over all modules of a panel, where every type has a limit."""
    frame = x.frame
    for site in frame.panels:
        here = [(m, n) for panel, m, n in x.modules if panel == site.name and frame.sized.module_by_id[m].rows]
        limits = [frame.sized.module_limit_ma.get((site.name, module)) for module, _ in here]
        if here and all(limit is not None for limit in limits):
            total = LinearExpr.sum([(limit or 0) * number for limit, (_, number) in zip(limits, here, strict=True)])
            taking: list[Taking] = []
            for index, members in enumerate(frame.classes):
                for (panel, _, _), numbers in members.numbers_by_cell().items():
                    if panel == site.name:
                        taking.append((index, [x.chosen[index, number] for number in numbers]))
            for case in frame.cases:
                x.model.add(_load_of(x, case, taking) <= total)


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
            load = model.new_int_var(0, carried, "branch")
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
        loads: list[int] = []
        needs: list[IntVar] = []
        for slot in slots:
            for name in frame.sized.feeds if feed is None else [feed]:
                for index, here in terms.get((slot, name), []):
                    needs.append(here)
                    loads.append(frame.classes[index].load_ma_by_case[case])
                    if frame.classes[index].supplies is not None:
                        needs.append(branch[index, slot, case])
                        loads.append(1)
        return LinearExpr.weighted_sum(needs, loads)

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
