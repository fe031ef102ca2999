"""The rule on hot neighbours: which ways are hot in which load case, and what lies beside them."""

from __future__ import annotations

from collections.abc import Iterator

from allocator.verifying.exact import amperes, milliamperes, share
from allocator.verifying.findings import Finding
from allocator.verifying.loads import Loads
from allocator.verifying.records import WayRecord
from allocator.verifying.view import View


def hot_apart(view: View) -> Iterator[Finding]:
    """Report ways with following numbers in one row that are both hot in some load case."""
    if view.rules.hot_share is None:
        return
    loads = Loads(view)
    cases = view.scenario.load_cases
    for ways in view.ways_in_row.values():
        hot = [(way.place.first, way, _hot_cases(view, loads, way)) for way in ways if way.place and way.place.first]
        for number, way, own in hot:
            for following, other, others in hot:
                both = [case for case in own if case in others]
                if both and following == number + 1:
                    first, second = (amperes(loads.of_way(item)[both[0]]) for item in (way, other))
                    text = f'both are hot in load case "{cases[both[0]].name}", with {first} and {second}'
                    where = f'{way.at}, "{way.used.need}" and "{other.used.need}"'
                    yield Finding("hot-apart", where, text)


def _hot_cases(view: View, loads: Loads, way: WayRecord) -> tuple[int, ...]:
    fuse, rules = view.fuses.get(way.used.fuse or ""), view.rules
    if fuse is None or rules.hot_share is None:
        return ()
    above_ma = milliamperes(fuse.rating) * share(rules.hot_share)
    from_ma = milliamperes(rules.hot_from)
    return tuple(case for case, load_ma in enumerate(loads.of_way(way)) if load_ma > above_ma and load_ma >= from_ma)
