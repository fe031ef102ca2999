"""Rules on currents: feed entries, rows, modules and feeds in every load case."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from allocator.address import Place
from allocator.verifying.exact import amperes
from allocator.verifying.findings import Finding
from allocator.verifying.goals import allowed_ma
from allocator.verifying.limits import entry_limit_ma, module_limit_ma, row_limit_ma
from allocator.verifying.loads import ByCase, Loads
from allocator.verifying.view import View


def _over(view: View, rule: str, where: str, load_ma: ByCase, limit_ma: Fraction | None) -> Iterator[Finding]:
    """Report a load that passes its limit, in the load case in which it is largest."""
    if limit_ma is None or max(load_ma) <= limit_ma:
        return
    case = view.scenario.load_cases[load_ma.index(max(load_ma))].name
    text = f'draws {amperes(max(load_ma))} in load case "{case}"; {amperes(limit_ma)} are allowed'
    yield Finding(rule, where, text)


def piece_current(view: View) -> Iterator[Finding]:
    """Report feed entries that carry more than strip, inlet, stud or tail may."""
    loads = Loads(view)
    for entry in view.entries:
        load = loads.of_ways(view.ways_under(entry))
        if entry.socket is not None:
            load = loads.total(loads.of_branch(feed) for feed in view.feeds_entered_by(entry))
        where = f'{entry.at} (feed "{entry.piece.feed}")'
        yield from _over(view, "piece-current", where, load, entry_limit_ma(view, entry))


def row_current(view: View) -> Iterator[Finding]:
    """Report rows whose ways draw more than the row carries."""
    loads = Loads(view)
    for (panel, bay), module in view.placed.items():
        for index in range(len(module.rows)):
            row = Place(panel, bay, index)
            load, limit = loads.of_ways(view.ways_in_row.get(row, ())), row_limit_ma(view, panel, module, index)
            yield from _over(view, "row-current", str(row), load, limit)


def module_current(view: View) -> Iterator[Finding]:
    """Report modules whose ways draw more than the module carries."""
    loads = Loads(view)
    for (panel, bay), module in view.placed.items():
        rows = (view.ways_in_row.get(Place(panel, bay, index), ()) for index in range(len(module.rows)))
        ways = [way for row in rows for way in row]
        limit = module_limit_ma(view, panel, module)
        yield from _over(view, "module-current", f"{panel}/{bay}", loads.of_ways(ways), limit)


def feed_current(view: View) -> Iterator[Finding]:
    """Report feeds that draw more than their allowed share, with all feeds that branch from them."""
    loads = Loads(view)
    for feed in view.feeds:
        yield from _over(view, "feed-current", f'feed "{feed}"', loads.of_feed(feed), allowed_ma(view, feed))
