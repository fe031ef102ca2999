"""
Amperes of the second model: what feeds, strip pieces, rows and modules may carry, in every load case.

Comes in as the columns of an ``Assignment``; its linear model gets the rows, and a column for each feed and load case.
Written from docs/definitions.md and the rulebook, never from the first model.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from allocator.opinion.assignment import Assignment, Instance, Row


def limit_currents(panel: Assignment) -> None:
    """Keep every limit in amperes."""
    _feeds(panel)
    for case in panel.cases:
        _pieces_rows_and_modules(panel, case)


def _load(panel: Assignment, number: int, case: int) -> int:
    return panel.groups[number].one.load_ma_by_case[case] // panel.unit_ma


def _feeds(panel: Assignment) -> None:
    """Rule feed-current: what is on a feed, and what branches from it, in every load case."""
    for name, sized_feed in panel.sized.feeds.items():
        for case in panel.cases:
            panel.draw[name, case] = panel.linear.column(float(sized_feed.allowed_ma / panel.unit_ma), whole=False)
    for case in panel.cases:
        loads: dict[str, dict[int, float]] = {name: {panel.draw[name, case]: -1} for name in panel.sized.feeds}
        constant = dict.fromkeys(panel.sized.feeds, 0)
        for (number, _, feed), column in panel.at.items():
            loads[feed][column] = _load(panel, number, case)
        for number, group in enumerate(panel.groups):
            need = group.one
            if need.supplies is not None:
                loads[need.feeds[0]][panel.draw[need.supplies, case]] = 1
            if not need.takes_way:
                constant[need.feeds[0]] += _load(panel, number, case)
                limit = panel.sized.socket_limit_ma.get(need.supplies or "")
                if limit is not None:  # rule piece-current at the socket that the feed enters
                    room = limit / panel.unit_ma - _load(panel, number, case)
                    panel.linear.add({panel.draw[str(need.supplies), case]: 1}, high=room)
        for feed, terms in loads.items():
            panel.linear.add(terms, low=-constant[feed], high=-constant[feed])


def _pieces_rows_and_modules(panel: Assignment, case: int) -> None:
    """Rules piece-current, row-current, module-current."""
    by_entry: dict[tuple[Instance, int, str], dict[int, float]] = defaultdict(dict)
    by_row: dict[Row, dict[int, float]] = defaultdict(dict)
    by_module: dict[Instance, dict[int, float]] = defaultdict(dict)
    for (number, row, feed), column in panel.at.items():
        terms: dict[int, float] = {column: _load(panel, number, case)}
        branch = panel.groups[number].one.supplies
        if branch is not None:
            terms[_through(panel, branch, column, case)] = 1
        by_entry[row[:3], panel.supply_group(row), feed] |= terms
        by_row[row] |= terms
        by_module[row[:3]] |= terms
    for (instance, group, feed), terms in by_entry.items():
        limit_ma = panel.sized.entries[instance[0], instance[1], group, feed].limit_ma
        panel.linear.add(terms | {panel.entries[instance, group, feed]: -limit_ma / panel.unit_ma}, high=0)
    for row, terms in by_row.items():
        _limit(panel, row[:3], terms, panel.sized.row_limit_ma[row[0], row[1], row[3]])
    for instance, terms in by_module.items():
        _limit(panel, instance, terms, panel.sized.module_limit_ma[instance[0], instance[1]])


def _through(panel: Assignment, branch: str, at: int, case: int) -> int:
    """Return a column that is at least the load of a branch where its way is, else 0."""
    most = float(panel.sized.feeds[branch].allowed_ma / panel.unit_ma)
    column = panel.linear.column(most, whole=False)
    panel.linear.add({column: 1, panel.draw[branch, case]: -1, at: -most}, low=-most)
    return column


def _limit(panel: Assignment, instance: Instance, terms: Mapping[int, float], limit_ma: int | None) -> None:
    if limit_ma is not None:
        panel.linear.add({**terms, panel.used[instance]: -limit_ma / panel.unit_ma}, high=0)
